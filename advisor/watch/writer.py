"""The one writer: messages and readings in, committed rows out, acknowledged only after the commit.

Threads talk to it through two queues: `offer` for messages (never blocks) and `do` for other writes. `step` does one
round and is what a replay calls itself.
"""

import json
import queue
import sqlite3
import threading
import time
from collections.abc import Callable, Sequence
from concurrent.futures import Future
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any, TypeVar

import structlog

from advisor.errors import FileError, shown
from advisor.logbook.air_log import AirLog
from advisor.logbook.store import transaction
from advisor.logbook.verdict_log import CLOCK_SET, FORECAST, keep_value
from advisor.readings.payload import Message, PayloadReader
from advisor.readings.quality import QualityControl
from advisor.readings.reading import BAD, FUTURE, Calibrator, Reading, Reject
from advisor.readings.recorded import forecast_of
from advisor.times import milliseconds
from advisor.watch.clock import Clock

Result = TypeVar("Result")
log = structlog.get_logger()

BATCH = 500  # messages a transaction at most
FLUSH = 0.25  # [s] a message waits no longer than this for company
QUEUE = 20_000
_LONGEST_REASON = 200  # characters
WARM_UP = 25 * 3_600_000  # [ms] of log that quality control looks back on


@dataclass(frozen=True, slots=True)
class Incoming:
    """A message with what acknowledges it once it is committed."""

    message: Message
    acknowledge: Callable[[], None] | None = None


