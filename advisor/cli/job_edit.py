"""`advisor job edit` and `advisor job undo`: corrections that keep what stood there before."""

from collections.abc import Mapping
from dataclasses import asdict
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from advisor.advice.job import Coat, Job, step_for
from advisor.advice.job_clock_words import warning_words
from advisor.advice.job_words import coat_words, job_words, undone_words
from advisor.catalog.schedules import find_schedule
from advisor.cli.job import piece_name
from advisor.cli.job_typed import Typing, check_coat, typed_coat, typed_moment, typed_text
from advisor.cli.jobs_kept import jobs_to_write, named_job
from advisor.cli.paper import print_wrapped
from advisor.errors import AdvisorError, UsageError, did_you_mean, shown
from advisor.logbook.job_log import COAT, JOB, JobLog
from advisor.logbook.store import transaction
from advisor.shop.find import shop_from
from advisor.shop.shop import Shop
from advisor.sources.job_clocks import hurried_about, schedule_of

_JOB_FIELDS = ("piece", "schedule", "note", "done")


def run_edit(config: Path | None, asked: str, number: int | None, fields: list[str]) -> int:
    """Change a coat, or the job itself, and say what stands there now; exit code 0."""
    shop, now = shop_from(config), datetime.now(UTC)
    texts = _pairs(fields)
    with jobs_to_write(shop, now) as log:
        with transaction(log.connection):
            jobs = log.jobs()
            job = named_job(jobs, asked)
            if number is None:
                values = _job_values(texts, jobs, job, shop, now)
                lines = log.change(JOB, job.id, values, now)
            else:
                coat = job.coat(number)
                if coat is None:
                    known = ", ".join(str(coat.number) for coat in job.coats) or "none yet"
                    raise UsageError(f"no coat {number} in job {job.id}", known, "advisor job show")
                lines = log.change(COAT, coat.id, _coat_values(texts, job, coat, shop, now), now)
            job = log.job(job.id) or job
        changed = job.coat(number) if number is not None else None
        grave = _grave(job, changed, log, now, shop) if changed is not None and lines else []
    what = job_words(job, now, shop) if changed is None else coat_words(changed, now, shop)
    print_wrapped([what if lines else f"Nothing changed. {what}", *grave])
    return 0


def _grave(job: Job, coat: Coat, log: JobLog, now: datetime, shop: Shop) -> list[str]:
    """What a corrected time or coating makes of the coat and of the one over it."""
    try:
        return [warning_words(each, shop, now) for each in hurried_about(job, coat, log, now, shop)]
    except AdvisorError as error:  # the correction is kept, whatever its clocks lack
        return [f"No clocks: {error}"]


def run_undo(config: Path | None) -> int:
    """Take back the last entry and say which; exit code 0."""
    shop, now = shop_from(config), datetime.now(UTC)
    with jobs_to_write(shop, now) as log:
        with transaction(log.connection):
            lines = log.undo(now)
        if not lines:
            raise UsageError("nothing to take back", "an entry", "advisor job list")
        rows = {(line.of, line.row): log.row_of(line.of, line.row) for line in lines}
        piece = log.row_of(JOB, lines[0].job)["piece"]
    print_wrapped([undone_words(lines, rows, piece, now, shop)])
    return 0


def _pairs(fields: list[str]) -> dict[str, str]:
    """`field=value` each once."""
    found: dict[str, str] = {}
    for field in fields:
        name, sign, value = field.partition("=")
        if not sign or not name.strip():
            raise UsageError(f"{shown(field)} is no change", "field=value, like needle=1.4mm", "correct it")
        if name.strip() in found:
            raise UsageError(f"{shown(name.strip())} twice", "each field once", "leave one out")
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
        values["step"] = step_for(schedule_of(job), coating, others)
    schedule, step = schedule_of(job), values.get("step")
    if step is not None and schedule is not None and schedule.step(step) is None:
        steps = ", ".join(each.step for each in schedule.steps)
        raise UsageError(f"step {shown(step)} in {schedule.id}", steps, "choose one")
    check_coat({**asdict(coat), **values}, coating)
    return values


def _job_values(texts: Mapping[str, str], jobs: list[Job], job: Job, shop: Shop, now: datetime) -> dict[str, Any]:
    values: dict[str, Any] = {}
    for name, text in texts.items():
        if name not in _JOB_FIELDS:
            raise UsageError(
                f"no field {shown(name)} of a job", "", f"{did_you_mean(name, _JOB_FIELDS)}; else --coat N"
            )
        if name == "piece":
            values["piece"] = piece_name(text, [other for other in jobs if other.id != job.id])
        elif name == "schedule":
            values["schedule"] = find_schedule(text).id if text.strip() else None
        elif name == "note":
            values["note"] = typed_text(text, "note") if text.strip() else ""
        elif text.strip() == "no":
            values["finished_at"] = None
        else:
            values["finished_at"] = typed_moment(text, "done", shop, now)
    return values
