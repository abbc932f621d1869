"""Looks after the logbook's file while the daemon writes it: gone, another in its place, or damaged."""

import sqlite3
from datetime import datetime
from pathlib import Path

import structlog

from advisor.errors import DamagedLogbook
from advisor.logbook.daemon_lock import DaemonLock
from advisor.logbook.store import look_through

log = structlog.get_logger()


class LogbookGuard:
    """Of a logbook just opened, and looked through then."""

    def __init__(self, path: Path, lock: DaemonLock, connection: sqlite3.Connection) -> None:
        self.path, self.lock, self._connection = path, lock, connection
        # when the file itself was last written as it was looked through [ns]; None: look again
        self._looked_through: int | None = path.stat().st_mtime_ns

    def gone(self) -> bool:
        """Whether it is no more the file that was opened; what belongs to that is then set aside."""
        there = self.lock.still_there()
        if not there:
            self.lock.set_aside()
        return not there

    def look_again(self) -> None:
        """Look through it at the next look, whether or not it was written: a damage shows itself only so."""
        self._looked_through = None

    def unfit(self) -> str:
        """Why it cannot be written on: `log-gone` or `damaged`; empty when it can."""
        if self.gone():
            return "log-gone"
        written = self.path.stat().st_mtime_ns  # SQLite writes beside it, and into it only now and then
        if written != self._looked_through:
            self._looked_through = written
            try:
                look_through(self.path)
            except DamagedLogbook as error:
                log.error("logbook damaged", error=str(error))
                return "damaged"
        return ""

    def keep_what_is_gone(self, now: datetime) -> None:
        """Write the logbook that is gone from under its name, and is still open here, into a file beside it."""
        kept = self.path.with_name(f"{self.path.name}.{now:%Y%m%dT%H%M%SZ}.gone")
        aside = self.lock.set_aside()
        try:
            self._connection.execute("VACUUM INTO ?", (str(kept),))
        except sqlite3.Error as error:
            log.error("logbook gone and not kept", error=str(error))
            kept.unlink(missing_ok=True)
            return
        log.warning("logbook gone, a copy kept", file=str(kept))
        for file in aside:
            file.unlink(missing_ok=True)
