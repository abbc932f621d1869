"""The clocks of jobs by the logged temperature of the places where their coats were sprayed."""

from collections.abc import Sequence
from datetime import datetime, timedelta

from advisor.jobs.following_coat import JobWarning
from advisor.jobs.job import Coat, Job
from advisor.jobs.job_clock import JobClock, above, below, hurried, job_clock
from advisor.logbook.air_log import AirLog
from advisor.logbook.job_log import JobLog
from advisor.series.trace import NOTHING, Trace
from advisor.shop.shop import Shop
from advisor.sources.log_air import LogAir

_FURTHEST = timedelta(days=90)  # before a coat, that the coat below it is followed: by then it has cured or never will


def clocks_of(jobs: Sequence[Job], log: JobLog, now: datetime, shop: Shop) -> list[JobClock]:
    """The clocks of jobs by the logged temperature of the places where their last coats were sprayed."""
    air = LogAir(AirLog(log.connection), shop)
    return [job_clock(job, room_of(job, air, now), now, shop) for job in jobs]


def room_of(job: Job, air: LogAir, now: datetime, older: Sequence[Coat] = ()) -> Trace:
    """The room where a job's last coats were sprayed, as logged up to now, from the coat below the last on.

    older: coats to be looked at besides, each over the coat below it.
    """
    # the last on the piece, for its cure, and the last of all, for the pot
    last = [*job.on_piece[-1:], *job.coats[-1:]]
    if not last:
        return NOTHING
    place = next((coat.place for coat in last if coat.place is not None), None)
    start = min([now, *(min(coat.mixed_at or coat.started_at, coat.started_at) for coat in last)])
    for coat in (*job.on_piece[-1:], *older):
        under = below(job, coat)[-1:]
        start = min([start, *(max(each.ended_at, coat.started_at - _FURTHEST) for each in under)])
    return air.room(air.place() if place is None else place, start, now)


def hurried_about(job: Job, coat: Coat, log: JobLog, now: datetime, shop: Shop) -> list[JobWarning]:
    """What was wrong with when a coat was sprayed, and the coat over it: a coat kept late or corrected moves both."""
    after = above(job, coat)
    asked = [coat, *([] if after is None else [after])]
    room = room_of(job, LogAir(AirLog(log.connection), shop), now, asked)
    found = [hurried(job, each, room, now, shop) for each in asked]
    return [each for each in found if each is not None]
