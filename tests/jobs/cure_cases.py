"""Temperature records and cure states for the tests of the cure clock."""

from datetime import UTC, datetime, timedelta
from itertools import pairwise

from advisor.catalog.coatings import coating_ids, load_coating
from advisor.jobs.cure import Cure, cure
from advisor.series.trace import Trace
from advisor.shop.shop import Shop
from tests.outlook.columns import room_of

SPRAYED = datetime(2025, 10, 14, 9, 0, tzinfo=UTC)
SHOP = Shop(zone="Europe/London")
HOUR = timedelta(hours=1)
REACTS = [name for name in coating_ids() if load_coating(name).hardens_by != "evaporation"]
LACQUERS = ["shellac", "nitrocellulose-lacquer", "acrylic-lacquer"]


def log(*points: tuple[float, float], every: float = 0.25) -> Trace:
    """(hours since spraying, °C) points joined by straight lines, one reading each `every` hours, points kept."""
    seconds, celsius = [], []
    for (start, first), (end, second) in pairwise(points):
        steps = max(1, round((end - start) / every))
        for step in range(steps):
            seconds.append(start + (end - start) * step / steps)
            celsius.append(first + (second - first) * step / steps)
    seconds.append(points[-1][0])
    celsius.append(points[-1][1])
    return room_of([SPRAYED.timestamp() + hour * 3600 for hour in seconds], celsius)


def state(name: str, hours: float, *points: tuple[float, float], coats: int | None = None, shop: Shop = SHOP) -> Cure:
    return cure(load_coating(name), log(*points), SPRAYED, SPRAYED + hours * HOUR, shop, coats)


def at(found: Cure, stage: str) -> datetime | None:
    return next(each.at for each in found.stages if each.stage == stage)


def after(found: Cure, stage: str) -> float:
    """Hours after spraying."""
    moment = at(found, stage)
    assert moment is not None
    return (moment - SPRAYED) / HOUR


def kinds(found: Cure) -> set[str]:
    return {flag.kind for flag in found.flags}
