"""Notices and their outbox: one row for each notice and destination, kept until it is sent, expired or given up."""

import sqlite3
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from advisor.logbook.rows import Columns, first, insert
from advisor.notices.announced import Notice

PENDING, SENT, EXPIRED, DEAD = "pending", "sent", "expired", "dead"
FIRST_RETRY = 30_000  # [ms]
LONGEST_RETRY = 3_600_000  # [ms]
GIVE_UP_AFTER = 48 * 3_600_000  # [ms]


_NOTICE = Columns(Notice)
# what was told before places were kept, or of a shop that names none, was told of this one
_HERE = "place IN (?, '')"


@dataclass(frozen=True)
class Waiting:
    """A notice that waits for a destination, by its name."""

    notice_id: int
    destination: str
    tries: int
    notice: Notice


def put(connection: sqlite3.Connection, notice: Notice, destinations: Iterable[str], first_try_at: int) -> int:
    """Put a notice into the outbox, inside the transaction of the change it tells of; gives its id.

    destinations: their names; an address, with its token, never stands in the logbook.
    """
    notice_id = insert(connection, "notice", vars(notice))
    connection.executemany(
        "INSERT INTO outbox VALUES (?, ?, 'pending', 0, ?, '')",
        [(notice_id, destination, first_try_at) for destination in destinations],
    )
    return notice_id


def supersede(connection: sqlite3.Connection, coating: str, place: str = "", spare_urgent: bool = False) -> None:
    """Close what still waits about a coating at a place: something newer is about to be told; inside the transaction.

    spare_urgent: what quiet hours do not hold back still goes out.
    """
    connection.execute(
        "UPDATE outbox SET status = 'expired', last_error = 'superseded' WHERE status = 'pending'"
        f" AND notice_id IN (SELECT id FROM notice WHERE coating = ? AND {_HERE} AND urgent <= ?)",
        (coating, place, int(not spare_urgent)),
    )


def take_back(connection: sqlite3.Connection, notices: Sequence[int]) -> None:
    """Close what still waits of these notices: what they tell is so no more; inside the caller's transaction."""
    connection.executemany(
        "UPDATE outbox SET status = 'expired', last_error = 'taken back' WHERE status = 'pending' AND notice_id = ?",
        [(notice,) for notice in notices],
    )


def last_sent_state(connection: sqlite3.Connection, coating: str, place: str = "") -> str | None:
    """The state that some destination last really got told of a coating at a place."""
    return first(
        connection,
        str,
        "SELECT n.state FROM notice n JOIN outbox o ON o.notice_id = n.id"
        f" WHERE n.coating = ? AND n.{_HERE} AND o.status = 'sent' ORDER BY n.id DESC LIMIT 1",
        coating,
        place,
    )


def last_told_at(connection: sqlite3.Connection, coating: str, state: str, reason: str, place: str = "") -> int | None:
    """When this was last told of a coating at a place [ms UTC]."""
    said = f"SELECT MAX(at) FROM notice WHERE coating = ? AND {_HERE} AND state = ? AND reason = ?"
    return first(connection, int, said, coating, place, state, reason)


def waiting(connection: sqlite3.Connection, now: int, urgent_only: bool = False, most: int = 50) -> list[Waiting]:
    """Rows whose turn it is, urgent ones first; a turn too far ahead was set by a clock that was wrong."""
    rows = connection.execute(
        f"SELECT o.notice_id, o.destination, o.tries, {_NOTICE} FROM outbox o JOIN notice n ON n.id = o.notice_id"
        " WHERE o.status = 'pending' AND (o.next_try_at <= ? OR o.next_try_at > ?) AND n.urgent >= ?"
        " ORDER BY n.urgent DESC, o.notice_id LIMIT ?",
        (now, now + 2 * LONGEST_RETRY, int(urgent_only), most),
    )
    return [Waiting(number, destination, tries, _NOTICE.record(row)) for number, destination, tries, *row in rows]


def still_pending(connection: sqlite3.Connection, row: Waiting) -> bool:
    """Whether a row still waits to be sent."""
    which = "SELECT status FROM outbox WHERE notice_id = ? AND destination = ?"
    return first(connection, str, which, row.notice_id, row.destination) == PENDING


def mark(connection: sqlite3.Connection, row: Waiting, status: str, error: str = "") -> None:
    """Close a row: sent, expired or dead; inside the caller's transaction."""
    connection.execute(
        "UPDATE outbox SET status = ?, tries = tries + 1, last_error = ? WHERE notice_id = ? AND destination = ?",
        (status, error[:200], row.notice_id, row.destination),
    )


def try_later(connection: sqlite3.Connection, row: Waiting, now: int, jitter: float, error: str) -> None:
    """Put a row off: 30 s, doubled for each try up to an hour, with jitter (0-1); given up after two days."""
    if now - row.notice.at >= GIVE_UP_AFTER:
        mark(connection, row, DEAD, error)
        return
    wait = min(FIRST_RETRY * 2**row.tries, LONGEST_RETRY)
    connection.execute(
        "UPDATE outbox SET tries = tries + 1, next_try_at = ?, last_error = ? WHERE notice_id = ? AND destination = ?",
        (now + round(wait * (1.0 + 0.2 * jitter)), error[:200], row.notice_id, row.destination),
    )


def counts(connection: sqlite3.Connection) -> dict[str, int]:
    """Outbox rows by status."""
    return dict(connection.execute("SELECT status, COUNT(*) FROM outbox GROUP BY status"))
