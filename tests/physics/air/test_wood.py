"""Moisture of wood against the Wood Handbook's table, in both units, and turned round."""

from math import nan

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from advisor.errors import OutOfRange
from advisor.physics.air import wood as w
from tests.support import every, reference_rows

TABLE = reference_rows("wood_emc.csv")
BROKEN_CELL = ("60", "55")  # 140 °F: the table has 8.0, its own equation 8.4
temperatures, humidities = st.floats(-1.1, 60.0), st.floats(0.05, 0.95)
HOUR = 3600.0


def handbook_fahrenheit(fahrenheit: float, humidity: float) -> float:
    """Wood Handbook eq. 4-5 with its constants for °F [fraction]: another set of figures for the same wood."""
    t = fahrenheit
    mass = 330 + 0.452 * t + 0.00415 * t**2
    k = 0.791 + 0.000463 * t - 0.000000844 * t**2
    k1 = 6.34 + 0.000775 * t - 0.0000935 * t**2
    k2 = 1.09 + 0.0284 * t - 0.0000904 * t**2
    q = k * humidity
    return 18 / mass * (q / (1 - q) + (k1 * q + 2 * k1 * k2 * q**2) / (1 + k1 * q + k1 * k2 * q**2))


@every("row", TABLE, ids=lambda row: f"{row['air_temperature_c']} C {row['relative_humidity_pct']} %")
def test_moisture_is_that_of_the_table_within_its_rounding(row):
    """Wood Handbook (2021) Table 4-2 to a tenth of a percent (17.95 is printed 17.9); a timber guide's to a whole one.

    The guide's 15 % at 75 % and 21 % at 90 % lie up to 0.55 over the equation.
    """
    ours = 100 * w.moisture_content(float(row["air_temperature_c"]), float(row["relative_humidity_pct"]) / 100)
    published = float(row["moisture_pct"])
    if (row["air_temperature_c"], row["relative_humidity_pct"]) == BROKEN_CELL:
        assert ours == pytest.approx(8.4, abs=0.05)
        assert abs(ours - published) > 0.3
    else:
        whole = "timber guide" in row["source"]
        assert ours == pytest.approx(published, abs=0.6 if whole else 0.055)


@given(st.floats(30.0, 130.0), humidities)
def test_celsius_and_fahrenheit_constants_say_the_same(fahrenheit, humidity):
    """The two published sets of constants agree within 0.02 % of moisture up to 130 °F."""
    celsius = (fahrenheit - 32) / 1.8
    assert w.moisture_content(celsius, humidity) == pytest.approx(handbook_fahrenheit(fahrenheit, humidity), abs=3e-4)


def test_celsius_is_not_fed_to_the_fahrenheit_constants():
    """A slip seen in public code: 21 taken for °F is half a percent off at 70 %."""
    assert abs(w.moisture_content(21.1, 0.70) - handbook_fahrenheit(21.1, 0.70)) > 0.004


def test_the_constants_of_heat_are_not_misprinted():
    """Another slip seen: K1's last coefficient as -4.53e-5, which shows in the heat only."""
    assert 100 * w.moisture_content(37.8, 0.50) == pytest.approx(8.7, abs=0.05)
    assert 100 * w.moisture_content(60.0, 0.50) == pytest.approx(100 * handbook_fahrenheit(140.0, 0.50), abs=0.05)


@given(temperatures, st.floats(0.05, 0.94))
def test_damper_air_makes_wetter_wood_and_warmer_air_drier(celsius, humidity):
    here = w.moisture_content(celsius, humidity)
    assert w.moisture_content(celsius, humidity + 0.01) > here
    if celsius >= 10.0:  # under it the equation hardly moves with temperature
        assert w.moisture_content(celsius + 5.0, humidity) < here


@given(st.floats(-1.1, 130.0), humidities)
def test_the_air_for_a_moisture_is_the_air_that_gave_it(celsius, humidity):
    assert w.humidity_for(celsius, w.moisture_content(celsius, humidity)) == pytest.approx(humidity, abs=1e-9)


def test_arrays_are_worked_through_in_one_go():
    celsius, humidity = np.array([10.0, 20.0, 30.0]), np.array([[0.4], [0.6]])
    moisture = w.moisture_content(celsius, humidity)
    assert moisture.shape == (2, 3)
    assert moisture[1, 2] == w.moisture_content(30.0, 0.6)
    assert w.humidity_for(celsius, moisture) == pytest.approx(np.broadcast_to(humidity, (2, 3)))


def test_furniture_at_6_to_8_percent_asks_for_30_to_43_percent_air():
    """The usual target (read, a meter maker's page) in the air that Table 4-2 has for it at 70 °F."""
    assert w.humidity_for(21.1, 0.062) == pytest.approx(0.30, abs=0.005)
    assert w.humidity_for(21.1, 0.077) == pytest.approx(0.40, abs=0.005)


