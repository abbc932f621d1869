"""Reports of the invented days, and what the tests look at in a page."""

from dataclasses import replace
from functools import cache
from html.parser import HTMLParser

from advisor.review.page.report import report
from advisor.review.reviewed import Reviewed, review
from tests.review.told_back.test_fixture_coats import read_back, track
from tests.support import SHOP

SHOP_IN_LONDON = replace(SHOP, zone="Europe/London")
_EMPTY = {"meta", "br", "hr", "img", "path", "use", "rect"}


@cache
def damp() -> Reviewed:
    """Lacquer of a damp evening, with the coat of noon beside it."""
    return read_back("humid-evening", "20:30", "nitrocellulose-lacquer", "blush", "12:00", thinner="hot")


@cache
def faulty() -> Reviewed:
    """A two-pack whose sensors failed one after the other."""
    return read_back("sensor-faults", "14:20", "waterborne-clear-2k", "blush")


@cache
def dusty() -> Reviewed:
    """Lacquer just after sanding."""
    return read_back("dusty-clean-down", "09:50", "nitrocellulose-lacquer", "nibs")


def named(name: str) -> Reviewed:
    """The lacquer of the damp evening under a name."""
    coat = replace(damp().coat, name=name)
    return review(coat, SHOP.coating(coat.coating), track("humid-evening"), SHOP, "blush", with_ways=False)


@cache
def page(which: str) -> str:
    """The page of one of the three."""
    return report({"damp": damp, "faulty": faulty, "dusty": dusty}[which](), (), "shop", SHOP_IN_LONDON)


class Seen(HTMLParser):
    """What a page holds. Fails on a tag closed that was not open."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.open: list[str] = []
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.around: list[tuple[str, ...]] = []
        self.text = ""
        self.feed(text)
        self.close()

    def handle_starttag(self, tag, attrs):
        """A tag that is opened."""
        self.tags.append((tag, dict(attrs)))
        self.around.append(tuple(self.open))
        if tag not in _EMPTY or self.get_starttag_text().endswith("/>"):
            self.open.append(tag)

    def handle_startendtag(self, tag, attrs):
        """A tag that closes itself."""
        self.tags.append((tag, dict(attrs)))
        self.around.append(tuple(self.open))

    def handle_endtag(self, tag):
        """A tag that is closed."""
        if tag in _EMPTY:
            return
        assert self.open, f"</{tag}> closes nothing"
        assert self.open.pop() == tag

    def handle_data(self, data):
        """Text that is read."""
        if not {"style", "svg"} & set(self.open):
            self.text += data
