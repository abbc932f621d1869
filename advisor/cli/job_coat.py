"""`advisor job coat`: a coat kept with one word, and its clocks."""

from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from advisor.advice.following_coat import next_coating
from advisor.advice.job import CARRIED, Coat, Job, Spraying, last_of, position, step_for, still_mixed
from advisor.advice.job_clock_words import told, warning_words
from advisor.advice.job_words import kept_words
from advisor.advice.overcoat_words import residues_told
from advisor.catalog.coatings import Coating
from advisor.cli.job_typed import Typing, check_coat, typed_coat
from advisor.cli.jobs_kept import jobs_to_write, open_job
from advisor.cli.paper import print_wrapped
from advisor.errors import AdvisorError, UsageError
from advisor.logbook.air_log import AirLog
from advisor.logbook.job_clocks import clocks_of, hurried_about, schedule_of
from advisor.logbook.job_log import JobLog
from advisor.logbook.present import place_to_spray
from advisor.logbook.store import transaction
from advisor.shop.find import shop_from
from advisor.shop.shop import Shop


def run_coat(config: Path | None, asked: str | None, texts: dict[str, str], panel: bool) -> int:
    """Keep a coat and print its clocks; exit code 0. texts: the options given."""
    shop, now = shop_from(config), datetime.now(UTC)
    typed: dict[str, Any] = typed_coat(texts, Typing(shop, now, "--"))
    with jobs_to_write(shop, now) as log:
        with transaction(log.connection):
            job = open_job(log.jobs(open_only=asked is None), asked)
            coating = _coating(job, typed, shop)
            kept = log.keep_coat(job.id, spraying(job, coating, {**typed, "panel": panel}, log, now, shop), now)
            job = log.job(job.id) or job
        coat = next(coat for coat in job.coats if coat.id == kept)
        head = kept_words(job, coat, now, shop)
        try:
            grave = (
                []
                if coat.panel
                else [warning_words(each, shop, now) for each in hurried_about(job, coat, log, now, shop)]
            )
            notes = _residues(log.coat_before(kept), coating, shop)
            said = told(clocks_of([job], log, now, shop)[0], shop, head, notes, grave)
        except AdvisorError as error:  # the coat is kept, whatever its clocks lack
            said = [head, f"No clocks: {error}"]
    print_wrapped(said)
    return 0


def _residues(before: Coat | None, coating: Coating, shop: Shop) -> list[str]:
    """What to keep apart where the kind changes: filter and bin hold what was sprayed before, for whatever job."""
    told_apart = "" if before is None else residues_told(coating, [shop.coating(before.coating)])
    return [told_apart] if told_apart else []


def _coating(job: Job, typed: dict[str, Any], shop: Shop) -> Coating:
    if "coating" in typed:
        return shop.coating(typed["coating"])
    schedule = schedule_of(job)
    coating = next_coating(job, None if schedule is None else position(schedule, job.on_piece), shop)
    if coating is None:
        raise UsageError("--coating is missing", "--coating ID", "the job has no schedule and no coat yet")
    return coating


def spraying(job: Job, coating: Coating, typed: dict[str, Any], log: JobLog, now: datetime, shop: Shop) -> Spraying:
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
        "step": step_for(schedule_of(job), coating, job.on_piece),
    }
    check_coat(said, coating)
    return Spraying(**said)
