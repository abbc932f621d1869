"""Thirty simulated days without a pause: memory, threads and open files stay where they were. By hand: -m soak."""

import math
import os
import threading
from pathlib import Path

import pytest

from tests.watch.drills.bench import Bench

DAYS = 30
MINUTES_A_DAY = 1440


def memory_mb() -> float:
    """Resident memory of this process."""
    pages = int(Path("/proc/self/statm").read_text().split()[1])
    return pages * os.sysconf("SC_PAGE_SIZE") / 1e6


@pytest.mark.soak
def test_thirty_days_leave_memory_threads_and_files_as_they_were(tmp_path):
    bench = Bench(tmp_path)

    def day() -> None:
        for minute in range(MINUTES_A_DAY):
            wave = math.sin(2 * math.pi * minute / MINUTES_A_DAY)
            bench.minute(air=21.0 + 2 * wave, humidity=0.55 + 0.12 * wave)

    for _ in range(5):
        day()
    before = memory_mb(), threading.active_count(), len(os.listdir("/proc/self/fd"))
    for _ in range(DAYS - 5):
        day()
    after = memory_mb(), threading.active_count(), len(os.listdir("/proc/self/fd"))
    assert (after[0] - before[0]) / (DAYS - 5) < 1.0, "MB a day"
    assert after[1:] == before[1:]
    told = bench.told()
    assert DAYS <= len(told) <= 6 * DAYS
    assert (tmp_path / "log.db-wal").stat().st_size < 16e6
