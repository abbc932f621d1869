"""`advisor job new`, `done`, `list` and `show`."""

import json
from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path

from advisor.advice.job import Job
from advisor.advice.job_record import JOB_FORMS
from advisor.advice.job_words import job_words, plan_words, record_words
from advisor.catalog.schedules import find_schedule
from advisor.cli.job_typed import typed_moment, typed_text
from advisor.cli.jobs_kept import any_job, jobs_to_read, jobs_to_write, open_job
from advisor.cli.paper import print_wrapped
from advisor.errors import UsageError, shown
from advisor.logbook.job_clocks import schedule_of
from advisor.logbook.job_log import JOB
from advisor.logbook.store import transaction
from advisor.say.as_json import SCHEMA, utc
from advisor.shop.find import shop_from


def run_new(config: Path | None, piece: str, schedule: str | None, note: str | None) -> int:
    """Begin a job; exit code 0."""
    shop, now = shop_from(config), datetime.now(UTC)
    plan = None if schedule is None else find_schedule(schedule)
    text = "" if note is None else typed_text(note, "--note")
    with jobs_to_write(shop, now) as log, transaction(log.connection):
        name = piece_name(piece, log.jobs(open_only=True))
        number = log.make_job(name, None if plan is None else plan.id, text, now)
    steps = "no schedule: say --coating with the first coat" if plan is None else plan_words(plan)
    print_wrapped([f"Job {number}: {name}; {steps}."])
    return 0


def run_done(config: Path | None, asked: str | None, at: str | None) -> int:
    """Finish a job; exit code 0."""
    shop, now = shop_from(config), datetime.now(UTC)
    when = now if at is None else typed_moment(at, "--at", shop, now)
    with jobs_to_write(shop, now) as log, transaction(log.connection):
        job = open_job(log.jobs(), asked)
        log.change(JOB, job.id, {"finished_at": when}, now)
        job = log.job(job.id) or job
    print_wrapped([job_words(job, now, shop), f"Its cure is kept still: advisor job clock {job.id}."])
    return 0


def run_list(config: Path | None, as_json: bool) -> int:
    """Print every job, the open ones first, the newest of each first; exit code 0."""
    shop, now = shop_from(config), datetime.now(UTC)
    with jobs_to_read(shop) as log:
        jobs = sorted(log.jobs(), key=lambda job: (job.finished_at is None, job.id), reverse=True)
    if as_json:
        listed = JOB_FORMS(jobs)
        print(json.dumps({"schema": SCHEMA, "computed_at": utc(now), "jobs": listed}, ensure_ascii=False))
    else:
        print_wrapped([job_words(job, now, shop) for job in jobs] or ["No job yet: advisor job new."])
    return 0


def run_show(config: Path | None, asked: str | None, as_json: bool) -> int:
    """Print all that was kept of a job; exit code 0."""
    shop, now = shop_from(config), datetime.now(UTC)
    with jobs_to_read(shop) as log:
        job = any_job(log.jobs(), asked)
        lines = log.history(job.id)
    if as_json:
        answer = {"schema": SCHEMA, "computed_at": utc(now), **JOB_FORMS(job), "history": JOB_FORMS(lines)}
        print(json.dumps(answer, ensure_ascii=False, allow_nan=False))
    else:
        print_wrapped(record_words(job, schedule_of(job), now, shop))
    return 0


def piece_name(text: str, others: Sequence[Job]) -> str:
    """A job's name: not a number, and not that of another open job. Raises UsageError."""
    name = typed_text(text, "piece")
    if name.isdigit():
        raise UsageError(f"piece {shown(name)} is a number", "a name, like lid", "numbers are given to jobs")
    for job in others:
        if job.finished_at is None and job.piece.casefold() == name.casefold():
            raise UsageError(f"job {job.id} {shown(job.piece)} is open", "another name", "or go on with that one")
    return name
