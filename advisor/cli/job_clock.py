"""`advisor job clock`: the clocks of a job, or of all open ones, from the logged temperature of the room."""

import json
from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path

from advisor.advice.cure_record import TemperatureRecord
from advisor.advice.job import Job
from advisor.advice.job_clock import JobClock, Room, job_clock
from advisor.advice.job_clock_words import told, told_together
from advisor.advice.job_record import clock_record
from advisor.advice.record import SCHEMA, utc
from advisor.catalog.schedules import Schedule, schedules
from advisor.cli.jobs_kept import any_job, jobs_to_read
from advisor.cli.paper import print_wrapped
from advisor.logbook.air_log import AirLog
from advisor.logbook.job_log import JobLog
from advisor.logbook.present import place_to_spray
from advisor.logbook.room_temperature import logged_temperature
from advisor.shop.find import shop_from
from advisor.shop.shop import Shop


def run_clock(config: Path | None, asked: str | None, as_json: bool) -> int:
    """Print the clocks; exit code 0."""
    shop, now = shop_from(config), datetime.now(UTC)
    with jobs_to_read(shop) as log:
        jobs = log.jobs(open_only=asked is None)
        clocks = clocks_of([any_job(jobs, asked)] if asked is not None else jobs, log, now, shop)
    if as_json:
        found = [clock_record(clock, shop) for clock in clocks]
        answer = {"schema": SCHEMA, "computed_at": utc(now), "jobs": found}
        print(json.dumps(answer, ensure_ascii=False, allow_nan=False))
    elif not clocks:
        print_wrapped(["No open job."])
    else:
        print_wrapped(told(clocks[0], shop) if len(clocks) == 1 else told_together(clocks, shop))
    return 0


def clocks_of(jobs: Sequence[Job], log: JobLog, now: datetime, shop: Shop) -> list[JobClock]:
    """The clocks of jobs by the logged temperature of the places where their last coats were sprayed."""
    air_log = AirLog(log.connection)
    usual = place_to_spray(shop, air_log.all_series())
    longest, fan = (shop.limit(key).value for key in ("cure_gap_bridged", "fan_after_coat"))
    clocks = []
    for job in jobs:
        # the last on the piece, for its cure, and the last of all, for the pot
        last = [*job.on_piece[-1:], *job.coats[-1:]]
        place = next((coat.place for coat in last if coat.place is not None), usual)
        start = min([now, *(min(coat.mixed_at or coat.started_at, coat.started_at) for coat in last)])
        room = (
            Room(*logged_temperature(air_log, place, start, now, longest)) if last else Room(TemperatureRecord((), ()))
        )
        clocks.append(job_clock(job, schedule_of(job), room, now, shop, fan))
    return clocks


def schedule_of(job: Job) -> Schedule | None:
    """A job's schedule; None where it has none, or one that is known no more."""
    return None if job.schedule is None else schedules().get(job.schedule)
