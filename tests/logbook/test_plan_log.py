"""Plans in a real logbook file: migrated with a backup, kept, dropped, acknowledged, over; what was told of each."""

import sqlite3
from datetime import UTC, datetime, timedelta

import pytest

from advisor.judge.verdict import State
from advisor.logbook import store
from advisor.logbook.plan_log import (
    DONE,
    DROPPED,
    SEEN,
    keep_plan,
    keep_told,
    open_plan,
    open_plans,
    stamp_plan,
    told_of,
)
from advisor.logbook.store import open_for_reading, open_for_writing, transaction
from advisor.logbook.verdict_log import load_announced, save_announced
from advisor.notices.plan_notice import Told
from tests.support import NOON

HOUR = timedelta(hours=1)


@pytest.fixture
def connection(tmp_path):
    return open_for_writing(tmp_path / "log.db", NOON)


def keep(connection, at=NOON + 3 * HOUR, coating="shellac"):
    with transaction(connection):
        return keep_plan(connection, NOON, at, coating, 3, 300.0, "lids")


def test_a_plan_comes_back_as_it_was_kept_also_through_another_connection(connection, tmp_path):
    planned = keep(connection)
    assert open_plans(open_for_reading(tmp_path / "log.db"), NOON) == [planned]
    assert (planned.coats, planned.spray, planned.note, planned.seen_at) == (3, 300.0, "lids", None)


def test_plans_come_by_their_start_and_only_up_to_a_moment(connection):
    late, early = keep(connection, NOON + 9 * HOUR), keep(connection, NOON + HOUR)
    assert open_plans(connection, NOON) == [early, late]
    assert open_plans(connection, NOON, early.at) == [early]
    assert open_plans(connection, NOON, early.at - timedelta(milliseconds=1)) == []


@pytest.mark.parametrize("what", [DROPPED, DONE])
def test_what_is_dropped_or_over_is_not_open_and_leaves_nothing_announced(connection, what, announced_of):
    planned = keep(connection)
    with transaction(connection):
        save_announced(connection, announced_of(planned))
        stamp_plan(connection, planned, what, NOON + HOUR)
    assert open_plan(connection, planned.id, NOON + HOUR) is None
    assert load_announced(connection, ("", planned.subject)) is None
    assert connection.execute("SELECT COUNT(*) FROM plan").fetchone()[0] == 1, "the row itself stays"


@pytest.fixture
def announced_of():
    from advisor.notices.announced import starting  # noqa: PLC0415 - only here

    return lambda planned: starting(planned.subject, 0)


def test_over_in_what_is_now_the_future_is_not_over(connection):
    """The clock was set to next year for a moment: the plan of this afternoon is still meant."""
    planned = keep(connection)
    with transaction(connection):
        stamp_plan(connection, planned, DONE, NOON + timedelta(days=365))
    assert open_plan(connection, planned.id, NOON) == planned


def test_acknowledging_is_remembered(connection):
    planned = keep(connection)
    with transaction(connection):
        stamp_plan(connection, planned, SEEN, NOON + HOUR)
    found = open_plan(connection, planned.id, NOON)
    assert found is not None
    assert found.seen_at == NOON + HOUR


def test_what_was_told_comes_back_in_the_order_it_was_said(connection):
    planned = keep(connection)
    words = (
        Told("added", NOON, State.WAIT, True, "missing"),
        Told("worse", NOON - HOUR, State.WAIT, False, "relative_humidity"),  # the clock was set back in between
    )
    with transaction(connection):
        for word in words:
            keep_told(connection, planned, word)
    assert told_of(connection, planned) == words
    assert told_of(connection, keep(connection)) == ()


def test_a_word_about_no_plan_is_refused(connection):
    planned = keep(connection)
    connection.execute("PRAGMA foreign_keys = ON")
    connection.execute("DELETE FROM plan")
    with pytest.raises(sqlite3.IntegrityError), transaction(connection):
        keep_told(connection, planned, Told("first", NOON, State.GO, False, ""))


def test_a_logbook_of_before_plans_is_backed_up_and_brought_up_to_date(tmp_path, monkeypatch):
    path = tmp_path / "log.db"
    steps = store.migrations()
    monkeypatch.setattr(store, "migrations", lambda: steps[:2])
    older = open_for_writing(path, NOON)
    with transaction(older):
        older.execute("INSERT INTO event (at, kind, detail) VALUES (1, 'a', 'b')")
    older.close()
    monkeypatch.undo()
    newer = open_for_writing(path, datetime(2026, 1, 1, tzinfo=UTC))
    planned = keep(newer)
    assert open_plans(newer, NOON) == [planned]
    assert newer.execute("SELECT detail FROM event").fetchone()[0] == "b"
    backup = sqlite3.connect(tmp_path / "log.db.20260101T000000Z.v2.bak")
    assert backup.execute("PRAGMA integrity_check").fetchone()[0] == "ok"
    assert backup.execute("SELECT COUNT(*) FROM sqlite_master WHERE name = 'plan'").fetchone()[0] == 0
