"""The clocks of jobs by the logged temperature of the places where their coats were sprayed."""

from collections.abc import Sequence
from datetime import datetime

from advisor.advice.cure_record import TemperatureRecord
from advisor.advice.job import Job
from advisor.advice.job_clock import JobClock, Room, job_clock
from advisor.catalog.schedules import Schedule, schedules
from advisor.logbook.air_log import AirLog
from advisor.logbook.job_log import JobLog
from advisor.logbook.present import place_to_spray
from advisor.logbook.room_temperature import logged_temperature
from advisor.shop.shop import Shop


def clocks_of(jobs: Sequence[Job], log: JobLog, now: datetime, shop: Shop) -> list[JobClock]:
    """The clocks of jobs by the logged temperature of the places where their last coats were sprayed."""
    air_log = AirLog(log.connection)
    usual = place_to_spray(shop, air_log.all_series())
    return [clock_of(job, room_of(job, air_log, usual, now, shop), now, shop) for job in jobs]


def room_of(job: Job, air_log: AirLog, usual: str, now: datetime, shop: Shop) -> Room:
    """The room where a job's last coats were sprayed, as logged up to now; usual: the place where none was said."""
    # the last on the piece, for its cure, and the last of all, for the pot
    last = [*job.on_piece[-1:], *job.coats[-1:]]
    if not last:
        return Room(TemperatureRecord((), ()))
    place = next((coat.place for coat in last if coat.place is not None), usual)
    start = min([now, *(min(coat.mixed_at or coat.started_at, coat.started_at) for coat in last)])
    return Room(*logged_temperature(air_log, place, start, now, shop.limit("cure_gap_bridged").value))


def clock_of(job: Job, room: Room, now: datetime, shop: Shop) -> JobClock:
    """The clocks of a job in a room. Raises CatalogError for a coating the shop no longer knows."""
    return job_clock(job, schedule_of(job), room, now, shop, shop.limit("fan_after_coat").value)


def schedule_of(job: Job) -> Schedule | None:
    """A job's schedule; None where it has none, or one that is known no more."""
    return None if job.schedule is None else schedules().get(job.schedule)
