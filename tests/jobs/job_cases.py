"""Jobs and rooms made up for the tests (invented)."""

from collections.abc import Iterable
from datetime import datetime, timedelta

from advisor.catalog.schedules import schedules
from advisor.jobs.job import Coat, Job
from advisor.jobs.job_clock import JobClock, job_clock
from advisor.series.trace import NOTHING, Trace
from advisor.shop.shop import Shop
from tests.outlook.columns import room_of
from tests.support import NOON, SHOP

MINUTE, HOUR = timedelta(minutes=1), timedelta(hours=1)
UNKNOWN = NOTHING


def room(celsius: float, start: datetime = NOON - 24 * HOUR, hours: float = 96.0) -> Trace:
    """A room that stands at a temperature, read every ten minutes."""
    times = [start.timestamp() + 600.0 * number for number in range(int(hours * 6) + 1)]
    return room_of(times, [celsius] * len(times))


def job(coatings: Iterable[str], schedule: str | None = None, apart: timedelta = HOUR, **more) -> Job:
    """A job with coats so far apart, the last of them ended at noon."""
    names = list(coatings)
    steps = {} if schedule is None else {step.coating: step.step for step in schedules()[schedule].steps}
    coats = []
    for number, name in enumerate(names, 1):
        end = NOON - (len(names) - number) * apart
        said = {"started_at": end - 5 * MINUTE, "ended_at": end, "step": steps.get(name), **more}
        coats.append(Coat(id=number, job=1, number=number, coating=name, **said))
    return Job(1, "lid", schedule, NOON - 48 * HOUR, None, "", tuple(coats))


def clock(done: Job, air: Trace, now: datetime = NOON, shop: Shop = SHOP, asked: str | None = None) -> JobClock:
    """The clocks of a job."""
    return job_clock(done, air, now, shop, None if asked is None else shop.coating(asked))
