"""Jobs in a real logbook: kept whole, changed with their history, taken back in order, never deleted."""

import sqlite3
from dataclasses import fields
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.errors import LogbookError
from advisor.jobs.job import Spraying
from advisor.logbook import store
from advisor.logbook.job_log import COAT, JOB, JobLog
from advisor.logbook.store import open_for_reading, open_for_writing, transaction
from tests.support import NOON, examples

MINUTE = timedelta(minutes=1)
FULL = Spraying(
    coating="nitrocellulose-lacquer", started_at=NOON, ended_at=NOON + 5 * MINUTE, step="clear", thinner="medium",
    thinning=0.4, retarder=0.05, hardener=5e-5, mixed_at=NOON - 60 * MINUTE, cup="din-4", cup_seconds=22.0,
    material=19.0, surface=20.5, needle=1.2e-3, gun_pressure=172_369.0, wet_film=1e-4, sanded=320, panel=True,
    place="booth", note="left to right",
)  # fmt: skip
BARE = Spraying(coating="shellac", started_at=NOON, ended_at=NOON)


@pytest.fixture
def log(tmp_path):
    connection = open_for_writing(tmp_path / "log.db", NOON)
    with transaction(connection):
        yield JobLog(connection)
    connection.close()


@pytest.fixture
def lid(log):
    return log.make_job("lid", "shellac", "for Tuesday", NOON)


def test_a_job_comes_back_as_it_was_made(log, lid):
    job = log.job(lid)
    assert (job.id, job.piece, job.schedule, job.note) == (1, "lid", "shellac", "for Tuesday")
    assert (job.made_at, job.finished_at, job.coats) == (NOON, None, ())
    assert log.jobs(open_only=True) == log.jobs() == [job]
    assert log.job(99) is None


@pytest.mark.parametrize("coat", [FULL, BARE], ids=["full", "bare"])
def test_every_field_of_a_coat_comes_back(log, lid, coat):
    """What nobody said stays unsaid."""
    kept = log.keep_coat(lid, coat, NOON)
    found = log.job(lid).coats[0]
    assert (found.id, found.job, found.number) == (kept, lid, 1)
    for field in fields(Spraying):
        assert getattr(found, field.name) == getattr(coat, field.name), field.name


def test_coats_are_numbered_within_their_job_and_stand_by_their_start(log, lid):
    other = log.make_job("box", None, "", NOON)
    for job, minute in ((lid, 30), (other, 0), (lid, 0)):
        at = NOON + minute * MINUTE
        log.keep_coat(job, Spraying(coating="shellac", started_at=at, ended_at=at), NOON)
    assert [coat.number for coat in log.job(lid).coats] == [2, 1]
    assert [coat.number for coat in log.job(other).coats] == [1]


def test_observations_and_rework_come_back(log, lid):
    coat = log.keep_coat(lid, BARE, NOON)
    log.keep_observation(lid, NOON, NOON, coat=coat, defect="nibs", severity=2, spot="left leg", photo="/p", text="few")
    log.keep_observation(lid, NOON + MINUTE, NOON, good=True)
    log.keep_rework(lid, NOON, "sanded back", NOON)
    job = log.job(lid)
    seen, good = job.observations
    assert (seen.coat, seen.defect, seen.good, seen.severity) == (coat, "nibs", False, 2)
    assert (seen.spot, seen.photo, seen.text) == ("left leg", "/p", "few")
    assert (good.coat, good.defect, good.good, good.severity, good.photo) == (None, None, True, None, None)
    assert [(rework.what, rework.at) for rework in job.reworks] == [("sanded back", NOON)]


def test_a_change_keeps_what_stood_there_before(log, lid):
    coat = log.keep_coat(lid, FULL, NOON)
    lines = log.change(COAT, coat, {"needle": 1.4e-3, "thinning": None, "panel": True, "note": "again"}, NOON + MINUTE)
    assert {(line.field, line.before, line.after) for line in lines} == {
        ("needle", 1.2e-3, 1.4e-3), ("thinning", 0.4, None), ("note", "left to right", "again"),
    }  # fmt: skip
    assert len({line.entry for line in lines}) == 1
    found = log.job(lid).coats[0]
    assert (found.needle, found.thinning, found.note, found.retarder) == (1.4e-3, None, "again", 0.05)
    assert log.change(COAT, coat, {"needle": 1.4e-3}, NOON) == []


def test_times_in_a_history_are_moments(log, lid):
    lines = log.change(JOB, lid, {"finished_at": NOON + MINUTE}, NOON)
    assert [(line.before, line.after) for line in lines] == [(None, NOON + MINUTE)]
    assert log.jobs(open_only=True) == []


def test_undo_walks_back_entry_by_entry(log, lid):
    """A correction first, then the coat it was of, then the job; then there is nothing left."""
    coat = log.keep_coat(lid, FULL, NOON)
    log.change(COAT, coat, {"needle": 1.4e-3, "mixed_at": None}, NOON)
    assert {line.field for line in log.undo(NOON)} == {"needle", "mixed_at"}
    back = log.job(lid).coats[0]
    assert (back.needle, back.mixed_at) == (FULL.needle, FULL.mixed_at)
    assert [line.of for line in log.undo(NOON)] == [COAT]
    assert log.job(lid).coats == ()
    assert [line.of for line in log.undo(NOON)] == [JOB]
    assert log.jobs() == []
    assert log.undo(NOON) == []


