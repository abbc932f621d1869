"""What the daemon does again and again: one scheduler for all of it, told the time by the machine's boot clock.

A wall clock that is set moves nothing here. Three workers, so that a slow destination keeps nobody from judging and a
slow judgement nobody from being looked after: one judges, one sends, one guards.
"""

import logging
import threading
from collections.abc import Callable
from datetime import datetime, timedelta, tzinfo

import structlog
from apscheduler.executors.pool import ThreadPoolExecutor
from apscheduler.schedulers.background import BackgroundScheduler
from apscheduler.triggers.base import BaseTrigger

JUDGING, SENDING, GUARDING = WORKERS = ("judging", "sending", "guarding")
log = structlog.get_logger()


class SinceBoot(tzinfo):
    """The zone in which it is now as late as the machine has run, suspend included: the present as the scheduler asks.

    boottime: gives that [s].
    """

    def __init__(self, boottime: Callable[[], float]) -> None:
        self._boottime = boottime

    def fromutc(self, _utc: datetime) -> datetime:
        """The present, whatever the wall clock says."""
        return datetime(1970, 1, 1, tzinfo=self) + timedelta(seconds=self._boottime())

    def utcoffset(self, _moment: datetime | None) -> timedelta:
        """None at all."""
        return timedelta(0)

    def dst(self, _moment: datetime | None) -> None:
        """None at all."""

    def tzname(self, _moment: datetime | None) -> str:
        """Its name."""
        return "since boot"


class FromNowOn(BaseTrigger):  # type: ignore[misc]  # the library has no types
    """One run each interval; whatever a suspended machine has skipped is skipped, not counted up run by run."""

    def __init__(self, interval: timedelta) -> None:
        self.interval = interval

    def get_next_fire_time(self, previous_fire_time: datetime | None, now: datetime) -> datetime:
        """The next run after `now`."""
        if previous_fire_time is None or previous_fire_time + self.interval <= now:
            return now + self.interval
        return previous_fire_time + self.interval


class Schedule(BackgroundScheduler):  # type: ignore[misc]  # the library has no types
    """The scheduler of the daemon's jobs; a fault in one is logged, and it and all others go on."""

    def __init__(self, boottime: Callable[[], float]) -> None:
        logging.getLogger("apscheduler").setLevel(logging.ERROR)  # a run left out while one lasts is none of its news
        super().__init__(
            timezone=SinceBoot(boottime),
            executors={worker: ThreadPoolExecutor(1) for worker in WORKERS},
            job_defaults={"coalesce": True, "max_instances": 1, "misfire_grace_time": None},
        )

    def again(self, name: str, worker: str, call: Callable[[], object], every: timedelta, first: timedelta) -> None:
        """Call it by a worker after `first` from now, and then at each interval; late runs are made up for by one."""

        def guarded() -> None:
            try:
                call()
            except Exception as error:
                log.error(f"fault in {name}", error=f"{type(error).__name__}: {error}")

        due = datetime.now(self.timezone) + first
        self.add_job(guarded, FromNowOn(every), id=name, executor=worker, next_run_time=due)

    def at_once(self, name: str) -> None:
        """Do not wait for this job's next run."""
        self.modify_job(name, next_run_time=datetime.now(self.timezone))

    @property
    def alive(self) -> bool:
        """Whether its own thread runs."""
        return self._thread is not None and bool(self._thread.is_alive())

    def leave(self, seconds: float) -> None:
        """End; what is being done gets so long [s] to finish."""
        if self.running:
            ending = threading.Thread(target=self.shutdown, name="leaving", daemon=True)
            ending.start()
            ending.join(seconds)
