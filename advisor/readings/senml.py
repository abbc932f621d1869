"""SenML packs in JSON (RFC 8428): base fields, relative times, and the units we know."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from advisor.readings.number import parse_value
from advisor.readings.strict_json import BadPayload, NumberText

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
        record = _one(entry, base, now)
        if record is not None:
            records.append(record)
    return records


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
    value = entry["v"]
    if not isinstance(value, NumberText):
        return Record(name, unit, "no number", None if at == 0 else at if at >= RELATIVE_BELOW else now + at)
    added = _float(base["bv"], "bv")
    shown = str(value) if added == 0 else repr(_float(value, "v") + added)
    moment = None if at == 0 else at if at >= RELATIVE_BELOW else now + at
    return Record(name, unit, shown, moment)


def _float(value: Any, label: str) -> float:
    parsed = parse_value(value).value if isinstance(value, str) else None
    if parsed is None:
        raise BadPayload(f"the SenML field {label} is no number")
    return parsed


def _text(value: Any, label: str) -> str:
    if not isinstance(value, str) or isinstance(value, NumberText):
        raise BadPayload(f"the SenML field {label} is no text")
    return value
