"""A real mosquitto on a random loopback port for the tests, with the shipped settings, and what talks through it."""

import os
import socket
import sqlite3
import subprocess
import sys
import threading
import time
from collections.abc import Callable
from pathlib import Path

import paho.mqtt.client as paho
from paho.mqtt.enums import CallbackAPIVersion

from advisor.shop.shop import Broker, Shop, TopicMap
from advisor.watch.service import Service, Settings
from tests.support import ROOT, program


def free_port() -> int:
    """A port nobody listens on just now."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def _as_whom() -> str:
    """As root, mosquitto would change to a user that may not write into the test's folder."""
    return "user root\n" if os.geteuid() == 0 else ""


class TestBroker:
    """A broker with the shipped settings in a folder of its own."""

    __test__ = False

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.port = free_port()
        shipped = (ROOT / "configs" / "mosquitto.conf").read_text("utf-8")
        settings = shipped.replace("listener 1883", f"listener {self.port}")
        self.conf = folder / "mosquitto.conf"
        self.conf.write_text(f"{settings}\npersistence_location {folder}/\n{_as_whom()}", encoding="utf-8")
        self.process: subprocess.Popen[bytes] | None = None

    def save_now_and_then(self) -> None:
        """From its next start: after each change a broker with thousands of messages does nothing but save."""
        quick = self.conf.read_text("utf-8").replace("autosave_on_changes true", "autosave_on_changes false")
        self.conf.write_text(quick, encoding="utf-8")

    def start(self) -> "TestBroker":
        """Start and wait until it listens."""
        self.process = subprocess.Popen(
            [program("mosquitto", "mosquitto"), "-c", str(self.conf)],
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        deadline = time.monotonic() + 10
        while time.monotonic() < deadline:
            with socket.socket() as probe:
                probe.settimeout(0.5)
                if probe.connect_ex(("127.0.0.1", self.port)) == 0:
                    return self
            time.sleep(0.05)
        raise AssertionError("mosquitto does not listen")

    def kill(self) -> None:
        """kill -9."""
        assert self.process is not None
        self.process.kill()
        self.process.wait()

    def stop(self) -> None:
        """End it if it still runs."""
        if self.process is not None and self.process.poll() is None:
            self.process.terminate()
            self.process.wait(10)


BASE = "boathouse/advisor"


def until(what: Callable[[], bool], seconds: float) -> float:
    """Wait for something to come true; how long it took. Fails after so many seconds."""
    start = time.monotonic()
    while time.monotonic() - start < seconds:
        if what():
            return time.monotonic() - start
        time.sleep(0.05)
    raise AssertionError(f"not within {seconds} s")


def publisher(port: int, name: str = "sensor", inflight: int = 200) -> paho.Client:
    """A sensor that keeps its own unsent messages through a broker's death."""
    client = paho.Client(CallbackAPIVersion.VERSION2, client_id=name, protocol=paho.MQTTv5)
    client.max_inflight_messages_set(inflight)
    client.max_queued_messages_set(0)
    client.reconnect_delay_set(1, 2)
    client.connect("127.0.0.1", port, keepalive=5, clean_start=False)
    client.loop_start()
    until(client.is_connected, 5)
    return client


def rows(path: Path, query: str = "SELECT COUNT(*) FROM reading") -> int:
    """A number out of the logbook, read as any other command reads it; 0 while there is none."""
    if not path.exists():
        return 0
    connection = sqlite3.connect(f"file:{path}?mode=ro", uri=True, timeout=5)
    try:
        return int(connection.execute(query).fetchone()[0])
    except sqlite3.OperationalError:
        return 0
    finally:
        connection.close()


def saved(client: paho.Client, broker: TestBroker, mark: str) -> None:
    """Wait until the broker's store on disk holds all that was sent until now.

    A broker acknowledges a message a moment before it has saved it, and no consumer can bring back what was lost there.
    The kill is to test the daemon, so it waits for a retained mark, sent last, to stand in the file.
    """
    client.publish("mark", mark, qos=1, retain=True)
    store = broker.folder / "mosquitto.db"
    until(lambda: store.exists() and mark.encode() in store.read_bytes(), 120)


def config(folder: Path, port: int, clock: str = "payload", protocol: str = "5") -> Path:
    file = folder / "advisor.toml"
    file.write_text(
        f"""
coatings = ["nitrocellulose-lacquer"]
logbook = "log.db"
[[sensors]]
name = "shelf"
clock = "{clock}"
topics = [
    {{ topic = "b/shelf", form = "json", value_field = "t", time_field = "at", column = "air_temperature_c" }},
]
[mqtt]
host = "127.0.0.1"
port = {port}
protocol = "{protocol}"
base = "{BASE}"
keepalive = "5 s"
""",
        encoding="utf-8",
    )
    return file


def daemon(file: Path) -> subprocess.Popen[bytes]:
    with (file.parent / "daemon.log").open("ab") as log:
        command = [sys.executable, "-m", "advisor", "watch", "--config", str(file)]
        return subprocess.Popen(command, cwd=ROOT, stderr=log, stdout=log)


def settled(port: int) -> None:
    """Wait until the daemon's subscription stands with the broker: it says `online` on the same connection after it."""
    listener = paho.Client(CallbackAPIVersion.VERSION2, client_id="settled")
    heard: list[bytes] = []
    listener.on_message = lambda _client, _data, message: heard.append(message.payload)
    listener.connect("127.0.0.1", port)
    listener.loop_start()
    listener.subscribe(f"{BASE}/status", qos=1)
    until(lambda: b"online" in heard, 60)
    listener.disconnect()
    listener.loop_stop()


def shop(folder: Path, port: int, **more) -> Shop:
    topics = (
        TopicMap("shelf", "shop", "b/t", column="air_temperature_c"),
        TopicMap("shelf", "shop", "b/h", column="relative_humidity_pct"),
        TopicMap("own", "shop", "b/own", "payload", "json", "dew_point_c", "t", "at"),
    )
    return Shop(
        coatings=("nitrocellulose-lacquer",),
        logbook=folder / "log.db",
        topics=topics,
        broker=Broker("127.0.0.1", port, base=BASE, keepalive=5),
        **more,
    )


class Running:
    """A service in a thread of its own."""

    def __init__(self, of: Shop, **settings) -> None:
        self.service = Service(of, settings=Settings(**settings))
        self.thread = threading.Thread(target=self.service.run)
        self.thread.start()

    def stop(self) -> None:
        """Ask it to leave and wait."""
        self.service.stop.set()
        self.thread.join(30)
        assert not self.thread.is_alive()
