"""Sends what waits in the outbox: its own thread, one row for each notice and destination, none lost."""

import random
import sqlite3
import threading
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import UTC
from typing import Any, Protocol
from zoneinfo import ZoneInfo

import structlog

from advisor.logbook import outbox
from advisor.logbook.conditions import milliseconds, moment_of
from advisor.shop.shop import Shop
from advisor.watch.clock import Clock
from advisor.watch.quiet import quiet_end

log = structlog.get_logger()
POLL = 2.0  # [s]


class Notifier(Protocol):
    """Sends one text to one destination."""

    def send(self, row: outbox.Waiting, text: str) -> str:
        """An empty text when it was sent, else why not. Never raises."""
        ...


@dataclass
class Sender:
    """Works through the outbox. read: a query on a connection of its own; write: a job in the writer's transaction."""

    shop: Shop
    notifier: Notifier
    clock: Clock
    read: Callable[[Callable[[sqlite3.Connection], Any]], Any]
    write: Callable[[Callable[[sqlite3.Connection], Any]], Any]

    def round(self) -> int:
        """Send what is due now; gives the number of rows closed."""
        now = milliseconds(self.clock.now().wall)
        rows: Sequence[outbox.Waiting] = self.read(lambda connection: outbox.waiting(connection, now))
        closed = 0
        for row in rows:
            if now > row.notice.expires_at:
                self._close(row, outbox.EXPIRED, "")
                closed += 1
            elif not row.notice.urgent and quiet_end(now, self.shop.notices, self.shop.zone) > now:
                continue
            else:
                closed += self._send(row, now)
        return closed

    def run(self, stop: threading.Event) -> None:
        """Rounds until stopped; a fault in one is logged and the next one comes."""
        while not stop.wait(POLL):
            try:
                self.round()
            except Exception as error:
                log.error("notices not sent", error=str(error))

    def _send(self, row: outbox.Waiting, now: int) -> int:
        error = self.notifier.send(row, message_text(row, self.shop.zone))
        if not error:
            self._close(row, outbox.SENT, "")
            return 1
        jitter = random.random()
        self.write(lambda connection: outbox.try_later(connection, row, now, jitter, error))
        return 0

    def _close(self, row: outbox.Waiting, status: str, error: str) -> None:
        self.write(lambda connection: outbox.mark(connection, row, status, error))


def message_text(row: outbox.Waiting, zone: str | None) -> str:
    """The text of a notice with its clock time and number, so that a repeat is recognised."""
    moment = moment_of(row.notice.at).astimezone(ZoneInfo(zone) if zone else UTC)
    return f"{moment:%H:%M} {row.notice.text} (notice {row.notice_id})"
