"""The service around the judge: wired as it runs, watched, started and ended, and the unit it runs as."""

import json
import os
import re
import signal
import sqlite3
import subprocess
import sys
import threading
import time
from dataclasses import replace
from datetime import timedelta
from functools import partial

import pytest

from advisor.catalog.coatings import coating_ids
from advisor.errors import LogbookError
from advisor.logbook.calibration_log import keep_calibration
from advisor.logbook.store import open_for_writing, transaction
from advisor.readings.payload import Message
from advisor.readings.reading import Calibration, Point
from advisor.say.record import verdict_record
from advisor.shop.shop import Notices, Shop, TopicMap
from advisor.times import milliseconds
from advisor.watch.clock import SimulatedClock
from advisor.watch.daemon import INTERVAL
from advisor.watch.service import Service, Settings, run_service
from advisor.watch.writer import Incoming
from tests.support import NOON, ROOT, program, typed, verdict_for
from tests.watch.drills.bench import COATING, SHOP, service


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


def test_the_verdict_on_all_coatings_passes_the_shipped_broker():
    """With room to spare: a broker drops a larger message without a word."""
    conf = (ROOT / "configs" / "mosquitto.conf").read_text("utf-8")
    (limit,) = (int(line.split()[1]) for line in conf.splitlines() if line.startswith("message_size_limit"))
    records = [verdict_record(verdict_for(name, typed(24.0, 0.82, 22.0)), SHOP, NOON) for name in coating_ids()]
    assert 2 * len(json.dumps(records, ensure_ascii=False).encode()) < limit
