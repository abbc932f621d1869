"""A running daemon whose logbook is deleted, replaced, cut, damaged, locked or full: WAIT in every word, nothing lost.

A real broker, a real file. After each drill what the daemon left on the broker, `announced` in it, and `check` are held
against each other, and every reading that was acknowledged must stand in the old file or the new one.
"""

import json
import os
import sqlite3
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from datetime import timedelta
from pathlib import Path

import paho.mqtt.client as paho
import pytest
from paho.mqtt.enums import CallbackAPIVersion

from advisor.cli.app import run
from advisor.cli.log.watch import log_to_stderr
from advisor.errors import LogbookError
from advisor.logbook import store
from advisor.logbook.daemon_lock import daemon_doubt
from advisor.logbook.store import open_for_writing
from advisor.shop.shop import Notices
from advisor.watch.sender import AppriseNotifier
from advisor.watch.service import Settings, run_service
from advisor.watch.writer import Writer
from tests.support import NOON
from tests.watch.broker import BASE, TestBroker, publisher, rows, shop, until

pytestmark = pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning")
LIMITS = {"settle_after_connect": 0.2, "announce_dwell": 1.0}
QUICK = Settings(interval=timedelta(seconds=1), supervise=0.2)


class Watched:
    """A daemon that judges each second, a sensor that speaks, and somebody who reads every word on the broker."""

    def __init__(self, folder: Path, port: int) -> None:
        self.path = folder / "log.db"
        self.file = folder / "advisor.toml"
        self.file.write_text('coatings = ["nitrocellulose-lacquer"]\nlogbook = "log.db"\n', encoding="utf-8")
        self.words: list[tuple[str, str, str]] = []  # state, announced, reason
        self.sent = 0
        self.ended = ""
        self._stop, self._quiet = threading.Event(), threading.Event()
        self._start = int(time.time() * 1000) - 1_000_000
        listener = paho.Client(CallbackAPIVersion.VERSION2, client_id="listener")
        listener.on_message = self._hear
        listener.connect("127.0.0.1", port)
        listener.subscribe(f"{BASE}/verdict")
        listener.loop_start()
        self._sensor = publisher(port)
        of = shop(folder, port, limits=LIMITS, notices=Notices({"a": "json://127.0.0.1:1/a"}))
        daemon = threading.Thread(target=self._run, args=(of,), daemon=True)
        self._threads = [daemon, threading.Thread(target=self._speak, daemon=True)]
        self._clients = [listener, self._sensor]
        daemon.start()
        until(lambda: any(word for word in self.words), 20)
        self._threads[1].start()

    def _run(self, of) -> None:
        try:
            run_service(of, QUICK, self._stop)
        except LogbookError as error:
            self.ended = str(error)

    def _speak(self) -> None:
        """Plain numbers, and numbered readings with a clock of their own: 40 a second."""
        while not self._quiet.wait(0.1):
            self._sensor.publish("b/t", f"{21 + self.sent % 5 / 10}", qos=1)
            self._sensor.publish("b/h", f"{48 + self.sent % 7 / 10}", qos=1)
            for _ in range(4):
                self._sensor.publish("b/own", json.dumps({"t": 8, "at": self._start + self.sent}), qos=1)
                self.sent += 1

    def _hear(self, _client, _data, message) -> None:
        record = json.loads(message.payload)
        verdict = record["verdicts"][0]
        reason = next((finding["reason"] for finding in verdict["findings"] if finding["reason"]), "")
        self.words.append((verdict["state"], next(iter(record["announced"].values())), reason))

    def says(self, state: str, seconds: float = 30) -> None:
        """Wait for this state, announced as well."""
        until(lambda: self.words[-1][:2] == (state, state), seconds)

    def numbered(self, path: Path) -> set[int]:
        """The numbered readings in a file."""
        with closing(sqlite3.connect(f"file:{path}?mode=ro", uri=True)) as connection:
            query = "SELECT at FROM reading JOIN series ON id = series_id WHERE quantity = 'dew_point' ORDER BY at"
            return {at - self._start for (at,) in connection.execute(query)}

    def check(self) -> int:
        """The exit code of the command beside it."""
        return run(["check", "--config", str(self.file)])

    def leave(self) -> None:
        """The sensor falls silent, then all end."""
        self._quiet.set()
        self._threads[1].join()
        until(lambda: not self._sensor._out_messages, 20)
        time.sleep(0.5)  # what the broker has, it hands on
        self._stop.set()
        self._threads[0].join(30)
        assert not self._threads[0].is_alive()
        for client in self._clients:
            client.disconnect()
            client.loop_stop()
        for state, announced, _ in self.words:
            assert not (announced != "wait" and state == "wait"), "one message contradicts itself"


@pytest.fixture
def broker(tmp_path) -> Iterator[TestBroker]:
    running = TestBroker(tmp_path).start()
    yield running
    running.stop()


@pytest.fixture
def told(monkeypatch) -> list[str]:
    """What was sent past the logbook."""
    texts: list[str] = []
    monkeypatch.setattr(AppriseNotifier, "send", lambda _self, _row, text: texts.append(text) or "")
    return texts


def deleted(path: Path) -> None:
    """By its name, its WAL left behind."""
    path.unlink()


def deleted_whole(path: Path) -> None:
    """With all that belongs to it."""
    for each in path.parent.glob("log.db*"):
        each.unlink()


def replaced(path: Path) -> None:
    """Another in its place, the WAL of the first beside it."""
    other = path.with_name("other.db")
    open_for_writing(other, NOON).close()
    other.rename(path)


