"""Planned sessions in the logbook, and what was told of each."""

import sqlite3
from dataclasses import replace
from datetime import datetime

from advisor.logbook.rows import Columns, insert
from advisor.notices.plan_notice import Planned, Told
from advisor.times import milliseconds

DROPPED, SEEN, DONE = "dropped_at", "seen_at", "done_at"
_PLAN, _TOLD = Columns(Planned), Columns(Told)
# done in what is now the future: the clock was wrong then, and it is not done
_OPEN = "dropped_at IS NULL AND (done_at IS NULL OR done_at > ?)"


def keep_plan(
    connection: sqlite3.Connection, made_at: datetime, at: datetime, coating: str, coats: int, spray: float, note: str,
    place: str = "",
) -> Planned:  # fmt: skip
    """Keep a new plan, inside the caller's transaction; spray [s] a coat."""
    planned = Planned(0, made_at, at, coating, coats, spray, note, None, place)
    return replace(planned, id=insert(connection, "plan", {**vars(planned), "id": None}))


def open_plans(connection: sqlite3.Connection, now: datetime, until: datetime | None = None) -> list[Planned]:
    """Plans neither dropped nor done, by their start; with `until` those that start by then."""
    latest = 2**62 if until is None else milliseconds(until)
    rows = connection.execute(
        f"SELECT {_PLAN} FROM plan WHERE {_OPEN} AND at <= ? ORDER BY at, id", (milliseconds(now), latest)
    )
    return [_PLAN.record(row) for row in rows]


def open_plan(connection: sqlite3.Connection, number: int, now: datetime) -> Planned | None:
    """One open plan; None when there is no such one, or it is dropped or done."""
    row = connection.execute(
        f"SELECT {_PLAN} FROM plan WHERE {_OPEN} AND id = ?", (milliseconds(now), number)
    ).fetchone()
    return None if row is None else _PLAN.record(row)


def stamp_plan(connection: sqlite3.Connection, planned: Planned, what: str, now: datetime) -> None:
    """It is DROPPED: not meant any more, SEEN: acknowledged, or DONE: over; inside the caller's transaction.

    Of one that is dropped or done, what was announced is of no use any more.
    """
    connection.execute(f"UPDATE plan SET {what} = ? WHERE id = ?", (milliseconds(now), planned.id))
    if what != SEEN:
        connection.execute("DELETE FROM announced WHERE coating = ?", (planned.subject,))


def keep_told(connection: sqlite3.Connection, planned: Planned, told: Told) -> None:
    """Keep what was told of a plan, inside the caller's transaction."""
    insert(connection, "plan_told", {"plan_id": planned.id, **vars(told)})


def told_of(connection: sqlite3.Connection, planned: Planned) -> tuple[Told, ...]:
    """What was told of a plan, in the order it was said."""
    rows = connection.execute(f"SELECT {_TOLD} FROM plan_told WHERE plan_id = ? ORDER BY id", (planned.id,))
    return tuple(_TOLD.record(row) for row in rows)
