"""Notices through apprise; only this file touches it.

Sends what waits in the outbox, out of quiet hours: one row for each notice and destination, none lost.
"""

import random
import sqlite3
import threading
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from functools import partial
from typing import Any, Protocol
from zoneinfo import ZoneInfo

import apprise

from advisor.catalog.limits import marks
from advisor.errors import ConfigError
from advisor.logbook import outbox
from advisor.logbook.calibration_log import calibrations_in_force
from advisor.logbook.outbox import Waiting
from advisor.shop.shop import Notices, Shop
from advisor.times import milliseconds, moment_of
from advisor.watch.clock import Clock

TIMEOUT = "cto=4&rto=6"  # [s] to connect and to be answered, unless the address says otherwise


class AppriseNotifier:
    """Sends to apprise addresses, each known by its name; which are refused or slow is said, without their secrets.

    Raises ConfigError for an address that apprise does not know.
    """

    def __init__(self, addresses: Mapping[str, str]) -> None:
        self._addresses = addresses
        for number, name in enumerate(addresses, 1):
            if self._server(name) is None:
                raise ConfigError(
                    f"notices.destinations: number {number} is no address apprise knows",
                    "one like json://127.0.0.1:8080/notices",
                    "correct it",
                )

    def send(self, row: Waiting, text: str) -> str:
        """An empty text when it was sent, else why not. Never raises."""
        try:
            server = self._server(row.destination)
            if server is None:
                return "no such destination any more"
            return "" if bool(server.notify(body=text, title="Spray-day advisor")) else "not delivered"
        except Exception as error:
            # whatever a plugin raises must not end the thread; its text may hold a secret, its kind does not
            return f"{type(error).__name__}"

    def _server(self, name: str) -> apprise.Apprise | None:
        address = self._addresses.get(name, "")
        if "cto=" not in address:
            address += f"{'&' if '?' in address else '?'}{TIMEOUT}"
        server = apprise.Apprise()
        return server if name in self._addresses and server.add(address) else None


POLL = 2.0  # [s]
_MINUTES_A_DAY = 1440


class Notifier(Protocol):
    """Sends one text to one destination."""

    def send(self, row: outbox.Waiting, text: str) -> str:
        """An empty text when it was sent, else why not. Never raises."""
        ...


@dataclass
class Sender:
    """Works through the outbox. read: a query on a connection of its own; write: a job in the writer's transaction.

    blind: whether the daemon cannot tell just now, so that only worse news may go out. leaving: whether it is to end,
    so that no more is begun.
    """

    shop: Shop
    notifier: Notifier
    clock: Clock
    read: Callable[[Callable[[sqlite3.Connection], Any]], Any]
    write: Callable[[Callable[[sqlite3.Connection], Any]], Any]
    blind: Callable[[], bool] = lambda: False
    leaving: Callable[[], bool] = lambda: False
    _sent: set[tuple[int, str]] = field(default_factory=set)
    _not_before: dict[tuple[int, str], float] = field(default_factory=dict)

    def round(self) -> int:
        """Send what is due now; gives the number of rows closed."""
        now = milliseconds(self.clock.now().wall)
        held = quiet_end(now, self.shop.notices, self.shop.zone) > now
        rows: Sequence[outbox.Waiting] = self.read(lambda connection: outbox.waiting(connection, now, held))
        closed = 0
        for row in rows:
            if self.leaving():
                break
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

    def tell_past(self, why: str) -> None:
        """Tell the person something that the logbook cannot hold."""
        text = f"WAIT, cannot tell: {marks()[why].sentence} {marks()[why].remedy}"
        notice = outbox.Notice(milliseconds(self.clock.now().wall), "cannot-tell", "*", "wait", why, text, True, 0)

        def send() -> None:
            for destination in self.shop.notices.destinations:
                self.notifier.send(outbox.Waiting(0, destination, 0, notice), text)

        threading.Thread(target=send, name="blind").start()  # waited for, even where the process ends over it

    def tell_due_calibrations(self) -> None:
        """A notice for each sensor whose salt check is due again, once for each calibration."""
        at = milliseconds(self.clock.now().wall)
        lasts = round(self.shop.limit("calibration_due").value * 1000)

        def job(connection: sqlite3.Connection) -> None:
            for kept in calibrations_in_force(connection).values():
                reason = f"calibration-due {kept.sensor} {kept.id}"
                if at - kept.made_at < lasts or outbox.last_told_at(connection, "*", "info", reason) is not None:
                    continue
                text = f"Salt check due again for the humidity sensor {kept.sensor}: advisor calibrate."
                notice = outbox.Notice(at, "info", "*", "info", reason, text, False, at + lasts)
                outbox.put(connection, notice, self.shop.notices.destinations, at)

        self.write(job)

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


def quiet_end(at: int, notices: Notices, zone: str | None) -> int:
    """When the quiet hours that hold at a moment end [ms UTC]; the moment itself where none hold."""
    if notices.quiet_from is None or notices.quiet_until is None or notices.quiet_from == notices.quiet_until:
        return at
    here = ZoneInfo(zone) if zone else UTC
    local = moment_of(at).astimezone(here)
    minute = local.hour * 60 + local.minute
    since_start = (minute - notices.quiet_from) % _MINUTES_A_DAY
    length = (notices.quiet_until - notices.quiet_from) % _MINUTES_A_DAY
    if since_start >= length:
        return at
    tomorrow = minute >= notices.quiet_until
    day = local.date() + timedelta(days=1 if tomorrow else 0)
    end = datetime(day.year, day.month, day.day, *divmod(notices.quiet_until, 60), tzinfo=here)
    return milliseconds(end)
