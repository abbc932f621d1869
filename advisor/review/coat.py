"""How a defect was first seen: how long after the gun, and where on the piece.

A coat as it was sprayed: what a review is told of it.

One exposure as it was found: a number, its window, and how much of that was read.
"""

import re
from dataclasses import dataclass
from datetime import datetime, timedelta

from advisor.catalog.mechanisms import ANY_LOOK, DAYS, FOUND, HOURS, MINUTES, MORNING, WHERE, Mechanism
from advisor.errors import UsageError, shown
from advisor.series.trace import Window
from advisor.shop.shop import Shop
from advisor.units import UNITS

_SECONDS = {unit.spelling: unit.factor for unit in UNITS if unit.dimension == "time"} | {
    word: days * 86_400.0 for word, days in (("day", 1), ("week", 7), ("month", 30), ("year", 365))
}
_AFTER = re.compile(r"(\d{1,4}(?:\.\d{1,3})?) ?(s|min|h|day|week|month|year)s?")
_ENDS = ((2400.0, MINUTES), (10 * 3600.0, HOURS), (30 * 3600.0, MORNING))  # [s]; what is later is days on
_FORM = "2min, all over"


@dataclass(frozen=True)
class Sighting:
    """after [s] from the gun, None where nobody said; found: one of FOUND or empty; where: one of WHERE or empty."""

    after: float | None = None
    found: str = ""
    where: str = ""

    def fit(self, mechanism: Mechanism, defect: str) -> int:
        """How well it looks like a mechanism: a point for when and for where, one off for what does not agree."""
        look = mechanism.looks.get(defect, ANY_LOOK)
        pairs = ((self.found, look.found), (self.where, look.where))
        return sum((1 if said in known else -1) for said, known in pairs if said and known)

    def rules_out(self, mechanism: Mechanism, defect: str) -> bool:
        """Whether it cannot be that mechanism: seen elsewhere, or before it can have shown. Late may be a late look."""
        look = mechanism.looks.get(defect, ANY_LOOK)
        too_soon = self.found and look.found and FOUND.index(self.found) < min(map(FOUND.index, look.found))
        return bool(too_soon or (self.where and look.where and self.where not in look.where))


UNSEEN = Sighting()


def sighting(text: str | None) -> Sighting:
    """None for what nobody said; `2min, all over`, `next morning`, `edges`. Raises UsageError for anything else."""
    seen = UNSEEN
    if text is None:
        return seen
    for part in filter(None, (word.strip().casefold() for word in text.split(","))):
        place = part.replace(" ", "-")
        if place in WHERE:
            seen = Sighting(seen.after, seen.found, place)
        elif part in ("next morning", "the next morning", "morning"):
            seen = Sighting(None, MORNING, seen.where)
        elif (found := _AFTER.fullmatch(part)) is not None:
            seen = seen_at(float(found.group(1)) * _SECONDS[found.group(2)], seen.where)
        else:
            places = ", ".join(word.replace("-", " ") for word in WHERE)
            raise UsageError(
                f"--seen has {shown(part)}", f"5min, 3h, 2 days or next morning; {places}", f'write "{_FORM}"'
            )
    if seen == UNSEEN:
        raise UsageError("--seen is empty", f'"{_FORM}"', "say when and where it was first seen, or leave it out")
    return seen


def seen_at(after: float, where: str) -> Sighting:
    """Seen so long after the gun [s], at a spot in somebody's own words."""
    place = where.strip().casefold().replace(" ", "-")
    after = max(after, 0.0)
    found = next((word for end, word in _ENDS if after < end), DAYS)
    return Sighting(after, found, place if place in WHERE else "")


@dataclass(frozen=True, kw_only=True)
class Below:
    """The coat below: its coating's id, and when it was sprayed; None where nobody said."""

    coating: str
    sprayed: datetime | None = None


@dataclass(frozen=True, kw_only=True)
class SprayedCoat:
    """One coat; what nobody said is None.

    ended: the gun put down. thinner: speed; thinning by volume of the paint, retarder of all solvent [fraction].
    mixed_at: hardener went in. cup: its name, seconds [s]. material, surface [°C]. needle, wet_film [m]. pressure [Pa]
    at the gun. sanded: whether what lay below was sanded. gun: what feeds it. air [°C], humidity [fraction]: by hand
    at the gun, on other instruments. in_room_since: the piece was brought in. seen: how the defect was first seen.
    """

    coating: str
    sprayed: datetime
    ended: datetime | None = None
    thinner: str | None = None
    thinning: float | None = None
    retarder: float | None = None
    mixed_at: datetime | None = None
    cup: str | None = None
    seconds: float | None = None
    material: float | None = None
    surface: float | None = None
    needle: float | None = None
    pressure: float | None = None
    wet_film: float | None = None
    below: Below | None = None
    sanded: bool | None = None
    gun: str | None = None
    air: float | None = None
    humidity: float | None = None
    in_room_since: datetime | None = None
    seen: Sighting = UNSEEN
    name: str = ""

    def end(self, shop: Shop) -> datetime:
        """When the gun was put down, or after the shop's usual time."""
        if self.ended is not None and self.ended >= self.sprayed:
            return self.ended
        return self.sprayed + timedelta(seconds=shop.limit("session_spray").value)


@dataclass(frozen=True)
class Exposure:
    """A number in `unit` [SI], None where there is none; uncertainty: standard, of its logarithm where as_logarithm.

    window: None for what is no stretch of time, such as a film's thickness; covered: the share of it that was read;
    gaps: what was not. reason: why it does not tell, or not surely; empty where it does. limit: where the exposure
    brings its own. figures: further numbers that explain it [SI].
    """

    name: str
    measured: float | None
    unit: str
    uncertainty: float = 0.0
    as_logarithm: bool = False
    window: Window | None = None
    covered: float | None = None
    gaps: tuple[Window, ...] = ()
    reason: str = ""
    limit: float | None = None
    figures: tuple[tuple[str, float], ...] = ()

    def figure(self, name: str) -> float | None:
        """One of the explaining numbers, or None."""
        return dict(self.figures).get(name)
