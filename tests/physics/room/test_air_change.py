"""Air changes against the published removal tables, and the rate found from a decay."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from advisor.errors import OutOfRange
from advisor.physics.room.air_change import (
    air_change_from_decay,
    flow_from_face_velocity,
    flow_from_name_plate,
    remaining_share,
    removal_time,
)
from tests.support import every, reference_rows

HOUR, MINUTE = 3600.0, 60.0
CELLS = [
    (row["table"], float(row["ach"]), share, float(row[column]))
    for row in reference_rows("ach_removal.csv")
    for share, column in ((0.1, "min_90"), (0.01, "min_99"), (0.001, "min_999"))
    if row[column]
]
rates = st.floats(1e-5, 1e-2)


def test_the_published_tables_are_here_whole():
    """MMWR 1994;43(RR-13) Table S3-1: 26 rows of three; CDC 2003 Table B.1: nine of two."""
    assert len(CELLS) == 26 * 3 + 9 * 2


@every("table, per_hour, share, minutes", CELLS)
def test_every_cell_of_the_removal_tables_is_the_formula_s_whole_minute(table, per_hour, share, minutes):
    assert int(removal_time(per_hour / HOUR, share) / MINUTE + 0.5) == minutes, table


@given(rates, st.floats(1e-4, 1.0), st.floats(1.0, 10.0))
def test_waiting_the_removal_time_leaves_that_share(rate, share, factor):
    assert remaining_share(rate, removal_time(rate, share, factor), factor) == pytest.approx(share, rel=1e-9)


@given(rates, st.floats(1e-6, 0.99), st.floats(1.0, 9.0))
def test_poorer_mixing_slower_change_and_a_smaller_rest_take_longer(rate, share, factor):
    here = removal_time(rate, share, factor)
    assert removal_time(rate, share, factor * 1.1) > here
    assert removal_time(rate * 0.9, share, factor) > here
    assert removal_time(rate, share * 0.9, factor) > here


def test_very_poor_mixing_takes_ten_times_as_long():
    """The published factor: up to 10 where distribution is very poor."""
    assert removal_time(6 / HOUR, 0.01, 10.0) == pytest.approx(10.0 * removal_time(6 / HOUR, 0.01))


def test_many_rooms_at_once_are_each_their_own():
    several = removal_time(np.array([2.0, 6.0]) / HOUR, 0.01)
    assert several == pytest.approx([float(removal_time(2 / HOUR, 0.01)), float(removal_time(6 / HOUR, 0.01))])


@pytest.mark.parametrize(
    ("figures", "words"),
    [((0.0, 0.1), "air change 0 1/s"), ((np.nan, 0.1), "air change nan"), ((0.11, 0.1), "air change 0.11"),
     ((1e-3, 0.0), "share that remains 0"), ((1e-3, 1.001), "remains 1.001"), ((1e-3, np.nan), "remains nan"),
     ((1e-3, 0.1, 0.99), "mixing factor 0.99"), ((1e-3, 0.1, 10.01), "mixing factor 10.01"),
     ((1e-3, 0.1, np.nan), "mixing factor nan")],
)  # fmt: skip
def test_figures_outside_the_range_are_refused(figures, words):
    with pytest.raises(OutOfRange, match=words):
        removal_time(*figures)


@given(rates, st.floats(0.0, 1000.0), st.floats(1.0, 1e4), st.integers(3, 40))
def test_a_clean_decay_gives_its_rate_back(rate, background, excess, count):
    time = np.linspace(0.0, 3.0 / rate, count)
    found = air_change_from_decay(time, background + excess * np.exp(-rate * time), background)
    assert found.value == pytest.approx(rate, rel=1e-6)
    assert found.uncertainty < 1e-6 * rate


def test_the_stated_uncertainty_is_that_of_repeated_trials():
    """Noise of 2 % in each of 11 readings: the scatter of 400 trials within a tenth of the mean stated."""
    dice, time, rate = np.random.default_rng(7), np.arange(0.0, 601.0, 60.0), 1 / 180.0
    trials = [
        air_change_from_decay(time, 400.0 + 800.0 * np.exp(-rate * time) * dice.lognormal(0.0, 0.02, time.size), 400.0)
        for _ in range(400)
    ]
    scatter = np.std([trial.value for trial in trials])
    assert scatter == pytest.approx(np.mean([trial.uncertainty for trial in trials]), rel=0.1)
    assert np.mean([trial.value for trial in trials]) == pytest.approx(rate, abs=3 * scatter / 20)


def test_a_faster_fall_is_a_faster_change():
    time = np.array([0.0, 60.0, 120.0])
    slow = air_change_from_decay(time, np.array([900.0, 800.0, 720.0]), 400.0)
    assert air_change_from_decay(time, np.array([900.0, 750.0, 620.0]), 400.0).value > slow.value > 0


@pytest.mark.parametrize(
    ("times", "readings", "words"),
    [([0.0, 60.0], [900.0, 800.0], "2 readings"),
     ([0.0, 60.0, 120.0], [900.0, 800.0], "unequal lengths \\(3, 2\\)"),
     ([0.0, 60.0, 60.0], [900.0, 800.0, 700.0], "times that do not rise"),
     ([0.0, np.nan, 120.0], [900.0, 800.0, 700.0], "times that do not rise"),
     ([0.0, 60.0, 120.0], [900.0, 400.0, 450.0], "reading of 400 over a background of 400"),
     ([0.0, 60.0, 120.0], [900.0, np.nan, 500.0], "reading of nan"),
     ([0.0, 60.0, 120.0], [700.0, 800.0, 900.0], "readings that do not fall"),
     ([0.0, 60.0, 120.0], [700.0, 700.0, 700.0], "readings that do not fall")],
)  # fmt: skip
def test_records_that_are_no_decay_are_refused(times, readings, words):
    with pytest.raises(OutOfRange, match=words):
        air_change_from_decay(np.array(times), np.array(readings), 400.0)


def test_a_background_that_is_no_number_is_refused():
    with pytest.raises(OutOfRange, match="background of nan"):
        air_change_from_decay(np.array([0.0, 60.0, 120.0]), np.array([900.0, 800.0, 700.0]), np.nan)


def test_a_name_plate_counts_half_and_a_measured_face_whole():
    """Common practice, no source: filters, duct and a small opening take half of what stands on the plate."""
    assert flow_from_name_plate(1.0) == 0.5
    assert flow_from_face_velocity(0.5, 1.0) == 0.5


@pytest.mark.parametrize("figures", [(np.nan, 1.0), (0.5, np.nan), (-0.1, 1.0), (0.5, 51.0)])
def test_an_opening_that_is_none_is_refused(figures):
    with pytest.raises(OutOfRange):
        flow_from_face_velocity(*figures)
    with pytest.raises(OutOfRange):
        flow_from_name_plate(np.nan)
