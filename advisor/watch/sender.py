"""Sends what waits in the outbox: its own thread, one row for each notice and destination, none lost."""

import random
import sqlite3
import threading
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import UTC
from functools import partial
from typing import Any, Protocol
from zoneinfo import ZoneInfo

import structlog

from advisor.logbook import outbox
from advisor.shop.shop import Shop
from advisor.times import milliseconds, moment_of
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
    """Works through the outbox. read: a query on a connection of its own; write: a job in the writer's transaction.

    blind: whether the daemon cannot tell just now, so that only worse news may go out.
    """

    shop: Shop
    notifier: Notifier
    clock: Clock
    read: Callable[[Callable[[sqlite3.Connection], Any]], Any]
    write: Callable[[Callable[[sqlite3.Connection], Any]], Any]
    blind: Callable[[], bool] = lambda: False
    _sent: set[tuple[int, str]] = field(default_factory=set)
    _not_before: dict[tuple[int, str], float] = field(default_factory=dict)

    def round(self) -> int:
        """Send what is due now; gives the number of rows closed."""
        now = milliseconds(self.clock.now().wall)
        held = quiet_end(now, self.shop.notices, self.shop.zone) > now
        rows: Sequence[outbox.Waiting] = self.read(lambda connection: outbox.waiting(connection, now, held))
        closed = 0
        for row in rows:
            now = milliseconds(self.clock.now().wall)  # a slow destination takes its time
            key = (row.notice_id, row.destination)
            if key in self._sent:  # it went out, only the note of it failed
                self._close(row, outbox.SENT, "")
                closed += 1
            elif now > row.notice.expires_at:
                self._close(row, outbox.EXPIRED, "")
                closed += 1
            elif self.blind() and not row.notice.urgent:
                continue
            elif not self.read(partial(outbox.still_pending, row=row)):
                continue  # something newer took its place meanwhile
            elif self.clock.now().boottime >= self._not_before.get(key, 0.0):
                closed += self._send(row, now)
        return closed

    def run(self, stop: threading.Event) -> None:
        """Rounds until stopped; a fault in one is logged and the next one comes."""
        while not stop.wait(POLL):
            try:
                self.round()
            except Exception as error:
                log.error("notices not sent", error=f"{type(error).__name__}: {error}")

    def _send(self, row: outbox.Waiting, now: int) -> int:
        key = (row.notice_id, row.destination)
        error = self.notifier.send(row, message_text(row, self.shop.zone))
        if not error:
            self._sent.add(key)
            self._close(row, outbox.SENT, "")
            return 1
        # held back in memory too: an unwritable logbook must not make a hammer of it
        self._not_before[key] = self.clock.now().boottime + outbox.FIRST_RETRY / 1000.0
        jitter = random.random()
        self.write(lambda connection: outbox.try_later(connection, row, now, jitter, error))
        self._not_before.pop(key, None)
        return 0

    def _close(self, row: outbox.Waiting, status: str, error: str) -> None:
        self.write(lambda connection: outbox.mark(connection, row, status, error))
        self._sent.discard((row.notice_id, row.destination))


def message_text(row: outbox.Waiting, zone: str | None) -> str:
    """The text of a notice with its clock time and number, so that a repeat is recognised."""
    moment = moment_of(row.notice.at).astimezone(ZoneInfo(zone) if zone else UTC)
    return f"{moment:%H:%M} {row.notice.text} (notice {row.notice_id})"
