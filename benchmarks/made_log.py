"""A made logbook for the benchmarks: four series by the minute, days that warm and cool from the moment it begins."""

import math
import random
from datetime import datetime
from pathlib import Path

from advisor.logbook.store import open_for_writing

DAY = 1440  # [min]
# sensor, place, quantity, mean, swing, resolution of the logbook
SERIES = (
    ("shelf", "shop", "air_temperature", 21.0, 2.0, 0.001), ("shelf", "shop", "relative_humidity", 0.5, 0.08, 1e-5),
    ("mast", "outdoors", "air_temperature", 11.0, 8.0, 0.001),
    ("mast", "outdoors", "relative_humidity", 0.7, 0.15, 1e-5),
)  # fmt: skip


def make_log(path: Path, start: datetime, minutes: int) -> int:
    """Writes the logbook; gives the number of readings."""
    connection = open_for_writing(path, start, durable=False)
    chance = random.Random(7)
    first = round(start.timestamp()) * 1000
    for number, (sensor, place, quantity, middle, swing, step) in enumerate(SERIES, start=1):
        connection.execute("INSERT INTO series VALUES (?, ?, ?, ?)", (number, sensor, place, quantity))
        wave = (middle + swing * math.cos(2 * math.pi * (minute / DAY - 0.58)) for minute in range(minutes))
        rows = (
            (number, first + minute * 60_000, round(value / step + chance.gauss(0, 80)), "good", "", None)
            for minute, value in enumerate(wave)
        )
        connection.execute("BEGIN")
        connection.executemany("INSERT INTO reading VALUES (?, ?, ?, ?, ?, ?)", rows)
        connection.execute("COMMIT")
    connection.close()
    return minutes * len(SERIES)
