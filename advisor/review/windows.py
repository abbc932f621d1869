"""The stretches of a coat's life: sprayed, flashed off, dust-free, recoat, later that night, cure."""

from dataclasses import dataclass
from math import inf

from advisor.catalog.coatings import Coating
from advisor.film.drying import DryingTimes
from advisor.review.coat import SprayedCoat
from advisor.series.trace import Window
from advisor.shop.shop import Shop

BEFORE = 900.0  # [s] before the gun: what is in the air then lands in the film
_LATER = 18 * 3600.0  # [s] dew can mark a young film: through the night, and as the door is opened in the morning
_FIRST_DAY = 24 * 3600.0  # [s] in which a coat that states no hours gets hard or not


@dataclass(frozen=True)
class Windows:
    """When what could happen to a coat. dust_free and recoat begin with the gun, later and cure too."""

    spray: Window
    flash: Window
    dust_free: Window
    recoat: Window
    later: Window
    cure: Window


def windows_of(
    coat: SprayedCoat, coating: Coating, times: DryingTimes | None, shop: Shop, until: float = inf
) -> Windows:
    """The windows of a coat, by its drying times as computed for its air; by the sheet's where there are none.

    until [s since 1970]: the present. What came after it, or after the defect was seen, did not make it.
    """
    start, end = coat.sprayed.timestamp(), coat.end(shop).timestamp()
    numbers = coating.numbers
    flash = numbers["flash_high"].value
    dust_free = flash if times is None or times.dust_free is None else times.dust_free
    recoat = numbers["recoat_from_high"].value if times is None or times.recoat_from is None else times.recoat_from
    hours = numbers.get("never_fully_hard_hours")
    cure = min(_FIRST_DAY, numbers["full_cure_high"].value) if hours is None else hours.value
    last = max(end, min(until, inf if coat.seen.after is None else end + coat.seen.after))
    return Windows(
        spray=Window(start, end),
        flash=Window(end, min(last, end + flash)),
        dust_free=Window(start, min(last, end + dust_free)),
        recoat=Window(start, min(last, end + recoat)),
        later=Window(start, min(last, end + _LATER)),
        cure=Window(start, min(last, end + max(cure, min(recoat, _FIRST_DAY)))),
    )
