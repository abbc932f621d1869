"""A real mosquitto on a random loopback port for the tests, with the shipped settings."""

import os
import socket
import subprocess
import time
from pathlib import Path

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
