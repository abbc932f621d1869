"""`advisor job saw`, `panel` and `rework`: what was seen on a piece, and what was done about it."""

from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from advisor.advice.job import Job
from advisor.advice.job_words import job_name, observation_words, rework_words
from advisor.catalog.mechanisms import find_defect
from advisor.cli.job_typed import typed_moment, typed_text
from advisor.cli.jobs_kept import any_job, jobs_to_write
from advisor.cli.paper import print_wrapped
from advisor.errors import CatalogError, LogbookError, UsageError, shown
from advisor.logbook.job_log import JobLog
from advisor.logbook.store import transaction
from advisor.shop.find import shop_from
from advisor.shop.shop import Shop

_GOOD, _BAD = "good", "bad"
_LONGEST_PATH = 400  # characters


@dataclass(frozen=True)
class AskedSaw:
    """The command line of `advisor job saw`."""

    defect: str | None = None
    job: str | None = None
    coat: int | None = None
    where: str | None = None
    severity: int | None = None
    photo: str | None = None
    good: bool = False
    at: str | None = None
    note: str | None = None


def run_saw(config: Path | None, asked: AskedSaw) -> int:
    """Keep what was seen; exit code 0."""
    shop, now = shop_from(config), datetime.now(UTC)
    good = asked.good or (asked.defect or "").strip().casefold() == _GOOD
    named = None if asked.defect is None or asked.defect.strip().casefold() == _GOOD else asked.defect
    if named is None and not good:
        raise UsageError("no defect named", "advisor job saw blush, or advisor job saw good", "say what was seen")
    if asked.severity is not None and not 1 <= asked.severity <= 3:
        raise UsageError(f"--severity {asked.severity}", "1 slight, 2 plain, 3 spoilt", "choose one")
    if asked.severity is not None and good:
        raise UsageError("--severity beside good", "one of the two", "leave one out")
    spot = "" if asked.where is None else typed_text(asked.where, "--where")
    text = "" if asked.note is None else typed_text(asked.note, "--note")
    photo = None if asked.photo is None else _photo(asked.photo)
    at = now if asked.at is None else typed_moment(asked.at, "--at", shop, now)
    with jobs_to_write(shop, now) as log, transaction(log.connection):
        defect, wanted = _defect_and_job(log, asked, named)
        job = any_job(log.jobs(), wanted)
        kept = log.keep_observation(
            job.id, at, now, coat=_coat_id(job, asked.coat), defect=defect, good=good, severity=asked.severity,
            spot=spot, photo=photo, text=text,
        )  # fmt: skip
        job = _again(log, job)
    _say(job, kept, now, shop)
    return 0


def run_panel(config: Path | None, result: str, note: str | None) -> int:
    """Keep how the newest test panel came out; exit code 0."""
    shop, now = shop_from(config), datetime.now(UTC)
    if result.strip().casefold() not in (_GOOD, _BAD):
        raise UsageError(f"panel {shown(result)}", "good or bad", "say one")
    text = "" if note is None else typed_text(note, "--note")
    with jobs_to_write(shop, now) as log, transaction(log.connection):
        panels = [(coat.started_at, coat.id, job) for job in log.jobs() for coat in job.coats if coat.panel]
        if not panels:
            raise UsageError("no test panel yet", "advisor job coat --panel", "keep the panel's coat first")
        _, coat, job = max(panels, key=lambda each: each[:2])
        good = result.strip().casefold() == _GOOD
        kept = log.keep_observation(job.id, now, now, coat=coat, good=good, text=text)
        job = _again(log, job)
    _say(job, kept, now, shop)
    return 0


def run_rework(config: Path | None, what: str, asked: str | None, at: str | None) -> int:
    """Keep what was done to a piece; exit code 0."""
    shop, now = shop_from(config), datetime.now(UTC)
    text = typed_text(what, "rework")
    when = now if at is None else typed_moment(at, "--at", shop, now)
    with jobs_to_write(shop, now) as log, transaction(log.connection):
        job = any_job(log.jobs(), asked)
        kept = log.keep_rework(job.id, when, text, now)
        job = _again(log, job)
    rework = next(each for each in job.reworks if each.id == kept)
    print_wrapped([f"Kept: {job_name(job)}. {rework_words(rework, now, shop)}"])
    return 0


def _say(job: Job, kept: int, now: datetime, shop: Shop) -> None:
    seen = next(each for each in job.observations if each.id == kept)
    print_wrapped([f"Kept: {job_name(job)}. {observation_words(seen, job, now, shop)}"])


def _again(log: JobLog, job: Job) -> Job:
    """The job as it stands now."""
    found = log.job(job.id)
    if found is None:
        raise LogbookError(f"job {job.id} is gone", "", "advisor job list")
    return found


def _defect_and_job(log: JobLog, asked: AskedSaw, named: str | None) -> tuple[str | None, str | None]:
    """The defect's id and the job asked for: with --good alone, the one word may be the job."""
    if named is None:
        return None, asked.job
    try:
        return find_defect(named).id, asked.job
    except CatalogError:
        jobs = {name for job in log.jobs() for name in (str(job.id), job.piece.casefold())}
        if asked.good and asked.job is None and named.strip().casefold() in jobs:
            return None, named
        raise


def _coat_id(job: Job, number: int | None) -> int | None:
    if number is None:
        return None
    coat = job.coat(number)
    if coat is None:
        known = ", ".join(str(coat.number) for coat in job.coats) or "none yet"
        raise UsageError(f"no coat {number} in job {job_name(job)}", known, "advisor job show")
    return coat.id


def _photo(text: str) -> str:
    """A picture's whole path."""
    if not (text.strip() and text.isprintable() and len(text) <= _LONGEST_PATH):
        raise UsageError(f"--photo {shown(text)}", f"a path of up to {_LONGEST_PATH} characters", "correct it")
    try:
        path = Path(text).expanduser().resolve()
        there = path.is_file()
    except (OSError, ValueError, RuntimeError):
        there = False
    if not there:
        raise UsageError(f"--photo {shown(text)} is no file", "a picture that is there", "check the path")
    return str(path)
