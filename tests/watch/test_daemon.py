"""The judge with its memory: restarts, faults, clocks that are set, and the service around it."""

import sqlite3
from contextlib import closing
from datetime import timedelta

import pytest

from advisor.judge.verdict import State
from advisor.logbook import outbox
from advisor.readings.payload import Message, PayloadReader
from advisor.shop.shop import TopicMap
from advisor.times import milliseconds
from advisor.watch.daemon import INTERVAL
from advisor.watch.writer import Incoming
from tests.watch.drills.bench import COATING, Bench


@pytest.fixture
def bench(tmp_path):
    return Bench(tmp_path)


def test_a_go_is_announced_once_it_has_held(bench):
    assert bench.minute(count=15) is State.WAIT
    assert bench.minute(count=1) is State.GO
    assert bench.told() == ["go"]


def test_a_restart_fills_the_dwell_from_the_logbook_and_tells_nothing_twice(bench):
    bench.minute(count=20)
    bench.restart()
    assert bench.minute() is State.GO
    assert bench.told() == ["go"]


def test_a_restart_in_the_middle_of_the_dwell_does_not_begin_anew(bench):
    bench.minute(humidity=0.55, count=17)
    assert bench.minute(humidity=0.62) is State.CHANGE
    bench.minute(humidity=0.54, count=10)
    bench.restart()
    assert bench.minute(humidity=0.54, count=4) is State.CHANGE
    assert bench.minute(humidity=0.54, count=3) is State.GO


def test_a_long_silence_withdraws_the_go_and_says_so(bench):
    bench.minute(count=20)
    assert bench.minute(None, None, count=14) is State.GO, "the last reading still counts"
    assert bench.minute(None, None, count=3) is State.WAIT
    assert bench.told() == ["go", "wait"]
    assert bench.connection.execute("SELECT reason, urgent FROM notice ORDER BY id DESC").fetchone() == ("stale", 1)


def test_a_night_asleep_is_no_old_go(bench):
    bench.minute(count=20)
    bench.clock.advance(timedelta(hours=9))
    judged = bench.daemon.tick(bench.clock.now())
    assert judged.verdicts[0].cannot_tell
    assert judged.announced[0].state is State.WAIT


@pytest.mark.parametrize("step", [timedelta(hours=-1), timedelta(minutes=-10), timedelta(hours=1), timedelta(days=365)])
def test_after_the_clock_was_set_each_sensor_must_speak_again(bench, step):
    bench.minute(count=20)
    bench.clock.wall += step
    bench.watch.look(bench.clock.now())
    judged = bench.daemon.tick(bench.clock.now())
    assert judged.verdicts[0].cannot_tell
    bench.minute(humidity=None)
    assert bench.daemon.last.verdicts[0].cannot_tell, "the humidity sensor has not spoken since"
    bench.minute()
    assert bench.daemon.last.verdicts[0].state is State.GO


def test_what_is_stamped_after_a_clock_set_back_is_never_looked_at_again(bench):
    """Dry air was read, the clock goes back ten minutes, damp air comes: the dry readings never come up again."""
    bench.minute(count=15)
    bench.clock.wall += timedelta(minutes=-10, seconds=-20)
    for _ in range(8):
        bench.minute(humidity=0.80)
        assert bench.daemon.last.verdicts[0].state is State.WAIT
    marks = bench.connection.execute("SELECT COUNT(*) FROM reading WHERE reason = 'future'").fetchone()[0]
    assert marks >= 18


def test_a_logbook_that_cannot_be_written_is_a_wait_and_recovers(bench, tmp_path):
    bench.minute(count=20)
    other = sqlite3.connect(tmp_path / "log.db", isolation_level=None)
    bench.connection.execute("PRAGMA busy_timeout = 0")
    other.execute("BEGIN IMMEDIATE")
    bench.clock.advance(INTERVAL)
    judged = bench.daemon.tick(bench.clock.now())
    assert not judged.stored
    assert judged.verdicts[0].state is State.WAIT
    assert judged.verdicts[0].findings[0].reason == "no-store"
    assert judged.record["verdicts"][0]["state"] == "wait"
    assert judged.record["announced"] == {COATING: "wait"}
    other.execute("ROLLBACK")
    bench.minute()
    assert bench.daemon.last.verdicts[0].state is State.GO


def test_the_change_and_its_notice_are_kept_together_or_not_at_all(bench, monkeypatch):
    bench.minute(count=15)
    monkeypatch.setattr(outbox, "put", lambda *_: (_ for _ in ()).throw(sqlite3.OperationalError("disk is full")))
    bench.minute()
    assert bench.told() == []
    kept = bench.connection.execute("SELECT state, told_state FROM announced").fetchone()
    assert kept == ("wait", "")
    monkeypatch.undo()
    bench.minute()
    assert bench.told() == ["go"]


def test_only_changes_of_the_verdict_are_kept_as_history(bench):
    bench.minute(count=30)
    bench.minute(humidity=0.7, count=30)
    changes = bench.connection.execute("SELECT state FROM verdict_change ORDER BY at").fetchall()
    assert [state for (state,) in changes] == ["go", "change"] or len(changes) <= 4
    assert bench.connection.execute("SELECT COUNT(*) FROM verdict").fetchone()[0] == 1


