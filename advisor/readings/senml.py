"""The one strict parser of values that come from outside.

JSON from outside, read strictly: size, depth, digits, no NaN, no key twice.

SenML packs in JSON (RFC 8428): base fields, relative times, and the units we know.
"""

import json
import re
from collections.abc import Mapping
from dataclasses import dataclass
from math import isfinite
from typing import Any

from advisor.readings.reading import BAD, GOOD, MISSING, NOT_A_NUMBER, WRONG_UNIT, Reading, Series
from advisor.units import Unit, to_si, unit_for

LONGEST_VALUE = 64  # characters: a double of room air written out to its last binary digit has 60
# Words by which sensors and loggers say that they have no value
STATUS_WORDS = frozenset(
    ("", "unavailable", "unknown", "none", "null", "nan", "n/a", "na", "offline", "error", "missing", "-", "--")
)
_POINT, _COMMA = (
    re.compile(rf"([+-]?(?:[0-9]+(?:{sign}[0-9]+)?|{sign}[0-9]+)(?:[eE][+-]?[0-9]+)?)(?:[ \u00a0\u202f]?([^\s\d]\S*))?")
    for sign in (r"\.", ",")
)


def parse_value(text: str, decimal: str = ".", unit: Unit | None = None) -> tuple[float | None, str]:
    """A finite number as it was written, or the reason there is none.

    Read strictly: ASCII digits, one decimal sign, at most 64 characters; no inf, no underscores. Every finite double is
    read back as it was printed; `.5` is a half, `5.` a number that was cut. unit: the one declared, which may stand
    behind the number; another one there is `wrong-unit`. A status word or an empty field is `missing`; anything else
    that is no number is `not-a-number`.
    """
    cleaned = text.strip() if len(text) <= 4 * LONGEST_VALUE else text
    if len(cleaned) > LONGEST_VALUE:
        return None, NOT_A_NUMBER
    found = (_POINT if decimal == "." else _COMMA).fullmatch(cleaned)
    if found is None:
        return None, MISSING if cleaned.casefold() in STATUS_WORDS else NOT_A_NUMBER
    value, spelling = float(found[1].replace(",", ".")), found[2]
    told = unit if spelling is None or unit is None else unit_for(spelling, unit.dimension)
    if told and unit and (told.factor, told.offset) != (unit.factor, unit.offset):
        return None, WRONG_UNIT
    known = isfinite(value) and (spelling is None or told is not None)
    return (value, "") if known else (None, NOT_A_NUMBER)


def read_value(series: Series, text: str, unit: Unit, at: int, source: str, decimal: str = ".") -> Reading:
    """The reading of a value that stands as text, in SI; bad, with the reason, where there is none. at [ms UTC]."""
    value, reason = parse_value(text, decimal, unit)
    return Reading(series, None if value is None else to_si(value, unit), at, source, BAD if reason else GOOD, reason)


LARGEST_PAYLOAD = 4096  # bytes
DEEPEST = 4
_QUOTED = re.compile(rb'"(?:[^"\\]|\\.)*"?', re.DOTALL)  # a string, also one that does not end
_BRACKET = re.compile(rb"[\[{}\]]")


class BadPayload(ValueError):
    """A payload that cannot be used; the message says why in a few words."""


def parse_json(payload: bytes, largest: int = LARGEST_PAYLOAD) -> Any:
    """The value of a JSON text in UTF-8. Numbers come back as text, for the one strict number parser.

    Raises BadPayload; nothing else, whatever the bytes.
    """
    if len(payload) > largest:
        raise BadPayload(f"larger than {largest} bytes")
    _check_depth(payload)
    try:
        return json.loads(
            payload.decode("utf-8"),
            parse_constant=_refuse_constant,
            parse_int=_number,
            parse_float=_number,
            object_pairs_hook=_object,
        )
    except BadPayload:
        raise
    except (ValueError, RecursionError, OverflowError, TypeError) as error:
        raise BadPayload("not JSON") from error


class NumberText(str):
    """A JSON number, kept as it was written."""

    __slots__ = ()


