"""Planned sessions in the logbook, and what was told of each."""

import sqlite3
from datetime import datetime

from advisor.judge.verdict import State
from advisor.notices.plan_notice import Planned, Told
from advisor.times import milliseconds, moment_of

_COLUMNS = "id, made_at, at, coating, coats, spray, note, seen_at, place"
# done in what is now the future: the clock was wrong then, and it is not done
_OPEN = "dropped_at IS NULL AND (done_at IS NULL OR done_at > ?)"


def keep_plan(
    connection: sqlite3.Connection, made_at: datetime, at: datetime, coating: str, coats: int, spray: float, note: str,
    place: str = "",
) -> Planned:  # fmt: skip
    """Keep a new plan, inside the caller's transaction; spray [s] a coat."""
    cursor = connection.execute(
        "INSERT INTO plan (made_at, at, coating, coats, spray, note, place) VALUES (?, ?, ?, ?, ?, ?, ?)",
        (milliseconds(made_at), milliseconds(at), coating, coats, spray, note, place),
    )
    return Planned(int(cursor.lastrowid or 0), made_at, at, coating, coats, spray, note, None, place)


def open_plans(connection: sqlite3.Connection, now: datetime, until: datetime | None = None) -> list[Planned]:
    """Plans neither dropped nor done, by their start; with `until` those that start by then."""
    latest = 2**62 if until is None else milliseconds(until)
    rows = connection.execute(
        f"SELECT {_COLUMNS} FROM plan WHERE {_OPEN} AND at <= ? ORDER BY at, id", (milliseconds(now), latest)
    )
    return [_planned(row) for row in rows]


def open_plan(connection: sqlite3.Connection, number: int, now: datetime) -> Planned | None:
    """One open plan; None when there is no such one, or it is dropped or done."""
    row = connection.execute(
        f"SELECT {_COLUMNS} FROM plan WHERE {_OPEN} AND id = ?", (milliseconds(now), number)
    ).fetchone()
    return None if row is None else _planned(row)


def drop_plan(connection: sqlite3.Connection, planned: Planned, now: datetime) -> None:
    """It is not meant any more; inside the caller's transaction."""
    connection.execute("UPDATE plan SET dropped_at = ? WHERE id = ?", (milliseconds(now), planned.id))
    _forget(connection, planned)


def see_plan(connection: sqlite3.Connection, planned: Planned, now: datetime) -> None:
    """It is acknowledged; inside the caller's transaction."""
    connection.execute("UPDATE plan SET seen_at = ? WHERE id = ?", (milliseconds(now), planned.id))


def finish_plan(connection: sqlite3.Connection, planned: Planned, now: datetime) -> None:
    """It is over; inside the caller's transaction."""
    connection.execute("UPDATE plan SET done_at = ? WHERE id = ?", (milliseconds(now), planned.id))
    _forget(connection, planned)


def keep_told(connection: sqlite3.Connection, planned: Planned, told: Told) -> None:
    """Keep what was told of a plan, inside the caller's transaction."""
    connection.execute(
        "INSERT INTO plan_told (plan_id, lead, at, state, cannot_tell, reason) VALUES (?, ?, ?, ?, ?, ?)",
        (planned.id, told.lead, milliseconds(told.at), told.state.value, int(told.cannot_tell), told.reason),
    )


def told_of(connection: sqlite3.Connection, planned: Planned) -> tuple[Told, ...]:
    """What was told of a plan, in the order it was said."""
    rows = connection.execute(
        "SELECT lead, at, state, cannot_tell, reason FROM plan_told WHERE plan_id = ? ORDER BY id", (planned.id,)
    )
    return tuple(
        Told(lead, moment_of(at), State(state), bool(cannot_tell), reason)
        for lead, at, state, cannot_tell, reason in rows
    )


def _forget(connection: sqlite3.Connection, planned: Planned) -> None:
    """What was announced of it is of no use any more."""
    connection.execute("DELETE FROM announced WHERE coating = ?", (planned.subject,))


def _planned(row: tuple[int, int, int, str, int, float, str, int | None, str]) -> Planned:
    number, made_at, at, coating, coats, spray, note, seen_at, place = row
    seen = None if seen_at is None else moment_of(seen_at)
    return Planned(number, moment_of(made_at), moment_of(at), coating, coats, spray, note, seen, place)
