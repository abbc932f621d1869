"""A coat kept with one word, corrected, taken back; what stood there before stays in the history."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict, dataclass
from datetime import datetime, timedelta
from typing import Any

from advisor.catalog.coatings import Coating
from advisor.catalog.schedules import find_schedule
from advisor.desk.coat_fields import Typing, check_coat, typed_coat
from advisor.desk.jobs import coat_of, jobs_kept, named_job, open_job, piece_name
from advisor.desk.typed import typed_moment, typed_text
from advisor.errors import AdvisorError, UsageError, did_you_mean, refuse, shown
from advisor.jobs.following_coat import JobWarning, next_coating
from advisor.jobs.job import CARRIED, Coat, HistoryLine, Job, Spraying, last_of, position, step_for, still_mixed
from advisor.jobs.job_clock import JobClock
from advisor.logbook.air_log import AirLog
from advisor.logbook.job_log import COAT, JOB, JobLog
from advisor.logbook.store import transaction
from advisor.shop.shop import Shop
from advisor.sources.job_clocks import clocks_of, hurried_about
from advisor.sources.log_air import place_to_spray


@dataclass(frozen=True)
class Kept:
    """A new coat, and its job as it stands now.

    clock: of the job; hurried: what was wrong with when the coat was sprayed, and the one over it; before: what was
    sprayed before it, of whatever job. fault: why these could not be had: the coat is kept whatever its clocks lack.
    """

    job: Job
    coat: Coat
    clock: JobClock | None = None
    hurried: Sequence[JobWarning] = ()
    before: Coating | None = None
    fault: str = ""


@dataclass(frozen=True)
class Corrected:
    """A coat as it stands now, or the job itself, coat None; changed: whether anything was. The rest as in Kept."""

    job: Job
    coat: Coat | None
    changed: bool
    hurried: Sequence[JobWarning] = ()
    fault: str = ""


def keep_coat(asked: str | None, texts: Mapping[str, str], panel: bool, shop: Shop, now: datetime) -> Kept:
    """Keep a coat: without texts one now, of the schedule's next step, as the last one. Raises UsageError.

    asked: the job; else the newest open one. texts: the fields of a coat as typed, by their options' names.
    """
    typed: dict[str, Any] = typed_coat(texts, Typing(shop, now, "--"))
    with jobs_kept(shop, now) as log:
        with transaction(log.connection):
            job = open_job(log.jobs(open_only=asked is None), asked)
            coating = _coating(job, typed, shop)
            kept = log.keep_coat(job.id, _spraying(job, coating, {**typed, "panel": panel}, log, now, shop), now)
            job = log.job(job.id) or job
        coat = next(coat for coat in job.coats if coat.id == kept)
        try:
            hurried = () if coat.panel else hurried_about(job, coat, log, now, shop)
            before = log.coat_before(kept)
            under = None if before is None else shop.coating(before.coating)
            return Kept(job, coat, clocks_of([job], log, now, shop)[0], hurried, under)
        except AdvisorError as error:
            return Kept(job, coat, fault=str(error))


def edit(asked: str, number: int | None, fields: Sequence[str], shop: Shop, now: datetime) -> Corrected:
    """Correct a coat, or a job's piece, schedule, note, done. fields: `field=value`. Raises UsageError."""
    texts = _pairs(fields)
    with jobs_kept(shop, now) as log:
        with transaction(log.connection):
            jobs = log.jobs()
            job = named_job(jobs, asked)
            if number is None:
                lines = log.change(JOB, job.id, _job_values(texts, jobs, job, shop, now), now)
            else:
                coat = coat_of(job, number, str(job.id))
                lines = log.change(COAT, coat.id, _coat_values(texts, job, coat, shop, now), now)
            job = log.job(job.id) or job
        changed = None if number is None else job.coat(number)
        try:
            hurried = hurried_about(job, changed, log, now, shop) if changed is not None and lines else ()
            return Corrected(job, changed, bool(lines), hurried)
        except AdvisorError as error:
            return Corrected(job, changed, bool(lines), fault=str(error))


def undo(shop: Shop, now: datetime) -> tuple[list[HistoryLine], dict[tuple[str, int], dict[str, Any]], str]:
    """Take back the last entry: its lines, their rows as they stand now, the job's piece. Raises UsageError."""
    with jobs_kept(shop, now) as log:
        with transaction(log.connection):
            lines = log.undo(now)
        refuse((not lines, "nothing to take back", "an entry", "advisor job list"))
        rows = {(line.of, line.row): log.row_of(line.of, line.row) for line in lines}
        return lines, rows, log.row_of(JOB, lines[0].job)["piece"]


