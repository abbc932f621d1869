"""Notices through apprise; only this file touches it.

Sends what waits in the outbox, out of quiet hours: one row for each notice and destination, none lost.
"""

import random
import sqlite3
import threading
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any
from zoneinfo import ZoneInfo

import apprise

from advisor.catalog.limits import marks
from advisor.errors import ConfigError
from advisor.logbook import outbox
from advisor.logbook.calibration_log import calibrations_in_force
from advisor.logbook.outbox import Waiting
from advisor.notices.announced import Notice, quiet_end
from advisor.shop.shop import Shop
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


@dataclass
class Sender:
    """Works through the outbox. send: one text to one destination; gives an empty text when it was sent, else why not.

    reading: a connection of its own; write: a job in the writer's transaction. blind: whether the daemon cannot tell
    just now, so that only worse news may go out. leaving: whether it is to end, so that no more is begun.
    """

    shop: Shop
    send: Callable[[Waiting, str], str]
    clock: Clock
    reading: sqlite3.Connection
    write: Callable[[Callable[[sqlite3.Connection], Any]], Any]
    blind: Callable[[], bool] = lambda: False
    leaving: Callable[[], bool] = lambda: False
    _sent: set[tuple[int, str]] = field(default_factory=set)
    _not_before: dict[tuple[int, str], float] = field(default_factory=dict)

    def round(self) -> int:
        """Send what is due now; gives the number of rows closed."""
        now = milliseconds(self.clock.now().wall)
        held = quiet_end(now, self.shop) > now
        closed = 0
        for row in outbox.waiting(self.reading, now, held):
            if self.leaving():
                break
            now = milliseconds(self.clock.now().wall)  # a slow destination takes its time
            key = (row.notice_id, row.destination)
            if key in self._sent:  # it went out, only the note of it failed
                closed += self._close(row, outbox.SENT)
            elif now > row.notice.expires_at:
                closed += self._close(row, outbox.EXPIRED)
            elif (
                (row.notice.urgent or not self.blind())
                and outbox.still_pending(self.reading, row)  # else something newer took its place meanwhile
                and self.clock.now().boottime >= self._not_before.get(key, 0.0)
            ):
                closed += self._send(row, now)
        return closed

    def tell_past(self, why: str) -> None:
        """Tell the person something that the logbook cannot hold."""
        text = f"WAIT, cannot tell: {marks()[why].sentence} {marks()[why].remedy}"
        notice = Notice(milliseconds(self.clock.now().wall), "cannot-tell", "*", "wait", why, text, True, 0)

        def send() -> None:
            for destination in self.shop.notices.destinations:
                self.send(Waiting(0, destination, 0, notice), text)

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
                notice = Notice(at, "info", "*", "info", reason, text, False, at + lasts)
                outbox.put(connection, notice, self.shop.notices.destinations, at)

        self.write(job)

    def _send(self, row: Waiting, now: int) -> int:
        key = (row.notice_id, row.destination)
        error = self.send(row, message_text(row, self.shop.zone))
        if not error:
            self._sent.add(key)
            return self._close(row, outbox.SENT)
        # held back in memory too: an unwritable logbook must not make a hammer of it
        self._not_before[key] = self.clock.now().boottime + outbox.FIRST_RETRY / 1000.0
        jitter = random.random()
        self.write(lambda connection: outbox.try_later(connection, row, now, jitter, error))
        self._not_before.pop(key, None)
        return 0

    def _close(self, row: Waiting, status: str) -> int:
        """One row is closed."""
        self.write(lambda connection: outbox.mark(connection, row, status))
        self._sent.discard((row.notice_id, row.destination))
        return 1


def message_text(row: Waiting, zone: str | None) -> str:
    """The text of a notice with its clock time and number, so that a repeat is recognised."""
    moment = moment_of(row.notice.at).astimezone(ZoneInfo(zone or "UTC"))
    return f"{moment:%H:%M} {row.notice.text} (notice {row.notice_id})"
