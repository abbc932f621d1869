"""Rows of the logbook and the records they stand for: a column is named as its field, a moment is milliseconds UTC."""

import sqlite3
from collections.abc import Callable, Mapping, Sequence
from datetime import datetime
from typing import Any, Generic, TypeVar, get_type_hints

from advisor.judge.verdict import State
from advisor.times import milliseconds, moment_of

Record = TypeVar("Record")
Value = TypeVar("Value")
_READ: dict[Any, Callable[[Any], Any]] = {  # by a field's type
    datetime: moment_of,
    datetime | None: moment_of,
    bool: bool,
    State: State,
}


class Columns(Generic[Record]):
    """The columns that make a record, in the order of its fields; elsewhere: fields that other tables hold."""

    def __init__(self, record: type[Record], *elsewhere: str) -> None:
        hints = get_type_hints(record)
        self._record = record
        self.names = tuple(name for name in hints if name not in elsewhere)
        self._read = {"undone_at": moment_of, **{name: _READ[kind] for name, kind in hints.items() if kind in _READ}}

    def value(self, name: str | None, kept: Any) -> Any:
        """A column's value as the record has it."""
        read = self._read.get(name or "")
        return kept if kept is None or read is None else read(kept)

    def values(self, row: Sequence[Any]) -> dict[str, Any]:
        """The fields of a row."""
        return {name: self.value(name, kept) for name, kept in zip(self.names, row, strict=True)}

    def record(self, row: Sequence[Any]) -> Record:
        """The record of a row."""
        return self._record(**self.values(row))

    def __str__(self) -> str:
        return ", ".join(self.names)


def as_kept(value: Any) -> Any:
    """A field's value as its column has it."""
    return milliseconds(value) if isinstance(value, datetime) else value


def insert(connection: sqlite3.Connection, table: str, values: Mapping[str, Any], verb: str = "INSERT") -> int:
    """A new row, inside the caller's transaction; gives its id."""
    marks = ", ".join("?" for _ in values)
    kept = tuple(as_kept(value) for value in values.values())
    made = connection.execute(f"{verb} INTO {table} ({', '.join(values)}) VALUES ({marks})", kept)
    return int(made.lastrowid or 0)


def first(connection: sqlite3.Connection, kind: Callable[[Any], Value], query: str, *values: Any) -> Value | None:
    """The first value that a query finds, as a kind of value; None where it finds nothing."""
    row = connection.execute(query, values).fetchone()
    return None if row is None or row[0] is None else kind(row[0])
