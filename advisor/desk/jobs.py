"""The jobs in the logbook: found by number or name, begun, finished; what was seen on a piece, and done to it.

May a job's next coat be sprayed now: the job asked for and its clock, beside the verdict on the air.
"""

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import datetime

from advisor.catalog.coatings import Coating
from advisor.catalog.mechanisms import find_defect
from advisor.catalog.schedules import find_schedule
from advisor.desk.typed import typed_text
from advisor.errors import CatalogError, UsageError, did_you_mean, refuse, shown
from advisor.jobs.job import Coat, Job, Observation, Rework
from advisor.jobs.job_clock import JobClock, PotLife, job_clock, pot_until
from advisor.jobs.next_coat import AirSaid, NextCoatAnswer, next_coat
from advisor.judge.verdict import State, Verdict, worst_findings
from advisor.logbook.air_log import AirLog
from advisor.logbook.job_log import JOB, JobLog
from advisor.logbook.store import logbook, logbook_path, transaction
from advisor.say import finding_words, words
from advisor.say.craft.job_words import job_name
from advisor.shop.shop import Shop
from advisor.sources.job_clocks import clocks_of, room_of
from advisor.sources.log_air import LogAir

GOOD, _BAD = "good", "bad"
_BEGIN = 'advisor job new "lid"'


@contextmanager
def jobs_kept(shop: Shop, now: datetime | None = None) -> Iterator[JobLog]:
    """The jobs, to be read; with `now` to be written too, beside a running daemon, an older logbook made new."""
    with logbook(logbook_path(shop.logbook), now) as connection:
        yield JobLog(connection)


@contextmanager
def _changing(shop: Shop, now: datetime) -> Iterator[JobLog]:
    """The jobs inside one transaction."""
    with jobs_kept(shop, now) as log, transaction(log.connection):
        yield log


def open_job(jobs: Sequence[Job], asked: str | None) -> Job:
    """The job asked for, which must be open; without one the newest open one. Raises UsageError."""
    found = [job for job in jobs if job.finished_at is None] if asked is None else [named_job(jobs, asked)]
    refuse((not found, "no open job", _BEGIN, "begin one"))
    job = found[-1]
    refuse((
        job.finished_at is not None,
        f"job {job.id} {shown(job.piece)} is done", "an open job", f"advisor job edit {job.id} done=no opens it",
    ))  # fmt: skip
    return job


def any_job(jobs: Sequence[Job], asked: str | None) -> Job:
    """The job asked for, open or done; without one the newest open one, else the newest. Raises UsageError."""
    if asked is not None:
        return named_job(jobs, asked)
    refuse((not jobs, "no job yet", _BEGIN, "begin one"))
    return next((job for job in reversed(jobs) if job.finished_at is None), jobs[-1])


def named_job(jobs: Sequence[Job], asked: str) -> Job:
    """A job by its number, or its name in whatever case, the newest open one first. Raises UsageError."""
    wanted, newest = asked.strip().casefold(), newest_first(jobs)
    for job in newest:
        if wanted in (str(job.id), job.piece.casefold()):
            return job
    names = [job.piece for job in newest[:8]]
    raise UsageError(f"no job {shown(asked)}", "", did_you_mean(asked, names) if names else _BEGIN)


def newest_first(jobs: Sequence[Job]) -> list[Job]:
    """The open ones first, the newest of each first."""
    return sorted(jobs, key=lambda job: (job.finished_at is None, job.id), reverse=True)


def coat_of(job: Job, number: int, called: str) -> Coat:
    """A job's coat by its number; called: the job, as it is named in the error. Raises UsageError."""
    coat = job.coat(number)
    if coat is None:
        known = ", ".join(str(coat.number) for coat in job.coats) or "none yet"
        raise UsageError(f"no coat {number} in job {called}", known, "advisor job show")
    return coat


def piece_name(text: str, others: Sequence[Job]) -> str:
    """A job's name: not a number, and not that of another open job. Raises UsageError."""
    name = typed_text(text, "piece")
    refuse((name.isdigit(), f"piece {shown(name)} is a number", "a name, like lid", "numbers are given to jobs"))
    for job in others:
        refuse((
            job.finished_at is None and job.piece.casefold() == name.casefold(),
            f"job {job.id} {shown(job.piece)} is open", "another name", "or go on with that one",
        ))  # fmt: skip
    return name


def begin(piece: str, schedule: str | None, note: str, shop: Shop, now: datetime) -> Job:
    """Begin a job. Raises UsageError for its name, CatalogError for an unknown schedule."""
    plan = None if schedule is None else find_schedule(schedule).id
    with _changing(shop, now) as log:
        name = piece_name(piece, log.jobs(open_only=True))
        return Job(log.make_job(name, plan, note, now), name, plan, now, None, note)


