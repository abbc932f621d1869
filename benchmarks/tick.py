"""The daemon's minute over six hours of a made log, ten coatings and three, with 30 days behind them and jobs in it.

.venv/bin/python benchmarks/tick.py    seconds of one tick: first, middle, worst; beside `import pandas` in this run
"""

import statistics
import subprocess
import sys
import tempfile
import time
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

from made_log import DAY, make_log

from advisor.catalog.coatings import coating_ids
from advisor.jobs.job import Spraying
from advisor.logbook.air_log import AirLog
from advisor.logbook.job_log import JobLog
from advisor.logbook.store import open_for_writing, transaction
from advisor.shop.find import shop_from
from advisor.watch.clock import SimulatedClock
from advisor.watch.daemon import Daemon

HOURS = 6
BEGIN = datetime(2026, 6, 1, 8, 30, tzinfo=UTC)


def ticks(names: tuple[str, ...]) -> tuple[list[float], list[float]]:
    """Seconds of each tick, and of what is computed after it; a job's coat is begun after the first hour."""
    folder = Path(tempfile.mkdtemp())
    config = folder / "advisor.toml"
    config.write_text('coatings = ["shellac"]\nlogbook = "log.db"\nzone = "UTC"\n')
    make_log(folder / "log.db", BEGIN - timedelta(days=30), 30 * DAY + HOURS * 60)
    shop = replace(shop_from(config), coatings=names)
    connection = open_for_writing(folder / "log.db", BEGIN, durable=False)

    def write(job):
        with transaction(connection):
            return job(connection)

    daemon = Daemon(shop, names, AirLog(connection), write, ("screen",))
    clock, took, after = SimulatedClock(BEGIN), [], []
    for minute in range(HOURS * 60):
        if minute == 60:
            now = clock.now().wall
            jobs = JobLog(connection)
            coat = Spraying(coating=names[0], started_at=now, ended_at=now + timedelta(minutes=5))
            jobs.keep_coat(jobs.make_job("bench", None, "", now), coat, now)
        start = time.perf_counter()
        daemon.tick(clock.now())
        took.append(time.perf_counter() - start)
        start = time.perf_counter()
        daemon.look_ahead()
        after.append(time.perf_counter() - start)
        clock.advance(timedelta(minutes=1))
    connection.close()
    return took, after


def main() -> None:
    """Three coatings and all, in this order: films of one are not of the other."""
    subprocess.run([sys.executable, "-c", "import pandas"], check=True)
    start = time.perf_counter()
    subprocess.run([sys.executable, "-c", "import pandas"], check=True)
    pandas = time.perf_counter() - start
    everything = coating_ids()
    for names in (everything[:3], everything):
        took, after = ticks(names)
        later = sorted(took[1:])
        over = sum(each > 0.3 for each in later)
        print(
            f"{len(names):>2} coatings: first {took[0]:.2f} s, middle {statistics.median(later) * 1000:.0f} ms, "
            f"99 of 100 under {later[int(0.99 * len(later))]:.2f} s, worst {later[-1]:.2f} s "
            f"({later[-1] / pandas:.2f} of import pandas), {over} over 0.3 s; "
            f"between two ticks: middle {statistics.median(after) * 1000:.0f} ms, worst {max(after):.2f} s"
        )


if __name__ == "__main__":
    main()