@pytest.mark.parametrize("behind", [timedelta(0), timedelta(hours=-1)])
def test_after_another_boot_each_sensor_must_speak_again(bench, behind):
    """A machine without a battery clock starts in the past, where its last readings look young."""
    bench.minute(count=20)
    bench.clock.wall += behind
    bench.clock.boot_id, bench.clock.boottime = "another", 10.0
    bench.restart()
    bench.watch.remember(bench.connection, bench.clock.now())
    assert bench.daemon.tick(bench.clock.now()).verdicts[0].cannot_tell
    bench.minute()
    assert bench.daemon.last.verdicts[0].state is State.GO


def test_a_wait_that_never_went_out_leaves_what_follows_it_urgent(bench):
    """GO was heard; the WAIT stayed in the outbox; the CHANGE after it is still worse than what the person believes."""
    bench.minute(count=20)
    bench.connection.execute("UPDATE outbox SET status = 'sent'")
    bench.minute(humidity=0.57)
    bench.minute(humidity=0.66)
    bench.minute(humidity=0.76)
    assert bench.told() == ["go", "change", "wait"]
    bench.minute(humidity=0.76, count=125)  # the CHANGE is not told again within two hours
    bench.minute(humidity=0.68, count=20)
    rows = bench.connection.execute("SELECT state, urgent, expires_at - at FROM notice ORDER BY id").fetchall()
    assert rows[-1][:2] == ("change", 1)
    assert rows[-1][2] == 24 * 3_600_000
    assert bench.connection.execute("SELECT COUNT(*) FROM outbox WHERE status = 'pending'").fetchone()[0] == 1


def test_a_job_nobody_waits_for_any_more_is_not_done_later(bench):
    with pytest.raises(TimeoutError):
        bench.writer.do(lambda connection: outbox.put(connection, None, (), 0), timeout=0.05)
    bench.writer.step(0.0)
    assert bench.told() == []


def test_a_failed_write_does_not_lose_the_marks_of_its_readings(bench, tmp_path):
    """A spike is still a spike when the disk was full for a moment."""
    bench.writer.reader = PayloadReader((TopicMap("a", "shop", "t", column="air_temperature_c"),), 900.0, 120.0)
    other = sqlite3.connect(tmp_path / "log.db", isolation_level=None)
    bench.connection.execute("PRAGMA busy_timeout = 0")
    at = milliseconds(bench.clock.now().wall)
    other.execute("BEGIN IMMEDIATE")
    for number, value in enumerate((b"21.0", b"50.0", b"21.0")):
        bench.writer.offer(Incoming(Message("t", value, at + number * 1000)))
    bench.writer.step(0.0)
    other.execute("ROLLBACK")
    bench.writer.step(0.0)
    assert [reason for (reason,) in bench.connection.execute("SELECT reason FROM reading ORDER BY at")] == [
        "",
        "step",
        "",
    ]


def test_a_message_that_breaks_the_reader_is_kept_as_a_reject_and_the_next_one_is_read(bench, monkeypatch):
    """A fault of our own in parsing must neither end the writer nor stall the window of unacknowledged messages."""
    done: list[str] = []
    topic = TopicMap("a", "shop", "t", column="air_temperature_c")
    bench.writer.reader = PayloadReader((topic,), 900.0, 120.0)
    plain = bench.writer.reader.read

    def read(message):
        if message.payload == b"poison":
            raise RuntimeError("boom")
        return plain(message)

    monkeypatch.setattr(bench.writer.reader, "read", read)
    at = milliseconds(bench.clock.now().wall)
    for payload in (b"21.0", b"poison", b"22.0"):
        message = Message("t", payload, at + len(done) + payload[1])
        bench.writer.offer(Incoming(message, lambda payload=payload: done.append(payload.decode())))
    bench.writer.step(0.0)
    assert done == ["21.0", "poison", "22.0"]
    assert bench.connection.execute("SELECT reason FROM reject").fetchall() == [("fault: RuntimeError",)]
    assert bench.connection.execute("SELECT COUNT(*) FROM reading").fetchone()[0] == 2


def test_a_batch_that_cannot_be_stored_is_kept_and_acknowledged_only_once_it_is(bench, tmp_path):
    done: list[int] = []
    bench.writer.reader = PayloadReader((TopicMap("a", "shop", "t", column="air_temperature_c"),), 900.0, 120.0)
    other = sqlite3.connect(tmp_path / "log.db", isolation_level=None)
    bench.connection.execute("PRAGMA busy_timeout = 0")
    other.execute("BEGIN IMMEDIATE")
    at = milliseconds(bench.clock.now().wall)
    for number in range(5):
        bench.writer.offer(Incoming(Message("t", b"21.0", at + number), lambda number=number: done.append(number)))
    assert bench.writer.step(0.0) == 0
    assert (done, bench.writer.storable) == ([], False)
    other.execute("ROLLBACK")
    assert bench.writer.step(0.0) == 5
    assert done == [0, 1, 2, 3, 4]
    assert bench.writer.storable


def test_the_first_minute_over_a_locked_logbook_is_a_wait_that_says_so(bench):
    """What was announced before is read beside whoever writes, so that a start in a bad moment is no fault."""
    bench.minute(count=20)
    bench.restart()
    bench.connection.execute("PRAGMA busy_timeout = 0")
    path = bench.connection.execute("PRAGMA database_list").fetchone()[2]
    with closing(sqlite3.connect(path, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        bench.clock.advance(INTERVAL)
        judged = bench.daemon.tick(bench.clock.now())
        other.execute("ROLLBACK")
    assert not judged.stored
    assert judged.verdicts[0].state is State.WAIT
    assert bench.minute() is State.GO, "and the next minute knows what was told before"
    assert bench.told() == ["go"]