def _coating(job: Job, typed: Mapping[str, Any], shop: Shop) -> Coating:
    if "coating" in typed:
        return shop.coating(typed["coating"])
    schedule = job.known_schedule
    coating = next_coating(job, None if schedule is None else position(schedule, job.on_piece), shop)
    if coating is None:
        raise UsageError("--coating is missing", "--coating ID", "the job has no schedule and no coat yet")
    return coating


def _spraying(job: Job, coating: Coating, typed: dict[str, Any], log: JobLog, now: datetime, shop: Shop) -> Spraying:
    """The coat as typed; what was not said as in this job's last coat of that coating. Raises UsageError."""
    start = typed.pop("started_at", now)
    lasts = typed.pop("minutes", shop.limit("session_spray").value)
    before = last_of(coating.id, job.coats)
    carried = {} if before is None else {name: getattr(before, name) for name in CARRIED}
    if before is not None:
        carried["mixed_at"] = still_mixed(before, coating, start)
    place = shop.spray_place
    if carried.get("place") is None and place is None:
        series = AirLog(log.connection).all_series()
        place = place_to_spray(shop, series) if series else None
    said: dict[str, Any] = {
        "place": place,
        **{name: value for name, value in carried.items() if value is not None},
        **typed,
        "coating": coating.id,
        "started_at": start,
        "ended_at": start + timedelta(seconds=lasts),
        "step": step_for(job.known_schedule, coating, job.on_piece),
    }
    check_coat(said, coating)
    return Spraying(**said)


def _pairs(fields: Sequence[str]) -> dict[str, str]:
    """`field=value` each once."""
    found: dict[str, str] = {}
    for field in fields:
        name, sign, value = field.partition("=")
        refuse(
            (
                not sign or not name.strip(),
                f"{shown(field)} is no change", "field=value, like needle=1.4mm", "correct it",
            ),
            (name.strip() in found, f"{shown(name.strip())} twice", "each field once", "leave one out"),
        )  # fmt: skip
        found[name.strip()] = value
    return found


def _coat_values(texts: Mapping[str, str], job: Job, coat: Coat, shop: Shop, now: datetime) -> dict[str, Any]:
    """The columns that change; a new start moves the end along, a new coating finds its step."""
    typed: dict[str, Any] = typed_coat(texts, Typing(shop, now, ""))
    lasts = typed.pop("minutes", (coat.ended_at - coat.started_at).total_seconds())
    start = typed.get("started_at", coat.started_at)
    values = {**typed, "started_at": start, "ended_at": start + timedelta(seconds=lasts)}
    coating = shop.coating(values.get("coating", coat.coating))
    if coating.id != coat.coating and "step" not in values:
        others = [each for each in job.on_piece if each.started_at < coat.started_at]
        values["step"] = step_for(job.known_schedule, coating, others)
    schedule, step = job.known_schedule, values.get("step")
    if step is not None and schedule is not None and schedule.step(step) is None:
        steps = ", ".join(each.step for each in schedule.steps)
        raise UsageError(f"step {shown(step)} in {schedule.id}", steps, "choose one")
    check_coat({**asdict(coat), **values}, coating)
    return values


def _job_values(texts: Mapping[str, str], jobs: Sequence[Job], job: Job, shop: Shop, now: datetime) -> dict[str, Any]:
    others = [other for other in jobs if other.id != job.id]
    read: dict[str, tuple[str, Callable[[str], Any]]] = {
        "piece": ("piece", lambda text: piece_name(text, others)),
        "schedule": ("schedule", lambda text: find_schedule(text).id if text.strip() else None),
        "note": ("note", lambda text: typed_text(text, "note") if text.strip() else ""),
        "done": ("finished_at", lambda text: None if text.strip() == "no" else typed_moment(text, "done", shop, now)),
    }
    values: dict[str, Any] = {}
    for name, text in texts.items():
        refuse((
            name not in read,
            f"no field {shown(name)} of a job", "", f"{did_you_mean(name, read)}; else --coat N",
        ))  # fmt: skip
        column, reader = read[name]
        values[column] = reader(text)
    return values
