"""What a daemon says where its screen is full, a fault lasts, its clock goes back or somebody new listens."""

import signal
import sqlite3
import subprocess
import sys
from contextlib import closing, suppress
from datetime import timedelta

import pytest
import structlog

from advisor.cli.log.watch import OnceAMinute
from advisor.logbook.daemon_lock import daemon_doubt
from advisor.readings.payload import Message, PayloadReader
from advisor.shop.shop import TopicMap
from advisor.times import milliseconds
from advisor.watch.writer import Incoming
from tests.support import ROOT
from tests.watch.broker import rows, until
from tests.watch.drills.bench import Bench, service


@pytest.mark.slow
def test_a_daemon_whose_log_lines_cannot_be_written_runs_and_ends_cleanly(tmp_path):
    (tmp_path / "advisor.toml").write_text('coatings = ["shellac"]\nlogbook = "log.db"\n')
    command = [sys.executable, "-m", "advisor", "watch", "--config", str(tmp_path / "advisor.toml")]
    with open("/dev/full", "w") as full_disk:
        process = subprocess.Popen(command, cwd=ROOT, stderr=full_disk)
    until(lambda: rows(tmp_path / "log.db", "SELECT COUNT(*) FROM verdict") == 1, 30)
    process.send_signal(signal.SIGTERM)
    assert process.wait(30) == 0


def test_a_fault_is_said_once_and_then_each_minute():
    now = [0.0]
    once = OnceAMinute(lambda: now[0])
    said = []
    for second in range(125):
        now[0] = float(second)
        for level, event in (("error", "cannot store"), ("info", "watching")):
            with suppress(structlog.DropEvent):
                said.append((second, once(None, level, {"event": event})["event"]))
    assert [second for second, event in said if event == "cannot store"] == [0, 60, 120]
    assert sum(event == "watching" for _, event in said) == 125


def test_what_waited_for_its_commit_while_the_clock_was_set_back_is_of_the_future(tmp_path):
    bench = Bench(tmp_path)
    bench.writer.reader = PayloadReader((TopicMap("a", "shop", "t", column="air_temperature_c"),), 900.0, 120.0)
    bench.connection.execute("PRAGMA busy_timeout = 0")
    with closing(sqlite3.connect(tmp_path / "log.db", isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        bench.writer.offer(Incoming(Message("t", b"21.0", milliseconds(bench.clock.now().wall))))
        bench.writer.step(0.0)
        bench.clock.wall += timedelta(hours=-1)
        other.execute("ROLLBACK")
    bench.writer.step(0.0)
    assert bench.connection.execute("SELECT level, reason FROM reading").fetchall() == [("bad", "future")]


def test_what_a_new_connection_hears_is_the_last_word_and_never_the_go_before_it(tmp_path, monkeypatch):
    running = service(tmp_path)
    said = []
    monkeypatch.setattr(running.voice, "_send", lambda record: said.append(record["verdicts"][0]))
    for state in ("go", "wait"):
        running.voice.publish({"verdicts": [{"state": state}]})
    running.voice.on_ready()
    assert [verdict["state"] for verdict in said] == ["go", "wait", "wait"]
    running.voice.judged_at -= 10.0
    running.voice.on_ready()
    assert said[-1]["cannot_tell"], "too old to be said again"
    running.voice.unfit = "damaged"
    running.voice.publish({"verdicts": [{"state": "go"}]}, "")
    assert said[-1]["findings"][0]["reason"] == "damaged", "a minute judged before it does not come after it"
    assert daemon_doubt(tmp_path / "log.db") == "damaged"
    running.lock.let_go()
