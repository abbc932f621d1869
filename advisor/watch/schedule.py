"""When the judge is called: every minute, by a scheduler with one worker."""

from collections.abc import Callable
from datetime import datetime, timedelta

from apscheduler.executors.pool import ThreadPoolExecutor
from apscheduler.schedulers.background import BackgroundScheduler
from apscheduler.triggers.base import BaseTrigger


class FromNowOn(BaseTrigger):  # type: ignore[misc]  # the library has no types
    """One run each interval; whatever a clock set forward has skipped is skipped, not counted up run by run."""

    def __init__(self, interval: timedelta) -> None:
        self.interval = interval

    def get_next_fire_time(self, previous_fire_time: datetime | None, now: datetime) -> datetime:
        """The next run after `now`."""
        if previous_fire_time is None or previous_fire_time + self.interval <= now:
            return now + self.interval
        return previous_fire_time + self.interval


def make_scheduler(tick: Callable[[], None], interval: timedelta, first: datetime) -> BackgroundScheduler:
    """A scheduler that calls `tick` at `first` and then each interval; late runs are made up for by one."""
    scheduler = BackgroundScheduler(
        timezone="UTC",
        executors={"default": ThreadPoolExecutor(1)},
        job_defaults={"coalesce": True, "max_instances": 1, "misfire_grace_time": None},
    )
    scheduler.add_job(tick, FromNowOn(interval), id="tick", next_run_time=first)
    return scheduler
