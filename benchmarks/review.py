"""A year of four sensors by the minute (2.1 million readings): one coat and 300 coats read back, beside the bare query.

.venv/bin/python benchmarks/review.py [FOLDER]    makes the logbook (about a minute), then times fresh processes
"""

import sqlite3
import subprocess
import sys
import tempfile
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path

from made_log import make_log

from advisor.jobs.job import Spraying
from advisor.logbook.job_log import JobLog
from advisor.logbook.store import open_for_writing

MINUTES = 365 * 1440
START = datetime(2025, 1, 1, tzinfo=UTC)


def make(path: Path) -> int:
    """The logbook; gives the number of readings."""
    count = make_log(path, START, MINUTES)
    connection = open_for_writing(path, START, durable=False)
    jobs = JobLog(connection)
    for day in range(100):
        at = START + timedelta(days=3 * day + 5, hours=9)
        job = jobs.make_job(f"piece {day}", None, "", at)
        for n in range(3):
            begun = at + timedelta(hours=2 * n)
            coat = Spraying(coating="nitrocellulose-lacquer", started_at=begun, ended_at=begun + timedelta(minutes=5))
            jobs.keep_coat(job, coat, begun)
    connection.close()
    return count


def timed(arguments: list[str]) -> float:
    """Wall seconds of one fresh process."""
    start = time.perf_counter()
    subprocess.run([sys.executable, *arguments], check=False, stdout=subprocess.DEVNULL)
    return time.perf_counter() - start


def main() -> None:
    """Make, then measure."""
    folder = Path(sys.argv[1] if len(sys.argv) > 1 else tempfile.mkdtemp())
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / "log.db"
    if not path.exists():
        print(f"{make(path):,} readings")
    config = folder / "advisor.toml"
    config.write_text('coatings = ["nitrocellulose-lacquer"]\nlogbook = "log.db"\nzone = "UTC"\n')
    when = "2025-08-03T11:00Z"
    middle = int(datetime(2025, 8, 3, 11, tzinfo=UTC).timestamp() * 1000)
    hours = 3_600_000
    start = time.perf_counter()
    rows = sqlite3.connect(path).execute(
        "SELECT * FROM reading WHERE at BETWEEN ? AND ? AND series_id IN (1, 2, 3, 4)",
        (middle - 30 * hours, middle + 36 * hours),
    ).fetchall()  # fmt: skip
    bare = time.perf_counter() - start
    one = ["-m", "advisor", "review", "--config", str(config), "--coating", "nitrocellulose-lacquer", "--sprayed", when]
    timed(one)
    single, year = timed(one), timed(["-m", "advisor", "learn", "--config", str(config)])
    print(f"bare query of one coat's rows   {bare:.3f} s   {len(rows):,} rows")
    print(f"one coat reviewed, whole process {single:.2f} s   {single / bare:.0f} of the bare query")
    print(f"300 coats, whole process         {year:.2f} s   {year / bare:.0f} of the bare query")


if __name__ == "__main__":
    main()
