"""May a job's next coat be sprayed now: the job asked for and its clock, beside the verdict on the air."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime

from advisor.advice import finding_words, words
from advisor.advice.job import Job
from advisor.advice.job_clock import JobClock, pot_until
from advisor.advice.next_coat import AirSaid, NextCoatAnswer, PotInGun, next_coat
from advisor.advice.trace import Trace
from advisor.advice.verdict import State, Verdict, worst_findings
from advisor.catalog.coatings import Coating
from advisor.desk.jobs import jobs_kept, named_job
from advisor.errors import UsageError
from advisor.logbook.air_log import AirLog
from advisor.shop.shop import Shop
from advisor.sources.job_clocks import clock_of, room_of
from advisor.sources.log_air import LogAir


@dataclass(frozen=True)
class JobAsked:
    """A job with its clock as of the moment judged, and what was said of hand and pot."""

    clock: JobClock
    coating: Coating
    tried: bool
    pot: PotInGun | None
    named: bool

    def answer(self, verdict: Verdict, shop: Shop) -> NextCoatAnswer:
        """The answer with the verdict on the air."""
        return next_coat(self.clock, shop, _air(verdict, shop), self.tried, self.pot, self.named)


def job_asked(
    name: str,
    coating: str | None,
    tried: bool,
    mixed: Callable[[datetime], datetime] | None,
    shop: Shop,
    now: datetime,
) -> JobAsked:
    """The job as of a moment, read from the shop's logbook and let go again. Raises UsageError."""
    with jobs_kept(shop) as log:
        job = _as_of(named_job(log.jobs(), name), now)
        room = room_of(job, LogAir(AirLog(log.connection), shop), now)
    asked = None if coating is None else shop.coating(coating)
    clock = clock_of(job, room, now, shop, asked)
    if clock.next is None:
        raise UsageError("--coating is missing", "--coating ID", "the job has no schedule and no coat yet")
    pot = None if mixed is None else _pot(mixed(now), clock.next.coating, room, shop, now)
    return JobAsked(clock, clock.next.coating, tried, pot, coating is not None)


def _as_of(job: Job, now: datetime) -> Job:
    """What was on it at a moment of a file, and was seen of it."""
    finished = job.finished_at if job.finished_at is None or job.finished_at <= now else None
    return replace(
        job,
        finished_at=finished,
        coats=tuple(coat for coat in job.coats if coat.started_at <= now),
        observations=tuple(seen for seen in job.observations if seen.at <= now),
    )


def _pot(mixed: datetime, coating: Coating, room: Trace, shop: Shop, now: datetime) -> PotInGun:
    life = pot_until(coating, mixed, room, now, shop)
    return PotInGun(mixed, None, None) if life is None else PotInGun(mixed, life.until, life.guessed)


def _air(verdict: Verdict, shop: Shop) -> AirSaid:
    """The verdict's state and its first reason."""
    worst = worst_findings(verdict)
    said = f"Air: {words.state_words(verdict)}"
    because = f"; {finding_words.reason(worst[0], verdict, shop)}" if worst else "."
    stops = None if verdict.cannot_tell else verdict.state is State.WAIT
    return AirSaid(stops, f"{said}{because}")