def _number(text: str) -> NumberText:
    if len(text) > LONGEST_VALUE:
        raise BadPayload(f"a number of more than {LONGEST_VALUE} digits")
    return NumberText(text)


def _refuse_constant(name: str) -> Any:
    raise BadPayload(f"{name} is no number")


def _object(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    table = dict(pairs)
    if len(table) != len(pairs):
        raise BadPayload("a key twice in one object")
    return table


def _check_depth(payload: bytes) -> None:
    """Brackets outside strings, counted before the parser recurses."""
    depth = 0
    for bracket in _BRACKET.findall(_QUOTED.sub(b"", payload)):
        depth += 1 if bracket in b"[{" else -1
        if depth > DEEPEST:
            raise BadPayload(f"nested deeper than {DEEPEST}")


# RFC 8428 section 12.1 and the IANA registry of SenML units: unit -> column of ours
UNIT_COLUMNS: Mapping[str, str] = {"Cel": "air_temperature_c", "K": "air_temperature_k", "%RH": "relative_humidity_pct"}
RELATIVE_BELOW = 2**28  # section 4.5.3: smaller times are seconds relative to now
_BASE = ("bn", "bt", "bu", "bv", "bs", "bver")
_KNOWN = frozenset((*_BASE, "n", "u", "v", "vs", "vb", "vd", "s", "t", "ut"))
_NEWEST_VERSION = 10
_MOST_RECORDS = 100


@dataclass(frozen=True)
class Record:
    """A resolved record: full name, unit, value as text, and time in seconds since 1970 (None: now)."""

    name: str
    unit: str
    value: str
    at: float | None


def resolve(pack: Any, now: float) -> list[Record]:
    """The records of a pack with their base fields worked in (section 4.6). `now`: seconds since 1970.

    Records without a numeric value (text, boolean, data, sums) give nothing. Raises BadPayload.
    """
    if not isinstance(pack, list) or not pack or len(pack) > _MOST_RECORDS:
        raise BadPayload(f"a SenML pack is a list of 1 to {_MOST_RECORDS} records")
    base: dict[str, Any] = {"bn": "", "bt": "0", "bu": "", "bv": "0"}
    records = []
    for entry in pack:
        if not isinstance(entry, dict):
            raise BadPayload("a SenML record is an object")
        _check_labels(entry)
        base.update({key: entry[key] for key in _BASE if key in entry})
        if _float(base.get("bver", "10"), "bver") > _NEWEST_VERSION:
            raise BadPayload("a SenML version newer than 10")
        records.append(_one(entry, base, now))
    return [record for record in records if record is not None]


def _check_labels(entry: Mapping[str, Any]) -> None:
    """Section 4.4: an unknown label that ends in `_` must be understood, or the pack is refused."""
    for label in entry:
        if label not in _KNOWN and label.endswith("_"):
            raise BadPayload(f"the SenML label {label[:20]!r} must be understood")
    if sum(label in entry for label in ("v", "vs", "vb", "vd")) > 1:
        raise BadPayload("a SenML record with two values")


def _one(entry: Mapping[str, Any], base: Mapping[str, Any], now: float) -> Record | None:
    name = _text(base["bn"], "bn") + _text(entry.get("n", ""), "n")
    if not name:
        raise BadPayload("a SenML record without a name")
    unit = _text(entry.get("u", base["bu"]), "u")
    at = _float(base["bt"], "bt") + _float(entry.get("t", NumberText("0")), "t")
    if "v" not in entry:
        return None
    value, shown = entry["v"], "no number"
    if isinstance(value, NumberText):
        added = _float(base["bv"], "bv")
        shown = str(value) if added == 0 else repr(_float(value, "v") + added)
    return Record(name, unit, shown, None if at == 0 else at if at >= RELATIVE_BELOW else now + at)


def _float(value: Any, label: str) -> float:
    parsed = parse_value(value)[0] if isinstance(value, str) else None
    if parsed is None:
        raise BadPayload(f"the SenML field {label} is no number")
    return parsed


def _text(value: Any, label: str) -> str:
    if not isinstance(value, str) or isinstance(value, NumberText):
        raise BadPayload(f"the SenML field {label} is no text")
    return value
