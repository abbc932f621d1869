"""The clocks: wall time, time since boot (which goes on in suspend), and which boot it is."""

import time
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

_BOOT_ID = Path("/proc/sys/kernel/random/boot_id")


@dataclass(frozen=True)
class Now:
    """One moment on all clocks. wall: UTC; boottime [s] since boot, suspend included; boot_id: which boot."""

    wall: datetime
    boottime: float
    boot_id: str

    @property
    def boot(self) -> tuple[str, int]:
        """Boot id and milliseconds since boot, as the logbook keeps them."""
        return self.boot_id, round(self.boottime * 1000)


class SystemClock:
    """The machine's clocks."""

    def __init__(self) -> None:
        try:
            self._boot_id = _BOOT_ID.read_text("ascii").strip()
        except OSError:
            self._boot_id = "unknown"

    def now(self) -> Now:
        """This moment."""
        return Now(datetime.now(UTC), time.clock_gettime(time.CLOCK_BOOTTIME), self._boot_id)


class SimulatedClock:
    """A clock that is set by hand; `step` moves the wall clock alone."""

    def __init__(self, wall: datetime, boot_id: str = "simulated") -> None:
        self._wall = wall
        self._boottime = 1000.0
        self._boot_id = boot_id

    def now(self) -> Now:
        """This moment."""
        return Now(self._wall, self._boottime, self._boot_id)

    def advance(self, by: timedelta) -> None:
        """Time passes on all clocks."""
        self._wall += by
        self._boottime += by.total_seconds()

    def step(self, by: timedelta) -> None:
        """The wall clock is set to another time."""
        self._wall += by

    def reboot(self, boot_id: str) -> None:
        """Another boot."""
        self._boot_id = boot_id
        self._boottime = 10.0


Clock = SystemClock | SimulatedClock  # what gives the present moment