def finish(asked: str | None, at: datetime, shop: Shop, now: datetime) -> Job:
    """A job is finished: no coat comes any more."""
    with _changing(shop, now) as log:
        job = open_job(log.jobs(), asked)
        log.change(JOB, job.id, {"finished_at": at}, now)
        return log.job(job.id) or job


def clocks(asked: str | None, shop: Shop, now: datetime) -> list[JobClock]:
    """The clock of the job asked for, else of all open ones."""
    with jobs_kept(shop) as log:
        jobs = log.jobs(open_only=asked is None)
        return clocks_of(jobs if asked is None else [any_job(jobs, asked)], log, now, shop)


def saw(
    defect: str | None, asked: str | None, shop: Shop, now: datetime, *, good: bool, at: datetime,
    coat: int | None = None, severity: int | None = None, spot: str = "", photo: str | None = None, text: str = "",
) -> tuple[Job, Observation]:  # fmt: skip
    """Keep what was seen on a piece: a defect, or that all is good, which as a word stands for itself.

    coat: its number. severity: 1 slight, 2 plain, 3 spoilt. Where all is good, the one word may be the job. Raises
    UsageError and CatalogError.
    """
    said_good = defect is not None and defect.strip().casefold() == GOOD
    named, good = None if said_good else defect, good or said_good
    nothing, say = named is None and not good, "advisor job saw blush, or advisor job saw good"
    refuse(
        (nothing, "no defect named", say, "say what was seen"),
        (severity not in (None, 1, 2, 3), f"--severity {severity}", "1 slight, 2 plain, 3 spoilt", "choose one"),
        (severity is not None and good, "--severity beside good", "one of the two", "leave one out"),
    )
    with _changing(shop, now) as log:
        jobs = log.jobs()
        try:
            found = None if named is None else find_defect(named).id
        except CatalogError:
            words = {word for job in jobs for word in (str(job.id), job.piece.casefold())}
            if named is None or not good or asked is not None or named.strip().casefold() not in words:
                raise
            found, asked = None, named
        job = any_job(jobs, asked)
        about = None if coat is None else coat_of(job, coat, job_name(job)).id
        kept = log.keep_observation(
            job.id, at, now, coat=about, defect=found, good=good, severity=severity, spot=spot, photo=photo, text=text
        )
        return _with_observation(log, job, kept)


def panel_came_out(result: str, text: str, shop: Shop, now: datetime) -> tuple[Job, Observation]:
    """Keep how the newest test panel came out: good or bad. Raises UsageError."""
    word = result.strip().casefold()
    refuse((word not in (GOOD, _BAD), f"panel {shown(result)}", "good or bad", "say one"))
    with _changing(shop, now) as log:
        panels = [(coat.started_at, coat.id, job) for job in log.jobs() for coat in job.coats if coat.panel]
        refuse((not panels, "no test panel yet", "advisor job coat --panel", "keep the panel's coat first"))
        _, coat, job = max(panels, key=lambda each: each[:2])
        kept = log.keep_observation(job.id, now, now, coat=coat, good=word == GOOD, text=text)
        return _with_observation(log, job, kept)


def reworked(what: str, asked: str | None, at: datetime, shop: Shop, now: datetime) -> tuple[Job, Rework]:
    """Keep what was done to a piece besides spraying."""
    with _changing(shop, now) as log:
        job = any_job(log.jobs(), asked)
        kept = log.keep_rework(job.id, at, what, now)
        return job, next(each for each in (log.job(job.id) or job).reworks if each.id == kept)


def _with_observation(log: JobLog, job: Job, kept: int) -> tuple[Job, Observation]:
    """The job as it stands now, and what was kept of it."""
    job = log.job(job.id) or job
    return job, next(each for each in job.observations if each.id == kept)


@dataclass(frozen=True)
class JobAsked:
    """A job with its clock as of the moment judged, and what was said of hand and pot."""

    clock: JobClock
    coating: Coating
    tried: bool
    pot: PotLife | None
    named: bool

    def answer(self, verdict: Verdict, shop: Shop) -> NextCoatAnswer:
        """The answer with the verdict on the air."""
        worst, stops = worst_findings(verdict), None if verdict.cannot_tell else verdict.state is State.WAIT
        because = f"; {finding_words.reason(worst[0], verdict, shop)}" if worst else "."
        air = AirSaid(stops, f"Air: {words.state_words(verdict)}{because}")
        return next_coat(self.clock, shop, air, self.tried, self.pot, self.named)


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
    clock = job_clock(job, room, now, shop, asked)
    if clock.next is None:
        raise UsageError("--coating is missing", "--coating ID", "the job has no schedule and no coat yet")
    pot = None if mixed is None else pot_until(clock.next.coating, mixed(now), room, now, shop)
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
