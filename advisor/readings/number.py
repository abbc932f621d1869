"""The one strict parser of values that come from outside."""

import re
from dataclasses import dataclass
from math import isfinite

from advisor.catalog.units import Unit, unit_for
from advisor.readings.reading import MISSING, NOT_A_NUMBER, WRONG_UNIT

LONGEST_VALUE = 64  # characters: a double of room air written out to its last binary digit has 60
# Words by which sensors and loggers say that they have no value
STATUS_WORDS = frozenset(
    ("", "unavailable", "unknown", "none", "null", "nan", "n/a", "na", "offline", "error", "missing", "-", "--")
)
_POINT, _COMMA = (
    re.compile(rf"([+-]?(?:[0-9]+(?:{sign}[0-9]+)?|{sign}[0-9]+)(?:[eE][+-]?[0-9]+)?)(?:[ \u00a0\u202f]?([^\s\d]\S*))?")
    for sign in (r"\.", ",")
)


@dataclass(frozen=True, slots=True)
class Parsed:
    """A finite number as it was written, or the reason there is none."""

    value: float | None
    reason: str = ""


_NO_VALUE = Parsed(None, MISSING)
_NO_NUMBER = Parsed(None, NOT_A_NUMBER)


def parse_value(text: str, decimal: str = ".", unit: Unit | None = None) -> Parsed:
    """Read a value strictly: ASCII digits, one decimal sign, at most 64 characters; no inf, no underscores.

    Every finite double is read back as it was printed; `.5` is a half, `5.` a number that was cut. unit: the one
    declared, which may stand behind the number; another one there is `wrong-unit`. A status word or an empty field is
    `missing`; anything else that is no number is `not-a-number`.
    """
    cleaned = text.strip() if len(text) <= 4 * LONGEST_VALUE else text
    if len(cleaned) > LONGEST_VALUE:
        return _NO_NUMBER
    found = (_POINT if decimal == "." else _COMMA).fullmatch(cleaned)
    if found is None:
        return _NO_VALUE if cleaned.casefold() in STATUS_WORDS else _NO_NUMBER
    value, spelling = float(found[1].replace(",", ".")), found[2]
    if spelling is not None:
        told = None if unit is None else unit_for(spelling, unit.dimension)
        if unit is None or told is None:
            return _NO_NUMBER
        if (told.factor, told.offset) != (unit.factor, unit.offset):
            return Parsed(None, WRONG_UNIT)
    return Parsed(value) if isfinite(value) else _NO_NUMBER
