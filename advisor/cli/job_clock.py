"""`advisor job clock`: the clocks of a job, or of all open ones, from the logged temperature of the room."""

import json
from datetime import UTC, datetime
from pathlib import Path

from advisor.advice.job_clock_words import told, told_together
from advisor.advice.job_record import clock_record
from advisor.cli.jobs_kept import any_job, jobs_to_read
from advisor.cli.paper import print_wrapped
from advisor.logbook.job_clocks import clocks_of
from advisor.say.as_json import SCHEMA, utc
from advisor.shop.find import shop_from


def run_clock(config: Path | None, asked: str | None, as_json: bool) -> int:
    """Print the clocks; exit code 0."""
    shop, now = shop_from(config), datetime.now(UTC)
    with jobs_to_read(shop) as log:
        jobs = log.jobs(open_only=asked is None)
        clocks = clocks_of([any_job(jobs, asked)] if asked is not None else jobs, log, now, shop)
    if as_json:
        found = [clock_record(clock, shop) for clock in clocks]
        answer = {"schema": SCHEMA, "computed_at": utc(now), "jobs": found}
        print(json.dumps(answer, ensure_ascii=False, allow_nan=False))
    elif not clocks:
        print_wrapped(["No open job."])
    else:
        print_wrapped(told(clocks[0], shop) if len(clocks) == 1 else told_together(clocks, shop))
    return 0
