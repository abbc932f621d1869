"""Watches for a wall clock that is set: after it, a sensor counts only once it has spoken again.

Ages are told by the wall clock. A step back would make what was read before it look young, and would leave readings
behind that are stamped in what is now the future: those are marked and never looked at again.
"""

import sqlite3
import threading
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime

import structlog

from advisor.logbook.verdict_log import clock_offset, judged_before
from advisor.watch.clock import Now
from advisor.watch.daemon import Daemon

log = structlog.get_logger()
STEP = 5.0  # [s] the wall clock may move against the boot clock between two looks


@dataclass
class ClockWatch:
    """Compares wall and boot clock at each look, from whichever thread looks.

    disown: marks the readings stamped after a moment, keeps the moment, and lets quality control start anew; what was
    read up to it is unknown from then on (`LogAir.conditions`), for the daemon and for `check`. It may fail and is
    then tried again at the next look, with no reading believed until it has worked. The moment stays that of the step:
    what was stamped between it and a later try is of before the step too.
    """

    daemon: Daemon
    disown: Callable[[datetime], None]
    _offset: float | None = None
    _since: datetime | None = None
    _lock: threading.Lock = field(default_factory=threading.Lock)

    def look(self, now: Now) -> float | None:
        """The step [s] since the last look, if there was one."""
        offset = now.wall.timestamp() - now.boottime
        with self._lock:
            before, self._offset = self._offset, offset
            stepped = before is not None and abs(offset - before) > STEP
            if stepped:
                self.daemon.doubt = "clock-set"
            if self.daemon.doubt:
                self._disown(now)
        return offset - before if stepped and before is not None else None

    def _disown(self, now: Now) -> None:
        self._since = now.wall if self._since is None else min(self._since, now.wall)
        try:
            self.disown(self._since)
        except Exception as error:
            log.error("clock step not kept, tried again", error=str(error))
        else:
            self.daemon.doubt = ""  # a late try disowns words of after the step too: each speaks again
            self._since = None

    def remember(self, connection: sqlite3.Connection, now: Now) -> bool:
        """Take up the clock where the last kept verdict left it: it may have been set while nobody watched.

        Gives whether it was, or may have been.

        In another boot nothing tells how the clocks compare, and a machine without a battery clock starts in the past:
        there each sensor must speak again.
        """
        self._offset = clock_offset(connection, now.boot_id)
        unsure = self._offset is None and judged_before(connection)
        if unsure:
            self.daemon.doubt = "clock-set"
        return self.look(now) is not None or unsure
