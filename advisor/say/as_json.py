"""One encoder from records to JSON: null for what is missing or no number, times UTC with Z, °C, fraction, Pa, m, s.

What a record's keys are stands in one form for each type of record. A form is text, a key a word, in their order:
`flash` (the field of that name), `rule=finding.rule` (a field of a field; null where one on the way is missing), and a
sign behind the key: `~` for small SI figures (m3, m, kg/s), to six digits and not to a millionth; `?` for null instead
of an empty text or nothing; `@` for seconds since 1970 as a time; `!` for a figure as it was computed. Between the
texts stand functions by their keys, which get the record and what was passed beside it, such as the shop.
"""

import re
from collections.abc import Callable, Mapping
from dataclasses import fields, is_dataclass
from datetime import UTC, datetime
from enum import Enum
from math import isfinite
from typing import Any

from advisor.errors import OutOfRange
from advisor.times import moment_at

SCHEMA = 1  # counts the forms of the answers; keys are only ever added

Form = str | tuple[str | Mapping[str, Callable[..., Any]], ...]
_KEY = re.compile(r"(\w+)([~?@!]?)(?:=([\w.]+))?")


def utc(moment: datetime) -> str:
    """ISO 8601 in UTC with Z, to the second."""
    return moment.astimezone(UTC).replace(tzinfo=None).isoformat(timespec="seconds") + "Z"


def number(value: float | None) -> float | None:
    """A number rounded to 1e-6, and null instead of NaN or infinity."""
    return round(value, 6) if value is not None and isfinite(value) else None


def exact(value: float | None) -> float | None:
    """Small SI figures (m3, m, m2/s, kg/s) to six digits, not to a millionth."""
    return float(f"{value:.6g}") if value is not None and isfinite(value) else None


def headed(computed_at: datetime, record: Mapping[str, Any]) -> dict[str, Any]:
    """An answer: its form's number, when it was computed, and the record."""
    return {"schema": SCHEMA, "computed_at": utc(computed_at), **record}


class Forms:
    """The forms of some types of record; called with one, gives it as JSON. A dataclass without a form: its fields."""

    def __init__(self, forms: Mapping[type, Form]) -> None:
        self._forms = forms

    def __call__(self, record: Any, *beside: Any) -> Any:
        """A record or several, as JSON; beside: what the functions of its form need."""
        return self._plain(record, number, beside)

    def keyed(self, form: Form, record: Any, *beside: Any) -> dict[str, Any]:
        """By a form of its own: a record, or several by their names."""
        found: dict[str, Any] = {}
        for part in (form,) if isinstance(form, str) else form:
            for key, sign, path in _KEY.findall(part if isinstance(part, str) else " ".join(part)):
                value = _at(record, path or key) if isinstance(part, str) else part[key + sign](record, *beside)
                found[key] = self._signed(sign, value, beside)
        return found

    def _signed(self, sign: str, value: Any, beside: tuple[Any, ...]) -> Any:
        if value is None or sign == "!":
            return value
        told = moment_at(value) if sign == "@" else value or None if sign == "?" else value
        return self._plain(told, exact if sign == "~" else number, beside)

    def _plain(self, value: Any, rounded: Callable[[float], float | None], beside: tuple[Any, ...]) -> Any:
        if (form := self._forms.get(type(value))) is not None:
            return self.keyed(form, value, *beside)
        if isinstance(value, float):
            return rounded(value)
        if isinstance(value, datetime):
            return utc(value)
        if isinstance(value, Enum):
            return value.value
        if is_dataclass(value):
            value = {each.name: getattr(value, each.name) for each in fields(value)}
        if isinstance(value, Mapping):
            return {key: self._plain(each, rounded, beside) for key, each in value.items()}
        listed = value.tolist() if hasattr(value, "tolist") else value
        return [self._plain(each, rounded, beside) for each in listed] if isinstance(listed, list | tuple) else listed


keyed = Forms({}).keyed  # for records that have no form of their own in them


def _at(record: Any, path: str) -> Any:
    """What stands at the end of a path; None where something on it is missing, or an equation does not reach."""
    for name in path.split("."):
        if record is None:
            return None
        try:
            record = (
                record[int(name)] if name.isdigit() else record[name] if isinstance(record, Mapping) else
                getattr(record, name)
            )  # fmt: skip
        except OutOfRange:
            return None
    return record
