"""A real mosquitto, real daemons, real kills: nothing is lost, nothing hangs, and a dead link is a WAIT in time."""

import json
import random
import signal
import socket
import sqlite3
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import closing
from datetime import timedelta

import pytest

from tests.support import ROOT
from tests.watch.broker import BASE, Running, TestBroker, config, daemon, publisher, rows, saved, settled, shop, until

# paho leaves its wake-up sockets to the garbage collector, which then complains of them
pytestmark = pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning")


@pytest.fixture
def broker(tmp_path) -> Iterator[TestBroker]:
    running = TestBroker(tmp_path).start()
    yield running
    running.stop()


@pytest.mark.slow
@pytest.mark.parametrize(
    ("protocol", "total", "rate", "deaths", "of_broker"),
    [
        ("5", 5_000, 500, 10, (1500, 3500)),
        pytest.param("3.1.1", 5_000, 500, 10, (1500, 3500), marks=pytest.mark.full),
        pytest.param("5", 80_000, 200, 200, (), marks=pytest.mark.soak),
    ],
)
def test_every_reading_is_in_the_logbook_once_through_kills_of_the_daemon_and_the_broker(
    tmp_path, broker, protocol, total, rate, deaths, of_broker
):
    """rate: messages a second; deaths: of the daemon, at random moments, and of the broker after so many messages."""
    if not of_broker:
        broker.stop()
        broker.save_now_and_then()
        broker.start()
    path = tmp_path / "log.db"
    file = config(tmp_path, broker.port, protocol=protocol)
    process = daemon(file)
    settled(broker.port)
    client = publisher(broker.port)
    start = int(time.time() * 1000) - total
    sent: list[int] = []
    client.on_publish = lambda *_: sent.append(1)
    moments = random.Random(deaths).sample(range(total // 20, total * 19 // 20), deaths)
    kills = dict.fromkeys(moments, "daemon") | dict.fromkeys(of_broker, "broker")
    begun = time.monotonic()
    for number in range(total):
        client.publish("b/shelf", json.dumps({"t": 20 + number % 50 / 10, "at": start + number}), qos=1)
        time.sleep(max(0.0, begun + number / rate - time.monotonic()))
        if kills.get(number) == "daemon":
            process.kill()
            process.wait()
            process = daemon(file)
        elif kills.get(number) == "broker":
            saved(client, broker, f"mark {number} sent")
            broker.kill()
            broker.start()
    print(f"{number + 1} sent at {total / (time.monotonic() - begun):.0f}/s, {deaths} kills")
    try:
        until(lambda: len(sent) >= total + len(of_broker), 120)
        try:
            until(lambda: rows(path) >= total, 180)
        except AssertionError as late:
            with closing(sqlite3.connect(path)) as logbook:
                known = {at - start for (at,) in logbook.execute("SELECT at FROM reading")}
            raise AssertionError(f"missing: {sorted(set(range(total)) - known)[:50]}") from late
        time.sleep(1.0)
        assert rows(path) == total
        assert rows(path, "SELECT COUNT(DISTINCT at) FROM reading") == total
        assert rows(path, "SELECT COUNT(*) FROM reject") == 0
        assert rows(path, f"SELECT SUM(value) FROM reading WHERE at BETWEEN {start} AND {start + total}") == sum(
            20_000 + number % 50 * 100 for number in range(total)
        )
    finally:
        client.loop_stop()
        process.send_signal(signal.SIGTERM)
        assert process.wait(30) == 0
    check = sqlite3.connect(path)
    assert check.execute("PRAGMA integrity_check").fetchone()[0] == "ok"


@pytest.mark.slow
@pytest.mark.parametrize("total", [15_000, pytest.param(50_000, marks=pytest.mark.full)])
def test_a_backlog_of_many_thousand_goes_through_a_queue_of_five_hundred(tmp_path, total):
    """What does not fit is left with the broker and asked for again; nothing blocks, nothing is lost.

    The broker saves nothing here: with the shipped settings it writes its whole store after each change.
    """
    broker = TestBroker(tmp_path)
    broker.save_now_and_then()
    broker.start()
    path = tmp_path / "log.db"
    of = shop(tmp_path, broker.port)
    first = Running(of, supervise=0.1)
    until(lambda: first.service.source.connected_for is not None, 10)
    first.stop()
    client = publisher(broker.port, inflight=1000)
    start = int(time.time() * 1000) - 2 * total
    sent: list[int] = []
    client.on_publish = lambda *_: sent.append(1)
    for number in range(total):
        client.publish("b/own", f'{{"t": 5, "at": {start + number}}}', qos=1)
    until(lambda: len(sent) >= total, 180)
    client.loop_stop()
    second = Running(of, supervise=0.1, queue_size=500)
    try:
        until(lambda: rows(path) > 0, 60)
        with closing(sqlite3.connect(path, isolation_level=None, timeout=30)) as other:
            other.execute("BEGIN IMMEDIATE")  # while another writes, the queue fills however fast the machine is
            until(lambda: second.service.source.refused > 0, 60)
            other.execute("ROLLBACK")
        until(lambda: rows(path) >= total, 300)
        assert rows(path) == total
        until(second.service.writer.inbox.empty, 30)
    finally:
        second.stop()
        broker.stop()


class Proxy:
    """A wire between client and broker that can go dead: it keeps every connection and swallows every byte."""

    def __init__(self, port: int) -> None:
        self.target = port
        self.dead = False
        self.listener = socket.create_server(("127.0.0.1", 0))
        self.port = self.listener.getsockname()[1]
        threading.Thread(target=self._accept, daemon=True).start()

    def _accept(self) -> None:
        while True:
            try:
                inner, _ = self.listener.accept()
                outer = socket.create_connection(("127.0.0.1", self.target))
            except OSError:
                return
            for source, sink in ((inner, outer), (outer, inner)):
                threading.Thread(target=self._carry, args=(source, sink), daemon=True).start()

    def _carry(self, source: socket.socket, sink: socket.socket) -> None:
        while True:
            try:
                data = source.recv(65536)
                if not data:
                    break
                while self.dead:  # neither carried nor refused
                    time.sleep(0.1)
                    data = b""
                if data:
                    sink.sendall(data)
            except OSError:
                break
        for end in (source, sink):
            end.close()


@pytest.mark.slow
def test_a_dead_link_is_a_wait_within_the_age_limit_and_comes_back_without_a_restart(tmp_path, broker):
    wire = Proxy(broker.port)
    fresh_for = 6.0
    limits = {"fresh_for": fresh_for, "settle_after_connect": 0.2, "announce_dwell": 2.0}
    running = Running(shop(tmp_path, wire.port, limits=limits), supervise=0.5, interval=timedelta(seconds=1))
    client = publisher(broker.port)
    speaking = threading.Event()

    def speak() -> None:
        while not speaking.wait(0.5):
            client.publish("b/t", "21.0", qos=1)
            client.publish("b/h", "48.0", qos=1)

    talker = threading.Thread(target=speak)
    talker.start()

    def state() -> str:
        last = running.service.daemon.last
        return "" if last is None else last.verdicts[0].state.value

    try:
        until(lambda: state() == "go", 20)
        wire.dead = True
        assert until(lambda: state() == "wait", fresh_for + 5) <= fresh_for + 3
        time.sleep(10)  # longer than two keepalives: the client finds out by itself
        wire.dead = False
        back = until(lambda: state() == "go", 60)
        print(f"back after {back:.1f} s")
    finally:
        speaking.set()
        talker.join()
        client.loop_stop()
        running.stop()


@pytest.mark.slow
@pytest.mark.parametrize("count", [5_000, pytest.param(20_000, marks=pytest.mark.full)])
def test_odd_and_huge_payloads_are_each_kept_or_marked_and_the_thread_lives(tmp_path, count):
    """Thousands of odd payloads and ten megabytes: rejected, marked or kept; then a plain number still gets through."""
    folder = tmp_path
    loose = TestBroker(folder)
    loose.conf.write_text(loose.conf.read_text("utf-8").replace("message_size_limit 262144", ""), encoding="utf-8")
    loose.start()
    path = folder / "log.db"
    running = Running(shop(folder, loose.port), supervise=0.5)
    try:
        until(lambda: running.service.source.connected_for is not None, 10)
        time.sleep(0.2)
        client = publisher(loose.port)
        odd = [
            b"", b"nan", b"1e999", b"\xff\xfe", b"[" * 2000, b"9" * 3000, b'{"t":NaN}', b'{"t":1,"t":2}', b"\x00",
            b"unavailable", '{"t":"\ud800"}'.encode("utf-16", "surrogatepass"), b"True", b"1_0", "٢١".encode(),
        ]  # fmt: skip
        for number in range(count):
            client.publish(
                ("b/t", "b/own", "b/h")[number % 3], odd[number % len(odd)] + str(number % 7).encode(), qos=1
            )
        client.publish("b/t", b"1" * 10_000_000, qos=1)
        client.publish("b/h", b"x" * 10_000_000, qos=1)
        until(lambda: not client._out_messages, 240)
        known = "SELECT (SELECT COUNT(*) FROM reading) + (SELECT COUNT(*) FROM reject)"
        until(lambda: running.service.source.received >= count and running.service.writer.inbox.empty(), 240)
        assert running.service.source.thread_alive
        client.publish("b/t", b"21.25", qos=1)
        until(lambda: rows(path, "SELECT COUNT(*) FROM reading WHERE value = 21250") == 1, 60)
        assert rows(path, known) > count // 2
        assert rows(path, "SELECT COUNT(*) FROM reading WHERE level = 'good'") < count // 4
    finally:
        client.loop_stop()
        running.stop()
        loose.stop()


@pytest.mark.full
def test_two_real_minutes_with_the_real_scheduler(tmp_path, broker):
    """The daemon as a person starts it: verdicts each minute, retained, a clean end on SIGTERM."""
    file = config(tmp_path, broker.port, clock="payload")
    text = file.read_text("utf-8").replace(
        "[mqtt]",
        '[[sensors]]\nname = "attic"\ntopics = [{ topic = "b/t", column = "air_temperature_c" }, '
        '{ topic = "b/h", column = "relative_humidity_pct" }]\n[mqtt]',
    )
    file.write_text(text, encoding="utf-8")
    process = daemon(file)
    settled(broker.port)
    client = publisher(broker.port, "listener")
    heard: list[tuple[float, str, dict | str]] = []

    def listen(_client, _data, message) -> None:
        text = message.payload.decode()
        heard.append((time.monotonic(), message.topic, json.loads(text) if text.startswith("{") else text))

    client.on_message = listen
    client.subscribe(f"{BASE}/verdict", qos=1)
    client.subscribe(f"{BASE}/status", qos=1)
    end = time.monotonic() + 125
    while time.monotonic() < end:
        client.publish("b/t", "21.0", qos=1)
        client.publish("b/h", "48.0", qos=1)
        assert process.poll() is None, (tmp_path / "daemon.log").read_text("utf-8")[-2000:]
        time.sleep(1.0)
    command = [sys.executable, "-m", "advisor", "readings", "--config", str(file)]
    beside = subprocess.run(command, capture_output=True, text=True, check=True, cwd=ROOT).stdout
    process.send_signal(signal.SIGTERM)
    assert process.wait(30) == 0
    assert "nitrocellulose-lacquer: the daemon says GO, as of" in beside
    until(lambda: heard[-1][2] == "offline", 5)
    client.loop_stop()
    verdicts = [entry for _, topic, entry in heard if topic.endswith("verdict")]
    assert len(verdicts) >= 3
    assert [entry["verdicts"][0]["state"] for entry in verdicts][-2:] == ["go", "go"]
    assert all(entry["valid_until"] > entry["as_of"] for entry in verdicts)
    assert any(entry == "online" for _, topic, entry in heard if topic.endswith("status"))
    assert rows(tmp_path / "log.db", "SELECT COUNT(*) FROM event WHERE kind IN ('start', 'stop')") == 2
    # and `check` beside it says the same, from the same logbook
    command = [sys.executable, "-m", "advisor", "check", "--config", str(file), "--json"]
    command += ["--coating", "nitrocellulose-lacquer"]
    done = subprocess.run(command, capture_output=True, text=True, check=False, cwd=ROOT)
    assert json.loads(done.stdout)["state"] == "go"
