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


@dataclass
class SimulatedClock:
    """A clock that is set by hand."""

    wall: datetime
    boottime: float = 1000.0
    boot_id: str = "simulated"

    def now(self) -> Now:
        """This moment."""
        return Now(self.wall, self.boottime, self.boot_id)

    def advance(self, by: timedelta) -> None:
        """Time passes on all clocks."""
        self.wall += by
        self.boottime += by.total_seconds()


Clock = SystemClock | SimulatedClock  # what gives the present moment
