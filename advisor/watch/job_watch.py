"""Watches the jobs: reads their clocks, and tells what is due of them.

The room's record is read anew every ten minutes, at set times, so that a daemon started in between reads the same;
each job at a minute of its own, so that they do not come all at once, and one cured through no more. A job is reckoned
anew each minute only when something of it is due within the hour. A fault with one job is logged and costs that job its
word.
"""

import sqlite3
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta

import structlog

from advisor.jobs.job import Job
from advisor.jobs.job_clock import JobClock, job_clock
from advisor.logbook import outbox
from advisor.logbook.job_log import JobLog
from advisor.logbook.job_told import is_as_it_was, jobs_to_watch, keep_told, notices_out_of_date, told_of
from advisor.notices.announced import Notice
from advisor.notices.job_notice import JobWord, subject, words_due
from advisor.series.trace import Trace
from advisor.shop.shop import Shop
from advisor.sources.job_clocks import room_of
from advisor.sources.log_air import LogAir
from advisor.times import EPOCH, milliseconds

log = structlog.get_logger()
READ_EVERY = timedelta(minutes=10)
INTERVAL = timedelta(minutes=1)
_SOON = timedelta(hours=1)
_DONE_FOR = timedelta(days=1)  # after which a job that is done has no pot alive


@dataclass(frozen=True)
class _Reckoned:
    """A job as of an entry of its history, with the room as read at a moment, and its clocks as of another."""

    entry: int
    read_at: datetime
    job: Job
    room: Trace
    clock: JobClock


@dataclass(frozen=True)
class JobDue:
    """A word that is due of a job as it was at an entry of its history."""

    job: Job
    entry: int
    word: JobWord


def _nothing_to_come(clock: JobClock, now: datetime) -> bool:
    """Whether every clock has run out: no warmth or cold changes anything any more."""
    cured = clock.cured is not None and all(stage.reached for stage in clock.cured.stages)
    return cured and (clock.soonest is None or clock.soonest <= now)


@dataclass
class JobWatch:
    """The jobs with their clocks as last reckoned. air: reads by a connection of its own, beside the writer's."""

    shop: Shop
    air: LogAir
    destinations: tuple[str, ...]
    _reckoned: dict[int, _Reckoned] = field(default_factory=dict)

    def round(self, now: datetime) -> tuple[JobDue, ...]:
        """What is due of the jobs this minute and was not told yet."""
        connection, before, due = self.air.air_log.connection, self._reckoned, []
        self._reckoned = {}
        for number, entry in jobs_to_watch(connection, now - _DONE_FOR).items():
            try:
                found = self._reckon(number, entry, before.get(number), now)
                if found is None:
                    continue
                words = words_due(found.clock, now, self.shop)
                told = told_of(connection, number, now) if words else frozenset()
            except Exception as error:  # whatever it is, it must not cost the coatings their verdicts
                log.error("job not watched", job=number, error=f"{type(error).__name__}: {error}")
                continue
            self._reckoned[number] = found
            due += [JobDue(found.job, entry, word) for word in words if (word.coat, word.kind) not in told]
        return tuple(due)

    def keep(self, connection: sqlite3.Connection, due: tuple[JobDue, ...], now: datetime) -> None:
        """Put what is due into the outbox, and take back what is so no more; inside the caller's transaction."""
        outbox.take_back(connection, notices_out_of_date(connection))
        at = milliseconds(now)
        for one in due:
            if is_as_it_was(connection, one.job.id, one.entry):  # something may have been done to it since
                word, until = one.word, milliseconds(one.word.until)
                kind, of = f"job-{word.kind}", subject(one.job)
                notice = Notice(at, kind, of, "", word.kind, word.text, word.urgent, until)
                keep_told(connection, one.job.id, word, now, outbox.put(connection, notice, self.destinations, at))

    def _reckon(self, number: int, entry: int, before: _Reckoned | None, now: datetime) -> _Reckoned | None:
        read_at = now - (now - EPOCH - number * INTERVAL) % READ_EVERY
        if before is None or before.entry != entry:
            job = JobLog(self.air.air_log.connection).job(number)
            if job is None:
                return None
        elif before.read_at == read_at or _nothing_to_come(before.clock, now):
            soonest = before.clock.soonest
            if soonest is None or soonest - now > _SOON:
                return before
            return replace(before, clock=job_clock(before.job, before.room, now, self.shop))
        else:
            job = before.job
        room = room_of(job, self.air, read_at)
        return _Reckoned(entry, read_at, job, room, job_clock(job, room, now, self.shop))