@pytest.mark.slow
@pytest.mark.parametrize("drill", [deleted, deleted_whole, replaced])
def test_a_file_that_is_gone_is_a_wait_at_once_and_all_goes_on_in_the_one_that_is_there(tmp_path, broker, told, drill):
    watched = Watched(tmp_path, broker.port)
    watched.says("go")
    assert watched.check() == 0
    drill(watched.path)
    until(lambda: watched.words[-1][0] == "wait", 5)
    assert watched.check() != 0, "never a GO beside a WAIT"
    until(lambda: any(reason == "log-gone" for _, _, reason in watched.words), 5)
    watched.says("go")
    assert watched.check() == 0
    watched.leave()
    assert watched.ended == ""
    (kept,) = tmp_path.glob("log.db.*.gone")
    assert watched.numbered(kept) | watched.numbered(watched.path) == set(range(watched.sent)), "none is lost"
    assert sum("moved, replaced or cut" in text for text in told) == 1, "one message"
    assert rows(watched.path, "SELECT COUNT(*) FROM event WHERE kind = 'start'") == 1


def cut(path: Path) -> None:
    """Half of it."""
    os.truncate(path, path.stat().st_size // 2)


def emptied(path: Path) -> None:
    """Nothing left in it."""
    os.truncate(path, 0)


def overwritten(path: Path) -> None:
    """Its beginning, in place."""
    with path.open("r+b") as stream:
        stream.write(b"\x55" * 16_384)


@pytest.mark.slow
@pytest.mark.parametrize(("drill", "ends"), [(cut, True), (overwritten, True), (emptied, False)])
def test_a_file_that_is_spoilt_is_a_wait_at_once_and_then_one_line_that_says_what_to_do(
    tmp_path, broker, told, drill, ends
):
    """One that was emptied holds nothing that could be damaged: it is begun anew."""
    watched = Watched(tmp_path, broker.port)
    watched.says("go")
    with closing(sqlite3.connect(watched.path)) as connection:
        connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    drill(watched.path)
    until(lambda: watched.words[-1][:2] == ("wait", "wait"), 5)
    assert watched.check() != 0
    if ends:
        until(lambda: watched.ended != "", 20)
        assert "is damaged" in watched.ended
        assert "move it away" in watched.ended
        assert watched.check() == 2
        reasons = ("damaged", "log-gone") if drill is cut else ("damaged",)  # a cut one may be seen to be shorter first
        assert watched.words[-1] in [("wait", "wait", reason) for reason in reasons]
    else:
        watched.says("go")
    watched.leave()
    assert sum("logbook" in text for text in told) == 1, "one message"


@pytest.fixture
def small_disk(tmp_path) -> Iterator[Path]:
    """A disk of three megabytes."""
    folder = tmp_path / "disk"
    folder.mkdir()
    if subprocess.run(["mount", "-t", "tmpfs", "-o", "size=3m", "tmpfs", folder], check=False).returncode:
        pytest.skip("a small disk can be mounted by root alone")
    yield folder
    subprocess.run(["umount", "--lazy", folder], check=True)


@contextmanager
def full(path: Path) -> Iterator[None]:
    """Not a byte left on its disk."""
    filler = path.with_name("filler")
    with filler.open("wb", buffering=0) as stream, suppress(OSError):
        for size in (65536, 4096, 1):
            with suppress(OSError):
                while stream.write(bytes(size)):
                    pass
    yield
    filler.unlink()


@contextmanager
def locked(path: Path) -> Iterator[None]:
    """Somebody else writes and does not end."""
    with closing(sqlite3.connect(path, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        yield
        other.execute("ROLLBACK")


@pytest.mark.slow
@pytest.mark.parametrize(("trouble", "own_log"), [(locked, False), (full, False), (full, True)])
def test_a_logbook_that_cannot_be_written_is_a_wait_in_every_word_until_it_can(
    small_disk, broker, told, monkeypatch, trouble, own_log
):
    """Also with the daemon's own log on the full disk: a line that cannot be written ends no thread."""
    monkeypatch.setattr(store, "_SETTINGS", (*store._SETTINGS, "PRAGMA busy_timeout = 200"))
    log = (small_disk / "daemon.log").open("a", encoding="utf-8")
    if own_log:
        monkeypatch.setattr(sys, "stderr", log)
        log_to_stderr(quiet=False)
    watched = Watched(small_disk, broker.port)
    watched.says("go")
    with trouble(watched.path):
        watched.says("wait", 40)
        assert watched.words[-1][2] == "no-store"
        assert daemon_doubt(watched.path) == "no-store"
        assert watched.check() == 3
        before = watched.sent
        until(lambda: watched.sent > before + 40, 20)
        assert watched.words[-1][:2] == ("wait", "wait")
    watched.says("go", 40)
    assert watched.check() == 0
    watched.leave()
    assert watched.numbered(watched.path) == set(range(watched.sent)), "none is lost"
    log.close()
    if own_log:
        lines = (small_disk / "daemon.log").read_text("utf-8")
        assert "watching" in lines
        assert "stopped" in lines


@pytest.mark.slow
@pytest.mark.filterwarnings("ignore::pytest.PytestUnhandledThreadExceptionWarning")
def test_a_writer_that_ended_is_seen_and_all_begins_anew(tmp_path, broker, told, monkeypatch):
    watched = Watched(tmp_path, broker.port)
    watched.says("go")
    plain, ended = Writer.step, []

    def step(self, *wait):
        if not ended:
            ended.append(1)
            raise SystemExit
        return plain(self, *wait)

    monkeypatch.setattr(Writer, "step", step)
    until(lambda: rows(watched.path, "SELECT COUNT(*) FROM event WHERE kind = 'start'") == 2, 30)
    watched.says("go")
    watched.leave()
    assert watched.numbered(watched.path) == set(range(watched.sent)), "none is lost"
