"""`advisor check --job`: the job asked for, and whether its next coat may be sprayed, beside the verdict on the air."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from advisor.advice import finding_words, words
from advisor.advice.cure_record import Room
from advisor.advice.job import Job
from advisor.advice.job_clock import JobClock, pot_until
from advisor.advice.job_record import JOB_FORMS
from advisor.advice.next_coat import AirSaid, NextCoatAnswer, PotInGun, next_coat
from advisor.advice.next_coat_words import answer_words
from advisor.advice.verdict import State, Verdict, worst_findings
from advisor.catalog.coatings import Coating
from advisor.cli.job_typed import typed_moment
from advisor.cli.jobs_kept import jobs_to_read, named_job
from advisor.errors import UsageError
from advisor.logbook.air_log import AirLog
from advisor.logbook.job_clocks import clock_of, room_of
from advisor.logbook.present import place_to_spray
from advisor.shop.shop import Shop


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


def refuse_without_job(job: str | None, tried: bool, mixed: str | None) -> None:
    """Raises UsageError for what says something of a job where none is named."""
    if job is None:
        for name, given in (("--tried", tried), ("--mixed", mixed is not None)):
            if given:
                raise UsageError(f"{name} without --job", f"{name} with the job it is about", "name the job")


def job_asked(name: str, coating: str | None, tried: bool, mixed: str | None, shop: Shop, now: datetime) -> JobAsked:
    """The job as of a moment, read from the shop's logbook and let go again. Raises UsageError."""
    with jobs_to_read(shop) as log:
        job = _as_of(named_job(log.jobs(), name), now)
        air_log = AirLog(log.connection)
        room = room_of(job, air_log, place_to_spray(shop, air_log.all_series()), now, shop)
    asked = None if coating is None else shop.coating(coating)
    clock = clock_of(job, room, now, shop, asked)
    if clock.next is None:
        raise UsageError("--coating is missing", "--coating ID", "the job has no schedule and no coat yet")
    pot = None if mixed is None else _pot(mixed, clock.next.coating, room, shop, now)
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


def _pot(mixed: str, coating: Coating, room: Room, shop: Shop, now: datetime) -> PotInGun:
    at = typed_moment(mixed, "--mixed", shop, now, day_alone=True)
    life = pot_until(coating, at, room, now, shop)
    return PotInGun(at, None, None) if life is None else PotInGun(at, life.until, life.guessed)


def _air(verdict: Verdict, shop: Shop) -> AirSaid:
    """The verdict's state and its first reason."""
    worst = worst_findings(verdict)
    said = f"Air: {words.state_words(verdict)}"
    because = f"; {finding_words.reason(worst[0], verdict, shop)}" if worst else "."
    stops = None if verdict.cannot_tell else verdict.state is State.WAIT
    return AirSaid(stops, f"{said}{because}")


def next_record(asked: JobAsked | None, verdict: Verdict, shop: Shop) -> dict[str, Any]:
    """What --job adds to the verdict's record; nothing without it."""
    return {} if asked is None else {"next_coat": JOB_FORMS(asked.answer(verdict, shop), asked.clock, shop)}


def next_told(asked: JobAsked | None, verdict: Verdict, shop: Shop) -> Sequence[str]:
    """The answer in words, which stands before the verdict; nothing without --job."""
    if asked is None:
        return ()
    answer = asked.answer(verdict, shop)
    # a GO of the air below a NO must not be read as the answer
    alone = () if answer.allowed else ("The air alone, without the job:",)
    return (*answer_words(answer, asked.clock, asked.pot, shop), *alone)
