"""Verdicts and what was announced of them, in the logbook."""

import json
import sqlite3
from typing import Any

from advisor.advice.announced import Announced, reason_of
from advisor.advice.verdict import State, Verdict

CLOCK_SET = "clock-set"  # of `memory`: to when the wall clock was last set [ms UTC]


def keep_verdict(
    connection: sqlite3.Connection,
    verdict: Verdict,
    record: dict[str, Any],
    at: int,
    boot: tuple[str, int],
    expires: int,
) -> None:
    """Keep the newest verdict whole, and a line where state or reason changed; inside the caller's transaction.

    at, expires [ms UTC]; boot: the boot's id and the milliseconds since it.
    """
    connection.execute(
        "INSERT OR REPLACE INTO verdict VALUES (?, ?, ?, ?, ?, ?)",
        (verdict.coating.id, at, boot[0], boot[1], expires, json.dumps(record, allow_nan=False)),
    )
    now = (verdict.state.value, int(verdict.cannot_tell), reason_of(verdict))
    last = connection.execute(
        "SELECT state, cannot_tell, reason FROM verdict_change WHERE coating = ? ORDER BY at DESC LIMIT 1",
        (verdict.coating.id,),
    ).fetchone()
    if last != now:
        connection.execute(
            "INSERT OR REPLACE INTO verdict_change VALUES (?, ?, ?, ?, ?)", (verdict.coating.id, at, *now)
        )


def current_record(
    connection: sqlite3.Connection, coating: str, now: int, boot: tuple[str, int], allowed_age: int
) -> dict[str, Any] | None:
    """The kept verdict while it may still be believed; None when it is too old, of another boot, or not there.

    now [ms UTC]; boot: this boot's id and the milliseconds since it; allowed_age [ms] by the boot's clock, which no
    step of the wall clock moves.
    """
    row = connection.execute(
        "SELECT boot_id, computed_boottime, valid_until, record FROM verdict WHERE coating = ?", (coating,)
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
    row = connection.execute(
        "SELECT at, computed_boottime FROM verdict WHERE boot_id = ? ORDER BY computed_boottime DESC LIMIT 1",
        (boot_id,),
    ).fetchone()
    return None if row is None else (row[0] - row[1]) / 1000.0


def judged_before(connection: sqlite3.Connection) -> bool:
    """Whether any verdict was ever kept."""
    return connection.execute("SELECT 1 FROM verdict LIMIT 1").fetchone() is not None


def load_announced(connection: sqlite3.Connection, coating: str) -> Announced | None:
    """What was last announced of a coating."""
    row = connection.execute(
        "SELECT state, cannot_tell, reason, since, better_since, better_state, told_state, told_cannot_tell"
        " FROM announced WHERE coating = ?",
        (coating,),
    ).fetchone()
    if row is None:
        return None
    state, cannot_tell, reason, since, better_since, better_state, told_state, told_cannot_tell = row
    return Announced(
        coating,
        State(state),
        bool(cannot_tell),
        reason,
        since,
        better_since,
        State(better_state),
        told_state,
        bool(told_cannot_tell),
    )


def save_announced(connection: sqlite3.Connection, announced: Announced) -> None:
    """Keep what is announced, inside the caller's transaction."""
    connection.execute(
        "INSERT OR REPLACE INTO announced VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)",
        (
            announced.coating,
            announced.state.value,
            int(announced.cannot_tell),
            announced.reason,
            announced.since,
            announced.better_since,
            announced.better_state.value,
            announced.told_state,
            int(announced.told_cannot_tell),
        ),
    )


def kept_value(connection: sqlite3.Connection, key: str) -> str | None:
    """Something small the daemon remembers about itself."""
    row = connection.execute("SELECT value FROM memory WHERE key = ?", (key,)).fetchone()
    return None if row is None else str(row[0])


def keep_value(connection: sqlite3.Connection, key: str, value: str) -> None:
    """Remember it, inside the caller's transaction."""
    connection.execute("INSERT OR REPLACE INTO memory VALUES (?, ?)", (key, value))


def keep_event(connection: sqlite3.Connection, at: int, kind: str, detail: str) -> None:
    """Keep something that happened to the daemon itself, inside the caller's transaction."""
    connection.execute("INSERT INTO event (at, kind, detail) VALUES (?, ?, ?)", (at, kind, detail[:200]))
