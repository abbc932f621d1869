"""The logbook opened for jobs, and a job found by its number or its name."""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from datetime import datetime

from advisor.advice.job import Job
from advisor.errors import UsageError, did_you_mean, shown
from advisor.logbook.job_log import JobLog
from advisor.logbook.store import logbook, logbook_path
from advisor.shop.shop import Shop


@contextmanager
def jobs_to_write(shop: Shop, now: datetime) -> Iterator[JobLog]:
    """The jobs, over a writing connection beside a running daemon; an older logbook is brought up to date."""
    path = logbook_path(shop.logbook)
    with logbook(path, now) as connection:
        yield JobLog(connection)


@contextmanager
def jobs_to_read(shop: Shop) -> Iterator[JobLog]:
    """The jobs, over a reading connection."""
    path = logbook_path(shop.logbook)
    with logbook(path) as connection:
        yield JobLog(connection)


def open_job(jobs: Sequence[Job], asked: str | None) -> Job:
    """The job asked for, which must be open; without one the newest open one. Raises UsageError."""
    if asked is not None:
        job = named_job(jobs, asked)
        if job.finished_at is not None:
            raise UsageError(
                f"job {job.id} {shown(job.piece)} is done", "an open job", f"advisor job edit {job.id} done=no opens it"
            )
        return job
    still_open = [job for job in jobs if job.finished_at is None]
    if not still_open:
        raise UsageError("no open job", 'advisor job new "lid"', "begin one")
    return still_open[-1]


def any_job(jobs: Sequence[Job], asked: str | None) -> Job:
    """The job asked for, open or done; without one the newest open one, else the newest. Raises UsageError."""
    if asked is not None:
        return named_job(jobs, asked)
    if not jobs:
        raise UsageError("no job yet", 'advisor job new "lid"', "begin one")
    return next((job for job in reversed(jobs) if job.finished_at is None), jobs[-1])


def named_job(jobs: Sequence[Job], asked: str) -> Job:
    """A job by its number, or its name in whatever case, the newest open one first. Raises UsageError."""
    wanted = asked.strip().casefold()
    newest = sorted(jobs, key=lambda job: (job.finished_at is None, job.id), reverse=True)
    for job in newest:
        if wanted in (str(job.id), job.piece.casefold()):
            return job
    names = [job.piece for job in newest[:8]]
    raise UsageError(f"no job {shown(asked)}", "", did_you_mean(asked, names) if names else 'advisor job new "lid"')