def test_an_undone_coat_gives_its_number_back_and_stays_in_the_history(log, lid):
    log.keep_coat(lid, BARE, NOON)
    log.undo(NOON + MINUTE)
    log.keep_coat(lid, FULL, NOON + 2 * MINUTE)
    assert [(coat.number, coat.coating) for coat in log.job(lid).coats] == [(1, FULL.coating)]
    kinds = [(line.kind, line.of, line.undoes) for line in log.history(lid)]
    assert kinds == [("made", JOB, None), ("made", COAT, None), ("undone", COAT, 2), ("made", COAT, None)]
    assert log.row_of(COAT, 1)["coating"] == "shellac"
    assert [line.of for line in log.undo(NOON)] == [COAT]


def test_an_undo_spans_jobs(log, lid):
    other = log.make_job("box", None, "", NOON)
    log.keep_coat(lid, BARE, NOON)
    assert log.undo(NOON)[0].job == lid
    assert log.undo(NOON)[0].job == other


def test_the_coat_before_is_of_any_job_and_not_one_taken_back(log, lid):
    other = log.make_job("box", None, "", NOON)
    first = log.keep_coat(other, Spraying(coating="oil-varnish", started_at=NOON - MINUTE, ended_at=NOON), NOON)
    second = log.keep_coat(lid, BARE, NOON)
    assert log.coat_before(first) is None
    assert log.coat_before(second).coating == "oil-varnish"
    log.undo(NOON)
    log.undo(NOON)
    assert log.coat_before(second) is None


@pytest.mark.parametrize("table", ["job", "coat", "observation", "rework", "job_history"])
def test_nothing_is_deleted(log, lid, table):
    log.keep_coat(lid, BARE, NOON)
    log.keep_observation(lid, NOON, NOON, defect="runs")
    log.keep_rework(lid, NOON, "x", NOON)
    with pytest.raises(sqlite3.IntegrityError, match="not deleted"):
        log.connection.execute(f"DELETE FROM {table}")


def test_history_is_not_rewritten(log, lid):
    with pytest.raises(sqlite3.IntegrityError, match="not changed"):
        log.connection.execute("UPDATE job_history SET at = 0 WHERE job = ?", (lid,))


@pytest.mark.parametrize(
    "wrong",
    ["UPDATE coat SET ended_at = started_at - 1", "UPDATE coat SET panel = 2", "UPDATE coat SET needle = 'wide'",
     "UPDATE coat SET job = 99", "UPDATE observation SET severity = 4", "UPDATE observation SET severity = 0",
     "UPDATE observation SET good = 2"],
)  # fmt: skip
def test_the_tables_refuse_what_cannot_be(log, lid, wrong):
    log.keep_coat(lid, BARE, NOON)
    log.keep_observation(lid, NOON, NOON, defect="runs", severity=1)
    with pytest.raises(sqlite3.IntegrityError):
        log.connection.execute(wrong)


def test_a_logbook_of_version_2_is_backed_up_and_brought_up_to_date(tmp_path, monkeypatch):
    path, whole = tmp_path / "log.db", store.migrations()
    monkeypatch.setattr(store, "migrations", lambda: [step for step in whole if step[0] <= 2])
    old = open_for_writing(path, NOON)
    with transaction(old):
        old.execute("INSERT INTO event (at, kind, detail) VALUES (1, 'a', 'b')")
    old.close()
    monkeypatch.undo()
    with pytest.raises(LogbookError, match="version 2"):
        open_for_reading(path)
    log = JobLog(open_for_writing(path, datetime(2026, 1, 1, tzinfo=UTC)))
    with transaction(log.connection):
        log.make_job("lid", None, "", NOON)
    assert [job.piece for job in JobLog(open_for_reading(path)).jobs()] == ["lid"]
    assert log.connection.execute("SELECT detail FROM event").fetchone()[0] == "b"
    backup = sqlite3.connect(tmp_path / "log.db.20260101T000000Z.v2.bak")
    assert backup.execute("PRAGMA user_version").fetchone()[0] == 2
    assert backup.execute("SELECT detail FROM event").fetchone()[0] == "b"


ACTIONS = st.lists(st.sampled_from(["coat", "seen", "rework", "edit", "undo"]), max_size=12)


@given(ACTIONS)
@settings(max_examples=examples(40))
def test_as_many_undos_as_entries_leave_the_job_as_it_began(actions):
    """Whatever was done in between, undos included."""
    connection = sqlite3.connect(":memory:", isolation_level=None)
    for _, sql in store.migrations():
        connection.executescript(sql)
    log = JobLog(connection)
    lid = log.make_job("lid", None, "", NOON)
    first = log.keep_coat(lid, FULL, NOON)
    began, standing = log.job(lid), 0
    for number, action in enumerate(actions):
        if action == "coat":
            log.keep_coat(lid, BARE, NOON)
        elif action == "seen":
            log.keep_observation(lid, NOON, NOON, defect="runs")
        elif action == "rework":
            log.keep_rework(lid, NOON, "sanded back", NOON)
        elif action == "edit":
            log.change(COAT, first, {"note": f"{number}", "needle": None if number % 2 else 1e-3 * (number + 2)}, NOON)
        elif standing:
            assert log.undo(NOON)
        standing = max(0, standing - 1) if action == "undo" else standing + 1
    for _ in range(standing):
        assert log.undo(NOON)
    assert log.job(lid) == began
    connection.close()
