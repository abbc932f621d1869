"""Verdicts and what was announced of them, in the logbook."""

import json
import sqlite3
from dataclasses import replace
from typing import Any

from advisor.logbook.rows import Columns, first, insert
from advisor.notices.announced import Announced

Subject = tuple[str, str]  # place, empty where the shop names none, and coating
# what was kept before places were, or of a shop that names none, is of this place until this one has its own
_OF = "place IN (?, '') AND coating = ?"
_OWN_FIRST = "ORDER BY place DESC LIMIT 1"
_ANNOUNCED = Columns(Announced)
FORECAST = "forecast"  # of `memory`: the newest that came in over MQTT, whole, and when
CLOCK_SET = "clock-set"  # of `memory`: to when the wall clock was last set [ms UTC]


def keep_verdict(
    connection: sqlite3.Connection, of: Subject, said: tuple[str, bool, str], record: dict[str, Any],
    at: int, boot: tuple[str, int], expires: int,
) -> None:  # fmt: skip
    """Keep the newest verdict of a coating at a place whole, and a line where state or reason changed.

    Inside the caller's transaction. of: place and coating; said: state, cannot tell, reason. at, expires [ms UTC];
    boot: the boot's id and the milliseconds since it.
    """
    connection.execute(
        "INSERT OR REPLACE INTO verdict VALUES (?, ?, ?, ?, ?, ?, ?)",
        (*of, at, *boot, expires, json.dumps(record, allow_nan=False)),
    )
    last = connection.execute(
        f"SELECT state, cannot_tell, reason FROM verdict_change WHERE {_OF} ORDER BY at DESC LIMIT 1", of
    ).fetchone()
    if last != said:
        connection.execute("INSERT OR REPLACE INTO verdict_change VALUES (?, ?, ?, ?, ?, ?)", (*of, at, *said))


def current_record(
    connection: sqlite3.Connection, of: Subject, now: int, boot: tuple[str, int], allowed_age: int
) -> dict[str, Any] | None:
    """The kept verdict while it may still be believed; None when it is too old, of another boot, or not there.

    now [ms UTC]; boot: this boot's id and the milliseconds since it; allowed_age [ms] by the boot's clock, which no
    step of the wall clock moves.
    """
    row = connection.execute(
        f"SELECT boot_id, computed_boottime, valid_until, record FROM verdict WHERE {_OF} {_OWN_FIRST}", of
    ).fetchone()
    if row is None:
        return None
    boot_id, computed, valid_until, record = row
    if boot_id != boot[0] or not 0 <= boot[1] - computed <= allowed_age or not now <= valid_until:
        return None
    kept: dict[str, Any] = json.loads(record)
    return kept


def clock_offset(connection: sqlite3.Connection, boot_id: str) -> float | None:
    """Wall clock minus boot clock [s] when a verdict was last kept in this boot; None when none was."""
    newest = "FROM verdict WHERE boot_id = ? ORDER BY computed_boottime DESC LIMIT 1"
    return first(connection, float, f"SELECT (at - computed_boottime) / 1000.0 {newest}", boot_id)


def judged_before(connection: sqlite3.Connection) -> bool:
    """Whether any verdict was ever kept."""
    return first(connection, bool, "SELECT 1 FROM verdict LIMIT 1") is not None


def load_announced(connection: sqlite3.Connection, of: Subject) -> Announced | None:
    """What was last announced of a coating at a place."""
    row = connection.execute(f"SELECT {_ANNOUNCED} FROM announced WHERE {_OF} {_OWN_FIRST}", of).fetchone()
    return None if row is None else replace(_ANNOUNCED.record(row), place=of[0])


def save_announced(connection: sqlite3.Connection, announced: Announced) -> None:
    """Keep what is announced, inside the caller's transaction."""
    insert(connection, "announced", vars(announced), "INSERT OR REPLACE")


def kept_value(connection: sqlite3.Connection, key: str) -> str | None:
    """Something small the daemon remembers about itself."""
    return first(connection, str, "SELECT value FROM memory WHERE key = ?", key)


def keep_value(connection: sqlite3.Connection, key: str, value: str) -> None:
    """Remember it, inside the caller's transaction."""
    connection.execute("INSERT OR REPLACE INTO memory VALUES (?, ?)", (key, value))


def keep_event(connection: sqlite3.Connection, at: int, kind: str, detail: str) -> None:
    """Keep something that happened to the daemon itself, inside the caller's transaction."""
    insert(connection, "event", {"at": at, "kind": kind, "detail": detail[:200]})
