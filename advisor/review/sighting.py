"""How a defect was first seen: how long after the gun, and where on the piece."""

import re
from dataclasses import dataclass

from advisor.catalog.mechanisms import DAYS, FOUND, HOURS, MINUTES, MORNING, WHERE, Mechanism
from advisor.catalog.units import UNITS
from advisor.errors import UsageError, shown

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
        look = mechanism.looks.get(defect)
        if look is None:
            return 0
        pairs = ((self.found, look.found), (self.where, look.where))
        return sum((1 if said in known else -1) for said, known in pairs if said and known)

    def rules_out(self, mechanism: Mechanism, defect: str) -> bool:
        """Whether it cannot be that mechanism: seen elsewhere, or before it can have shown. Late may be a late look."""
        look = mechanism.looks.get(defect)
        if look is None:
            return False
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
            after = float(found.group(1)) * _SECONDS[found.group(2)]
            seen = Sighting(after, found_after(after), seen.where)
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
    return Sighting(after, found_after(after), place if place in WHERE else "")


def found_after(seconds: float) -> str:
    """The word for so long after the gun [s]."""
    return next((word for end, word in _ENDS if seconds < end), DAYS)
