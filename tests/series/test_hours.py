"""A log in even hours: what an hour holds, what a gap leaves, what comes back as it was."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from advisor.errors import OutOfRange
from advisor.series.air_track import track_from
from advisor.series.trace import HOUR, bridged, earlier, hourly, last_known, later, trailing_mean
from tests.outlook.columns import Columns

START = 1_760_000_000.0


def test_a_reading_an_hour_comes_back_as_it_is():
    times = START + HOUR * np.arange(30)
    air, dew = np.arange(30.0), np.arange(30.0) - 4.0
    found = hourly(times, air, dew)
    assert found.times == pytest.approx(times)
    assert np.array_equal(found.values, np.column_stack([air, dew]))


@given(st.lists(st.floats(-200, 200), min_size=12, max_size=12))
def test_a_clock_that_drifts_by_minutes_loses_no_hour(drift):
    """Up to 200 s to either side; the last reading on its mark."""
    times = START + HOUR * np.arange(12) + np.array(drift)
    times[-1] = START + 11 * HOUR
    assert np.array_equal(hourly(times, np.arange(12.0)).values[:, 0], np.arange(12.0))


def test_an_hour_of_minutes_is_the_mean_of_ten_about_its_mark():
    times = START + 60.0 * np.arange(181)
    found = hourly(times, times - START)
    assert found.times - START == pytest.approx([0.0, 3600.0, 7200.0, 10800.0])
    # five minutes to either side; nothing came after the last
    assert found.values[:, 0] == pytest.approx([150.0, 3600.0, 7200.0, 10800.0 - 150.0])


@pytest.mark.parametrize(("late", "row"), [(299.0, 1), (300.0, 1), (301.0, 2)])
def test_a_reading_after_the_mark_at_just_under_and_over_five_minutes(late, row):
    times = START + np.array([0.0, HOUR + late, 3 * HOUR])
    found = hourly(times, np.array([1.0, 2.0, 3.0]))
    assert np.flatnonzero(found.values[:, 0] == 2.0) == [row]


def test_a_gap_stays_a_gap_and_is_never_filled():
    times = START + HOUR * np.array([0.0, 1.0, 2.0, 7.0, 8.0])
    found = hourly(times, np.array([1.0, 2.0, np.nan, 4.0, 5.0]), np.array([1.0, np.nan, 3.0, 4.0, 5.0]))
    assert len(found.times) == 9
    assert np.isnan(found.values[3:7]).all()
    assert np.isnan(found.values[2, 0])
    assert found.values[2, 1] == 3.0
    assert list(np.flatnonzero(found.known)) == [0, 7, 8]


@pytest.mark.parametrize(
    "times", [[0.0, 2.0, 1.0], [0.0, 1.0, 1.0], [0.0, np.nan, 2.0]], ids=["turned", "twice", "missing"]
)
def test_times_that_do_not_rise_are_refused(times):
    values = np.zeros(3)
    with pytest.raises(OutOfRange, match="do not rise"):
        track_from(np.array(times), {"dew_point": values})
    with pytest.raises(OutOfRange, match="do not rise"):
        hourly(np.array(times), values)


def test_columns_of_other_lengths_and_an_empty_log_are_refused():
    with pytest.raises(OutOfRange, match="unequal lengths"):
        track_from(np.arange(3.0), {"dew_point": np.zeros(2)})
    with pytest.raises(OutOfRange, match="without any reading"):
        hourly(np.array([]), np.array([]))
    with pytest.raises(OutOfRange, match="without any reading"):
        hourly(np.arange(3.0), np.full(3, np.nan))


def test_until_keeps_what_was_known_then():
    log = Columns(np.arange(5.0), np.arange(5.0), np.arange(5.0)).track
    assert list(log.during(-np.inf, 2.0).trace("air_temperature").times) == [0.0, 1.0, 2.0]
    assert list(log.during(-np.inf, 1.9).trace("air_temperature").times) == [0.0, 1.0]
    assert len(log.during(-np.inf, -1.0).trace("air_temperature").times) == 0


def test_earlier_and_later_undo_each_other_and_bear_any_number_of_rows():
    values = np.arange(6.0)
    assert np.array_equal(later(earlier(values, 2), 2)[:4], values[:4])
    for moved in (earlier(values, 9), later(values, 9), earlier(values, 6), later(values, 6)):
        assert np.isnan(moved).all()


def test_the_last_known_stands_in_for_so_many_rows_and_no_more():
    values = np.array([np.nan, 1.0, np.nan, np.nan, np.nan, 2.0])
    assert np.array_equal(last_known(values, 2), [np.nan, 1.0, 1.0, 1.0, np.nan, 2.0], equal_nan=True)


def test_a_short_gap_between_two_known_is_bridged_and_a_long_one_or_an_open_one_is_not():
    nan = np.nan
    values = np.array([[nan, 1.0, nan, nan, nan, 5.0, nan, nan, nan, nan, 6.0, nan]]).T
    found = bridged(values, 3)[:, 0]
    assert np.array_equal(found, [nan, 1, 2, 3, 4, 5, nan, nan, nan, nan, 6, nan], equal_nan=True)


@given(st.lists(st.one_of(st.just(np.nan), st.floats(-50, 50)), min_size=1, max_size=30), st.integers(1, 35))
def test_a_trailing_mean_is_the_mean_of_what_is_known(values, rows):
    found = trailing_mean(np.array(values), rows)
    for row in range(len(values)):
        known = [each for each in values[max(0, row + 1 - rows) : row + 1] if not np.isnan(each)]
        assert found[row] == pytest.approx(np.mean(known) if known else np.nan, abs=1e-9, nan_ok=True)
