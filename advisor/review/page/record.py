"""A review as the plain record that goes out as JSON: °C, fraction, Pa, m, s, kg/m2; times UTC; unknown is null.

And its exposures as CSV for a spreadsheet: no cell is taken for a formula.
"""

import csv
import io
from collections.abc import Iterable
from datetime import datetime
from typing import Any

from advisor.catalog.mechanisms import Mechanism
from advisor.review.causes import Cause
from advisor.review.coat import Exposure
from advisor.review.page import words
from advisor.review.reviewed import Reviewed, Sibling
from advisor.review.ways import Way
from advisor.say.as_json import Forms, exact, headed, utc
from advisor.series.trace import Window
from advisor.shop.shop import Shop
from advisor.times import moment_at


def _exposures(found: Reviewed | Sibling, _: Shop) -> list[Exposure]:
    return list(found.exposed.by_name.values())


_FORMS = Forms(  # beside each record: the shop
    {
        Reviewed: (
            "name?=coat.name coating=coat.coating sprayed=coat.sprayed",
            {"ended": lambda found, shop: found.coat.end(shop)},
            "thinner=coat.thinner defect=causes.defect",
            {
                "seen~": lambda found, _: {
                    "after": found.coat.seen.after,
                    "found": found.coat.seen.found or None,
                    "where": found.coat.seen.where or None,
                }
            },
            "outcome=causes.outcome cannot_tell",
            {"exposures": _exposures},
            "causes=causes.judged not_the_air=causes.others sibling ways",
            {"doubted": words.doubted, "question?": words.question, "words": words.told},
        ),
        Sibling: (
            "sprayed=exposed.seen.coat.sprayed cleared",
            {"exposures": _exposures},
            "causes=causes.judged",
        ),
        Exposure: (
            "exposure=name measured~ unit",
            {"uncertainty~": lambda found, _: None if found.measured is None else found.uncertainty},
            "uncertainty_of_logarithm=as_logarithm window covered~ gaps reason?",
            {"figures~": lambda found, _: dict(found.figures)},
        ),
        Window: (
            {"from": lambda window, _: moment_at(window.start), "until": lambda window, _: moment_at(window.end)},
        ),
        Cause: (
            "mechanism=mechanism.id kind=mechanism.kind standing exposure measured~ limit~ unit",
            "uncertainties_over~=sure",
            {"widths_over~": lambda cause, _: None if cause.sure is None else cause.excess},
            "looks_like_it=fit reason? can_cause=mechanism.defects",
            {"words": words.cause},
            "proof=mechanism.proof change=mechanism.change repair=mechanism.repair source",
        ),
        Mechanism: "mechanism=id label change repair",
        Way: (
            "kind state sprayed=coat.sprayed air_temperature~=temperature relative_humidity~ thinner=coat.thinner",
            "retarder~=coat.retarder",
            {"mends~": lambda way, _: dict(way.mends), "words": words.way},
        ),
    }
)


def review_record(reviews: list[Reviewed], shop: Shop, computed_at: datetime, place: str) -> dict[str, Any]:
    """The record of one or several coats."""
    return headed(computed_at, {"place": place, "coats": _FORMS(reviews, shop)})


COLUMNS = (
    "coat", "coating", "sprayed", "exposure", "measured", "unit", "uncertainty", "uncertainty_of_logarithm", "from",
    "until", "covered", "gaps", "reason",
)  # fmt: skip
_STEERS = ("=", "+", "-", "@", "\t", "\r")  # a spreadsheet takes a cell that begins so for a formula


def exposures_csv(reviews: Iterable[Reviewed]) -> str:
    """Every exposure of every coat, a row each; text in quotes, numbers not."""
    stream = io.StringIO()
    writer = csv.writer(stream, quoting=csv.QUOTE_NONNUMERIC, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    for found in reviews:
        for each in found.exposed.by_name.values():
            writer.writerow([safe(cell) if isinstance(cell, str) else cell for cell in _row(found, each)])
    return stream.getvalue()


def safe(text: str) -> str:
    """Text that a spreadsheet leaves as text: an apostrophe before what it would work out."""
    return f"'{text}" if text.startswith(_STEERS) else text


def _row(found: Reviewed, each: Exposure) -> tuple[str | float | None, ...]:
    window = each.window
    known = each.measured is not None
    return (
        found.coat.name, found.coat.coating, utc(found.coat.sprayed), each.name, exact(each.measured), each.unit,
        exact(each.uncertainty) if known else None, "yes" if each.as_logarithm else "no",
        "" if window is None else utc(moment_at(window.start)), "" if window is None else utc(moment_at(window.end)),
        exact(each.covered), "; ".join(f"{utc(moment_at(gap.start))}/{utc(moment_at(gap.end))}" for gap in each.gaps),
        each.reason,
    )  # fmt: skip
