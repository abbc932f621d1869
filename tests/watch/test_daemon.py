"""The judge with its memory: restarts, faults, clocks that are set, and the service around it."""

import json
import os
import re
import signal
import sqlite3
import subprocess
import sys
import threading
import time
from contextlib import closing
from dataclasses import replace
from datetime import timedelta
from functools import partial

import pytest

from advisor.catalog.coatings import coating_ids
from advisor.errors import LogbookError
from advisor.judge.verdict import State
from advisor.logbook import outbox
from advisor.logbook.air_log import AirLog
from advisor.logbook.calibration_log import keep_calibration
from advisor.logbook.store import open_for_writing, transaction
from advisor.readings.payload import Message, PayloadReader
from advisor.readings.quality import QualityControl
from advisor.readings.reading import Calibration, Calibrator, Point, Reading, Series
from advisor.say.record import verdict_record
from advisor.shop.shop import Notices, Shop, TopicMap
from advisor.times import milliseconds
from advisor.watch.clock import SimulatedClock
from advisor.watch.clock_watch import ClockWatch
from advisor.watch.daemon import INTERVAL, Daemon
from advisor.watch.service import Service, Settings, run_service
from advisor.watch.writer import Incoming, Writer
from tests.support import NOON, ROOT, program, typed, verdict_for

COATING = "nitrocellulose-lacquer"
SHOP = Shop(coatings=(COATING,))


class Bench:
    """A daemon on a simulated clock, spoken to by hand; `restart` keeps the logbook and forgets the rest."""

    def __init__(self, folder) -> None:
        self.clock = SimulatedClock(NOON)
        self.connection = open_for_writing(folder / "log.db", NOON)
        self.connection.execute("PRAGMA synchronous = OFF")
        self.restart()

    def restart(self) -> None:
        """As after a kill."""
        reader = PayloadReader((), 900.0, 120.0)
        self.writer = Writer(self.connection, reader, QualityControl(SHOP.accuracy), Calibrator(), self.clock)
        self.writer.warm_up()
        air_log = AirLog(self.connection)
        self.daemon = Daemon(SHOP, (COATING,), air_log, self.writer.do_now, ("screen",))
        self.watch = ClockWatch(
            self.daemon, lambda since: self.writer.do_now(partial(self.writer.disown_the_future, since=since))
        )
        self.watch.look(self.clock.now())

    def minute(self, air: float | None = 21.0, humidity: float | None = 0.48, count: int = 1) -> State:
        """So many minutes in which the sensors say this; the announced state after them."""
        state = State.WAIT
        for _ in range(count):
            self.clock.advance(INTERVAL)
            at = milliseconds(self.clock.now().wall)
            entries = [
                Reading(Series("a", "shop", quantity), value, at, "")
                for quantity, value in (("air_temperature", air), ("relative_humidity", humidity))
                if value is not None
            ]
            self.writer.write(entries)
            self.watch.look(self.clock.now())
            state = self.daemon.tick(self.clock.now()).announced[0].state
        return state

    def told(self) -> list[str]:
        """The states told so far."""
        return [row[0] for row in self.connection.execute("SELECT state FROM notice ORDER BY id")]


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


def service(folder, **more) -> Service:
    of = Shop(coatings=(COATING,), logbook=folder / "log.db", **more)
    return Service(of, settings=Settings(interval=timedelta(seconds=1), supervise=0.1))


def test_the_running_service_comes_back_after_its_clock_was_set(tmp_path):
    """Wired as it runs: the sensors that speak again after a step are believed again."""
    topics = tuple(TopicMap("a", "shop", topic, column=column) for topic, column in
                   (("t", "air_temperature_c"), ("h", "relative_humidity_pct")))  # fmt: skip
    clock = SimulatedClock(NOON)
    running = Service(
        Shop(coatings=(COATING,), logbook=tmp_path / "log.db", topics=topics), clock, Settings(supervise=0.1)
    )
    running.daemon.write = running.writer.do_now
    running.clock_watch.disown = lambda since: running.writer.do_now(
        partial(running.writer.disown_the_future, since=since)
    )

    def minute() -> str:
        clock.advance(INTERVAL)
        for topic, value in (("t", b"21.0"), ("h", b"48.0")):
            running.writer.offer(Incoming(Message(topic, value, milliseconds(clock.now().wall))))
        running.writer.step(0.0)
        running.clock_watch.look(clock.now())
        return running.daemon.tick(clock.now()).verdicts[0].state.value

    assert [minute() for _ in range(3)][-1] == "go"
    clock.wall += timedelta(seconds=6)
    running.clock_watch.look(clock.now())
    assert running.daemon.tick(clock.now()).verdicts[0].cannot_tell
    assert minute() == "go"
    running.lock.let_go()


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


def test_an_unwritable_logbook_is_told_past_it_once(tmp_path, monkeypatch):
    running = service(tmp_path, notices=Notices({"a": "json://127.0.0.1:1/x"}))
    said: list[str] = []
    monkeypatch.setattr(running.sender, "send", lambda row, text: said.append(text) or "")
    for why in ("", "no-store", "no-store", "no-store", "no-store", "", "no-store"):
        running._tell_blindness(why)
    time.sleep(0.2)
    assert len(said) == 1
    assert "cannot be written" in said[0]
    running.lock.let_go()