class Writer:
    """Owns the writing connection."""

    def __init__(
        self,
        connection: sqlite3.Connection,
        reader: PayloadReader,
        control: QualityControl,
        calibrator: Calibrator,
        clock: Clock,
        queue_size: int = QUEUE,
        forecast_topic: str | None = None,
        still_there: Callable[[], bool] = lambda: True,
    ) -> None:
        self.connection, self.clock, self.forecast_topic = connection, clock, forecast_topic
        self.reader, self.control, self.calibrator = reader, control, calibrator
        self.still_there = still_there  # whether the file is still the one that was opened
        self.air_log = AirLog(connection)
        self.inbox: queue.Queue[Incoming] = queue.Queue(queue_size)
        self.overflowed = False  # a message was dropped unacknowledged; set by `offer`, cleared by whoever reconnects
        self.storable = True
        self.written = 0
        self._ended = False
        self.last_round = clock.now().boottime
        self._jobs: queue.SimpleQueue[tuple[Callable[[sqlite3.Connection], Any], Future[Any]]] = queue.SimpleQueue()
        self._unwritten: list[Incoming] = []  # a batch whose commit failed, kept for the next round
        self._marked: list[Reading | Reject] | None = None  # and what it was read and marked as
        self._forecast: Message | None = None  # the newest forecast among them

    def warm_up(self) -> None:
        """Give quality control and reader the memory they had before a restart."""
        now = milliseconds(self.clock.now().wall)
        past = self.air_log.between(now - WARM_UP, now + round(self.reader.clock_tolerance * 1000))
        for reading in sorted(past, key=lambda reading: reading.at):
            if reading.reason != FUTURE:
                self.control.remember(reading)
                self.reader.remember(reading)

    def offer(self, incoming: Incoming) -> bool:
        """Take a message if there is room, without ever waiting; False leaves it unacknowledged with the broker."""
        try:
            self.inbox.put_nowait(incoming)
        except queue.Full:
            self.overflowed = True
            return False
        return True

    def do(self, job: Callable[[sqlite3.Connection], Result], timeout: float = 10.0) -> Result:
        """Run a write in the writer's thread inside one transaction and wait for it."""
        if self._ended:
            raise RuntimeError("the writer has ended")
        future: Future[Result] = Future()
        self._jobs.put((job, future))
        try:
            return future.result(timeout)
        except TimeoutError:
            if future.cancel():  # nobody waits for it any more: it must not be done later behind everybody's back
                raise
            return future.result(timeout)

    def do_now(self, job: Callable[[sqlite3.Connection], Result]) -> Result:
        """Run a write at once, for whoever drives the writer by hand."""
        try:
            with transaction(self.connection):
                result = job(self.connection)
        except sqlite3.Error:
            self.storable = False
            raise
        self.storable = True
        return result

    def disown_the_future(self, connection: sqlite3.Connection, since: datetime) -> None:
        """After a step of the wall clock: mark what is stamped later than it, and judge the next readings anew.

        The moment is kept, so that whoever judges from the logbook believes nothing of before it.
        """
        self.air_log.disown_after(milliseconds(since))
        keep_value(connection, CLOCK_SET, str(milliseconds(since)))
        self.control.forget()

    def write(self, entries: Sequence[Reading | Reject]) -> None:
        """Mark and write entries that are readings already, in one transaction."""
        now = milliseconds(self.clock.now().wall)
        marked = self._mark(entries, now)
        with transaction(self.connection):
            self._write(marked, now)

    def step(self, wait: float = FLUSH) -> int:
        """One round: jobs, then a batch of messages. Gives the number of messages committed."""
        self._run_jobs()
        batch = self._unwritten or self._gather(wait)
        self._unwritten = []
        self.last_round = self.clock.now().boottime
        if not batch:
            return 0
        try:
            self._commit_whole_or_one_by_one(batch)
        except sqlite3.Error as error:
            # kept in memory and tried again: the broker never sends an unacknowledged message twice on one connection
            self._unwritten = batch
            self.storable = False
            self.air_log.forget_ids()
            log.error("cannot store", error=str(error), waiting=len(batch))
            time.sleep(wait)
            return 0
        self.storable = True
        if not self.still_there():
            return 0  # written into a file that is gone: the broker keeps what is not acknowledged, and sends it again
        for incoming in batch:
            if incoming.acknowledge is not None:
                incoming.acknowledge()
        return len(batch)

    def run(self, stop: threading.Event) -> None:
        """Rounds until stopped, then one last one for what is there already."""
        try:
            while not stop.is_set():
                try:
                    self.step()
                except Exception as error:
                    log.error("fault in the writer", error=f"{type(error).__name__}: {error}")
                    stop.wait(1.0)
            self.step(0.0)
            self._run_jobs()
        finally:  # nobody waits for a writer that is not there any more
            self._ended = True
            while not self._jobs.empty():
                self._jobs.get()[1].cancel()

    def _gather(self, wait: float) -> list[Incoming]:
        """Up to a batch of messages: the first one is waited for, the rest is what is there."""
        batch: list[Incoming] = []
        with suppress(queue.Empty):
            if self.inbox.empty() and wait > 0:
                batch.append(self.inbox.get(timeout=wait))
            while len(batch) < BATCH:
                batch.append(self.inbox.get_nowait())
        return batch

    def _commit_whole_or_one_by_one(self, batch: Sequence[Incoming]) -> None:
        """No payload may end this thread: what cannot be handled even alone is kept as a reject."""
        try:
            self._commit(batch)
        except sqlite3.Error:
            raise
        except Exception as error:
            fault = type(error).__name__
            log.error("fault in storing", error=f"{fault}: {error}", messages=len(batch))
            self.air_log.forget_ids()
            self._marked = None
            if len(batch) > 1:
                for incoming in batch:
                    self._commit_whole_or_one_by_one([incoming])
                return
            message = batch[0].message
            with transaction(self.connection):
                self.air_log.reject([Reject(shown(message.topic), f"fault: {fault}", "")], message.at)

    def _commit(self, batch: Sequence[Incoming]) -> None:
        if self._marked is None:
            # marked once: a second look at the same words after a failed write would find them late and let them pass
            now = max(incoming.message.at for incoming in batch)
            read = [entry for incoming in batch for entry in self._read(incoming.message)]
            self._marked = self._mark(read, now)
        self._marked = [self._as_stamped(entry) for entry in self._marked]
        with transaction(self.connection):
            if self._forecast is not None:
                text = self._forecast.payload.decode("utf-8", "replace")
                keep_value(self.connection, FORECAST, json.dumps({"at": self._forecast.at, "text": text}))
            self._write(self._marked, max(incoming.message.at for incoming in batch))
        self.written += len(self._marked)
        self._marked = self._forecast = None

    def _read(self, message: Message) -> Sequence[Reading | Reject]:
        """Readings of a message; a forecast holds none, and one that cannot be read is a reject."""
        if message.topic != self.forecast_topic:
            return self.reader.read(message)
        try:
            forecast_of(message.payload, message.topic, None)
        except FileError as error:
            return [Reject(shown(message.topic), f"forecast: {error.got}"[:_LONGEST_REASON], "")]
        self._forecast = message
        return []

    def _mark(self, entries: Sequence[Reading | Reject], now: int) -> list[Reading | Reject]:
        until = now + round(self.reader.clock_tolerance * 1000)
        return [
            self.control.mark(self.calibrator.corrected(entry), until) if isinstance(entry, Reading) else entry
            for entry in entries
        ]

    def _as_stamped(self, entry: Reading | Reject) -> Reading | Reject:
        """What waited while the clock was set back is stamped in what is now the future."""
        until = milliseconds(self.clock.now().wall) + round(self.reader.clock_tolerance * 1000)
        if isinstance(entry, Reading) and entry.at > until:
            return replace(entry, level=BAD, reason=FUTURE)
        return entry

    def _write(self, marked: Sequence[Reading | Reject], now: int) -> None:
        """Write inside the caller's transaction."""
        self.air_log.reject([entry for entry in marked if isinstance(entry, Reject)], now)
        self.air_log.write([entry for entry in marked if isinstance(entry, Reading)], self.calibrator.ids)

    def _run_jobs(self) -> None:
        while not self._jobs.empty():  # nobody else takes any out
            job, future = self._jobs.get_nowait()
            if future.set_running_or_notify_cancel():
                try:
                    future.set_result(self.do_now(job))
                except Exception as error:
                    # whatever a job raises belongs to whoever asked for it; the writer goes on
                    future.set_exception(error)
