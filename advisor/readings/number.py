"""The one strict parser of values that come from outside."""

import re
from dataclasses import dataclass

from advisor.readings.reading import MISSING, NOT_A_NUMBER

LONGEST_VALUE = 32  # characters; no sensor needs more
# Words by which sensors and loggers say that they have no value
STATUS_WORDS = frozenset(
    ("", "unavailable", "unknown", "none", "null", "nan", "n/a", "na", "offline", "error", "missing", "-", "--")
)
_POINT = re.compile(r"[+-]?[0-9]{1,15}(?:\.[0-9]{1,12})?(?:[eE][+-]?[0-9]{1,2})?")
_COMMA = re.compile(r"[+-]?[0-9]{1,15}(?:,[0-9]{1,12})?(?:[eE][+-]?[0-9]{1,2})?")


@dataclass(frozen=True, slots=True)
class Parsed:
    """A finite number as it was written, or the reason there is none."""

    value: float | None
    reason: str = ""


_NO_VALUE = Parsed(None, MISSING)
_NO_NUMBER = Parsed(None, NOT_A_NUMBER)


def parse_value(text: str, decimal: str = ".") -> Parsed:
    """Read a value strictly: ASCII digits, one decimal sign, at most 32 characters; no inf, no underscores.

    A status word or an empty field is `missing`; anything else that is no number is `not-a-number`.
    """
    cleaned = text.strip() if len(text) <= 4 * LONGEST_VALUE else text
    if len(cleaned) > LONGEST_VALUE:
        return _NO_NUMBER
    if (_POINT if decimal == "." else _COMMA).fullmatch(cleaned):
        return Parsed(float(cleaned.replace(",", ".")))
    return _NO_VALUE if cleaned.casefold() in STATUS_WORDS else _NO_NUMBER