def test_a_rule_that_fails_is_a_wait_with_its_name_in_the_log(tmp_path, monkeypatch):
    running = service(tmp_path)

    def broken(conditions, coating, shop):
        raise ZeroDivisionError("boom")

    published = []
    monkeypatch.setattr(running.voice, "_send", published.append)
    monkeypatch.setattr(running.daemon, "tick", lambda now: broken(None, None, None))
    running.tick()
    record = published[-1]
    assert record["verdicts"][0]["state"] == "wait"
    assert record["verdicts"][0]["findings"][0]["reason"] == "fault"
    running.lock.let_go()


def test_the_watchdog_is_fed_only_while_writer_and_judge_turn(tmp_path):
    running = service(tmp_path)
    now = running.clock.now()
    assert running.healthy(now)
    assert not running.healthy(replace(now, boottime=now.boottime + 31))
    assert not running.healthy(replace(now, boottime=now.boottime + 3.1)), "three intervals without a judgement"
    running.writer.storable = False
    assert not running.healthy(now)
    running.lock.let_go()


def test_a_service_without_a_broker_runs_and_leaves_cleanly(tmp_path):
    running = service(tmp_path)
    thread = threading.Thread(target=running.run)
    thread.start()
    time.sleep(2.5)
    running.stop.set()
    thread.join(20)
    assert not thread.is_alive()
    kept = sqlite3.connect(tmp_path / "log.db")
    assert [kind for (kind,) in kept.execute("SELECT kind FROM event ORDER BY id")] == ["start", "stop"]
    assert kept.execute("SELECT COUNT(*) FROM verdict").fetchone()[0] == 1


def test_a_second_daemon_is_refused(tmp_path):
    first = service(tmp_path)
    with pytest.raises(LogbookError, match="another"):
        service(tmp_path)
    first.lock.let_go()


def test_a_service_without_coatings_says_what_is_missing():
    with pytest.raises(LogbookError, match="--config"):
        run_service(Shop())


def test_a_salt_check_that_is_due_again_is_told_once(tmp_path):
    connection = open_for_writing(tmp_path / "log.db", NOON)
    with transaction(connection):
        keep_calibration(connection, "shelf", 0, Calibration(1.0, 0.01, 0.01), [Point(0.7, 0.71, 0.002)])
    connection.close()
    running = service(tmp_path, notices=Notices({"json": "json://127.0.0.1:1/x"}))
    writing = threading.Thread(target=running.writer.run, args=(running._writer_stop,))
    writing.start()
    running.sender.tell_due_calibrations()
    running.sender.tell_due_calibrations()
    running._writer_stop.set()
    writing.join()
    texts = running.reading.execute("SELECT text FROM notice").fetchall()
    assert texts == [("Salt check due again for the humidity sensor shelf: advisor calibrate.",)]
    assert running.reading.execute("SELECT COUNT(*) FROM outbox").fetchone()[0] == 1
    running.lock.let_go()


def test_sigterm_ends_the_command_with_exit_code_0(tmp_path):
    (tmp_path / "advisor.toml").write_text('coatings = ["shellac"]\nlogbook = "log.db"\n')
    process = subprocess.Popen(
        [sys.executable, "-m", "advisor", "watch", "--config", str(tmp_path / "advisor.toml")],
        cwd=ROOT, stderr=subprocess.PIPE,
    )  # fmt: skip
    assert process.stderr is not None
    assert b"watching" in process.stderr.readline()  # from then on it takes the signal; a busy machine takes its time
    process.send_signal(signal.SIGTERM)
    _, err = process.communicate(timeout=60)
    assert process.returncode == 0, err
    assert b"stopped" in err


def test_the_program_runs_without_writable_executable_memory():
    """The unit forbids it (MemoryDenyWriteExecute); the same is asked of the kernel here (PR_SET_MDWE)."""
    code = (
        "import ctypes, sys; libc = ctypes.CDLL(None); assert libc.prctl(65, 1, 0, 0, 0) == 0; "
        "import apprise, apscheduler.schedulers.background, paho.mqtt.client, numpy; "
        "from advisor.cli.app import run; sys.exit(run('check --air 22C --rh 48% --coating shellac'.split()))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False, cwd=ROOT)
    if "AssertionError" in done.stderr and os.uname().release < "6.3":
        return  # this kernel does not know PR_SET_MDWE
    assert done.returncode == 0, done.stderr


def test_the_unit_is_hardened(tmp_path):
    """systemd's own score, 0 to 10: at most 2.0."""
    unit = tmp_path / "spray-day-advisor@root.service"
    unit.write_text((ROOT / "configs" / "spray-day-advisor@.service").read_text("utf-8"))
    done = subprocess.run(
        [program("systemd-analyze", "systemd"), "security", "--offline=true", "--no-pager", str(unit)],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    found = re.search(r"Overall exposure level for \S+: ([0-9.]+)", done.stdout)
    assert found is not None, done.stdout[-500:] + done.stderr[-500:]
    assert float(found.group(1)) <= 2.0


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


def test_the_verdict_on_all_coatings_passes_the_shipped_broker():
    """With room to spare: a broker drops a larger message without a word."""
    conf = (ROOT / "configs" / "mosquitto.conf").read_text("utf-8")
    (limit,) = (int(line.split()[1]) for line in conf.splitlines() if line.startswith("message_size_limit"))
    records = [verdict_record(verdict_for(name, typed(24.0, 0.82, 22.0)), SHOP, NOON) for name in coating_ids()]
    assert 2 * len(json.dumps(records, ensure_ascii=False).encode()) < limit


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