def month(days=30, every=HOUR):
    times = np.arange(0, days * w.DAY + 1, every)
    return times, np.full(len(times), 20.0), np.full(len(times), 0.5)


def test_the_mean_of_steady_air_is_its_moisture():
    mean = w.mean_moisture(*month())
    assert mean == w.MeanMoisture(mean=pytest.approx(w.moisture_content(20.0, 0.5)), days=28.0, beyond=0.0)


def test_the_mean_is_by_time_and_not_by_reading():
    """A week of readings a minute apart at 80 % and three of readings an hour apart at 40 %."""
    slow = np.arange(0, 21 * w.DAY, HOUR)
    fast = 21 * w.DAY + np.arange(0, 7 * w.DAY + 1, 60.0)
    times = np.concatenate((slow, fast))
    humidity = np.where(times < 21 * w.DAY, 0.4, 0.8)
    mean = w.mean_moisture(times, np.full(len(times), 20.0), humidity)
    expected = 0.75 * w.moisture_content(20.0, 0.4) + 0.25 * w.moisture_content(20.0, 0.8)
    assert mean.mean == pytest.approx(expected, rel=1e-3)


def test_only_the_last_four_weeks_count():
    times, celsius, humidity = month(60)
    humidity = np.where(times < 31 * w.DAY, 0.9, humidity)
    assert w.mean_moisture(times, celsius, humidity).mean == pytest.approx(w.moisture_content(20.0, 0.5))


def test_air_beyond_the_table_is_told():
    times, celsius, humidity = month(28)
    mean = w.mean_moisture(times, celsius, np.where(times <= 7 * w.DAY, 0.99, humidity))
    assert mean.beyond == pytest.approx(0.25, abs=0.002)
    steady = w.moisture_content(20.0, 0.5)
    assert mean.mean == pytest.approx(0.25 * w.moisture_content(20.0, 0.95) + 0.75 * steady, rel=2e-3)


@pytest.mark.parametrize(("days", "known"), [(13.9, False), (14.0, True), (14.1, True)])
def test_under_two_weeks_nothing_is_said(days, known):
    assert (w.mean_moisture(*month(days, days * w.DAY / 400)) is not None) == known


def test_a_gap_is_not_filled():
    times, celsius, humidity = month(28)
    kept = (times <= 8 * w.DAY) | (times >= 15 * w.DAY)
    mean = w.mean_moisture(times[kept], celsius[kept], humidity[kept])
    assert mean.days == pytest.approx(21.0)
    kept = (times <= 6 * w.DAY) | (times >= 21 * w.DAY)
    assert w.mean_moisture(times[kept], celsius[kept], humidity[kept]) is None
    assert w.mean_moisture(times[:1], celsius[:1], humidity[:1]) is None
    assert w.mean_moisture(times[:0], celsius[:0], humidity[:0]) is None


@pytest.mark.parametrize(
    ("function", "figures", "words"),
    [
        (w.moisture_content, (20.0, 0.049), "humidity 0.049"), (w.moisture_content, (20.0, 0.951), "humidity 0.951"),
        (w.moisture_content, (20.0, 50.0), "humidity 50"), (w.moisture_content, (20.0, nan), "humidity nan"),
        (w.moisture_content, (-1.3, 0.5), "temperature -1.3"), (w.moisture_content, (132.3, 0.5), "temperature 132"),
        (w.humidity_for, (nan, 0.1), "temperature nan"), (w.humidity_for, (20.0, 8.0), "moisture content 8"),
        (w.humidity_for, (20.0, 0.30), "moisture content 0.3"), (w.humidity_for, (20.0, 0.01), "0.01"),
        (w.humidity_for, (20.0, nan), "moisture content nan"),
    ],
)  # fmt: skip
def test_figures_outside_the_table_are_refused(function, figures, words):
    with pytest.raises(OutOfRange, match=words):
        function(*figures)


@pytest.mark.parametrize(("at", "with_", "words"), [
    (0, [0.0, 0.0, 1.0], "times"), (0, [0.0, nan, 1.0], "times"), (0, [0.0, 1.0], "unequal"),
    (1, [20.0, -61.0, 20.0], "temperature"), (2, [0.5, 1.01, 0.5], "humidity"), (2, [0.5, nan, 0.5], "humidity nan"),
])  # fmt: skip
def test_a_record_that_cannot_be_is_refused(at, with_, words):
    record = [np.array([0.0, 1.0, 2.0]), np.full(3, 20.0), np.full(3, 0.5)]
    record[at] = np.array(with_)
    with pytest.raises(OutOfRange, match=words):
        w.mean_moisture(*record)
