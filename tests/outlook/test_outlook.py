"""The outlook from a site's own log: what it needs, what it never does, and worlds whose answer is known."""

from math import pi, sqrt

import numpy as np
import pytest

from advisor.errors import OutOfRange
from advisor.outlook.hindcast import hindcast
from advisor.series.trace import Trace, hourly
from tests.outlook.airport_year import airport_log, part
from tests.outlook.columns import Columns, backtest, outlook

HOUR = 3600.0
START = 1_760_000_400.0  # an invented log's first second, on the hour


def daily_log(hours, step=HOUR, swing=4.0, mean=18.0, dew=9.0):
    """Invented: the same day over and over."""
    times = START + np.arange(0.0, hours * HOUR + 1.0, step)
    turn = 2 * pi * times / 86_400
    return Columns(times, mean - swing * np.cos(turn), dew + 0.5 * np.sin(turn))


def wandering_log(days, fading, seed=7, shock=0.5):
    """Invented: a daily course, plus departures of air and dew point that fade by a factor an hour (AR(1))."""
    noise = np.random.default_rng(seed).normal(0.0, shock, (days * 24, 2))
    departs = np.zeros_like(noise)
    for row in range(1, len(noise)):
        departs[row] = fading * departs[row - 1] + noise[row]
    times = START + HOUR * np.arange(len(noise))
    air = 20.0 - 5.0 * np.cos(2 * pi * times / 86_400) + departs[:, 0]
    return Columns(times, air, 6.0 + departs[:, 1])


def arrays(found):
    edges = [
        getattr(edge, name) for edge in (found.low, found.high) for name in ("air_temperature", "dew_point", "spread")
    ]
    return [found.times, found.air_temperature, found.dew_point, *edges]


def test_it_tells_every_quarter_hour_for_a_day():
    log = daily_log(10 * 24)
    now = float(log.times[-1]) + 7 * 60
    found = outlook(log, now)
    assert len(found.times) == 96
    assert np.all(np.diff(found.times) == 900)
    assert np.all(found.times % 900 == 0)
    assert 0 <= found.times[0] - now < 900
    assert found.days_known == pytest.approx(10, abs=0.1)
    assert found.error_paths is not None
    assert found.error_paths.shape[1:] == (96, 2)
    assert all(np.isfinite(each).all() for each in arrays(found))


def test_every_day_alike_is_foretold():
    log = daily_log(10 * 24)
    found = outlook(log, float(log.times[-1]))
    expected = 18.0 - 4.0 * np.cos(2 * pi * found.times / 86_400)
    assert np.max(np.abs(found.air_temperature - expected)) < 0.05  # straight lines between hours of a cosine: 0.034
    assert np.all(found.high.air_temperature - found.low.air_temperature < 4.0)


def test_air_that_never_changes_is_foretold_to_stay_with_a_finite_band():
    times = START + 600.0 * np.arange(6 * 24 * 5)
    found = outlook(Columns(times, np.full(times.shape, 21.3), np.full(times.shape, 8.1)), float(times[-1]))
    assert found.air_temperature == pytest.approx(21.3)
    assert found.dew_point == pytest.approx(8.1)
    assert found.spread == pytest.approx(13.2)
    for low, high in ((found.low.air_temperature, found.high.air_temperature), (found.low.spread, found.high.spread)):
        assert np.all((high - low >= 0.0) & (high - low < 0.1))


@pytest.mark.slow
@pytest.mark.parametrize("lost_last", [False, True])
@pytest.mark.parametrize("past_edge", [0, 1, 11, 23])
def test_nothing_that_comes_later_changes_what_was_said(past_edge, lost_last):
    """All values after an hour are replaced; every forecast and band issued up to it stays, to the last bit.

    At the hour at which it learns anew and at others; with a tenth of the values missing, for gaps are bridged, and
    with the hour itself missing.
    """
    random = np.random.default_rng(past_edge)
    source = part(airport_log("JFK"), 0, 800)
    hours = hourly(source.times, source.air_temperature, source.dew_point)
    row = len(hours.times) - 1 - 10 * 24 + past_edge
    values = np.where(random.random(hours.values.shape) < 0.1, np.nan, hours.values)
    values[row] = np.nan if lost_last else hours.values[row]
    other_values = values.copy()
    other_values[row + 1 :] = random.normal((60.0, -40.0), 30.0, other_values[row + 1 :].shape)
    one, other = (hindcast(Trace(hours.times, each), 48) for each in (values, other_values))
    for name in ("forecasts", "low", "high"):
        first, second = getattr(one, name), getattr(other, name)
        assert np.array_equal(first[: row + 1], second[: row + 1], equal_nan=True)
        assert not np.array_equal(first[row + 24 :], second[row + 24 :], equal_nan=True)
    now = float(hours.times[row])
    told, retold = (outlook(Columns(hours.times, *each.T), now) for each in (values, other_values))
    for first, second in zip(arrays(told), arrays(retold), strict=True):
        assert np.array_equal(first, second)


def test_a_log_that_ends_at_an_hour_says_the_same_as_one_that_goes_on():
    hours = hourly(*(getattr(airport_log("JFK"), name)[:1_500] for name in ("times", "air_temperature", "dew_point")))
    whole = hindcast(hours, 24)
    for days in (5, 20, 40):
        end = len(hours.times) - 24 * days
        cut = hindcast(Trace(hours.times[:end], hours.values[:end]), 24)
        for name in ("forecasts", "low", "high"):
            assert getattr(cut, name)[-1] == pytest.approx(getattr(whole, name)[end - 1], abs=1e-9)


@pytest.mark.parametrize(("hours", "enough"), [(46, False), (47, True), (48, True)])
def test_two_days_are_enough_and_less_is_not(hours, enough):
    """47 h from first to last are 48 readings."""
    log = daily_log(hours)
    now = float(log.times[-1])
    if enough:
        found = outlook(log, now)
        assert found.days_known >= 2.0
        assert found.error_paths is None
        assert all(np.isfinite(each).all() for each in arrays(found))
        assert np.mean(np.abs(found.air_temperature - (18.0 - 4.0 * np.cos(2 * pi * found.times / 86_400)))) < 0.5
    else:
        with pytest.raises(OutOfRange, match="2 days or more"):
            outlook(log, now)


def test_paths_come_in_the_third_day():
    log = daily_log(80)
    found = outlook(log, float(log.times[-1]))
    assert found.error_paths is not None
    assert len(found.error_paths) >= 20


def test_a_young_log_is_less_sure_than_an_old_one():
    log = wandering_log(40, 0.97)
    now = float(log.times[-1])
    young, old = outlook(part(log, len(log.times) - 50, len(log.times)), now), outlook(log, now)
    assert young.days_known < 2.2 < old.days_known
    assert np.mean(young.high.spread - young.low.spread) > np.mean(old.high.spread - old.low.spread)


@pytest.mark.parametrize(("late", "told"), [(2.99, True), (3.0, True), (3.01, False)])
def test_a_last_reading_may_be_three_hours_old(late, told):
    log = daily_log(5 * 24)
    now = float(log.times[-1]) + late * HOUR
    if told:
        found = outlook(log, now)
        expected = 18.0 - 4.0 * np.cos(2 * pi * found.times / 86_400)
        assert np.max(np.abs(found.air_temperature - expected)) < 0.2
    else:
        with pytest.raises(OutOfRange, match="last reading"):
            outlook(log, now)


def test_gaps_and_missing_values_are_borne():
    """A sixth of the hours lost by chance, a week lost whole, a dew point lost for two days."""
    log = part(airport_log("JFK"), 0, 1_500)
    kept = np.random.default_rng(3).random(1_500) > 1 / 6
    kept[700:868] = False
    kept[-1] = True
    dew = np.where((np.arange(1_500) > 900) & (np.arange(1_500) < 948), np.nan, log.dew_point)
    holed = Columns(log.times[kept], log.air_temperature[kept], dew[kept])
    now = float(log.times[-1])
    whole, found = outlook(log, now), outlook(holed, now)
    assert all(np.isfinite(each).all() for each in arrays(found))
    assert found.days_known < whole.days_known
    assert np.mean(np.abs(found.air_temperature - whole.air_temperature)) < 1.0
    for each in backtest(holed):
        assert each.air_temperature_error < 1.05 * each.air_temperature_persistence
        assert 0.7 <= each.air_temperature_coverage <= 0.9


def test_a_dew_point_sensor_that_has_just_failed_leaves_an_outlook():
    log = daily_log(8 * 24)
    dew = log.dew_point.copy()
    dew[-6:] = np.nan
    found = outlook(Columns(log.times, log.air_temperature, dew), float(log.times[-1]))
    assert all(np.isfinite(each).all() for each in arrays(found))


def test_an_old_log_with_nothing_of_the_last_week_is_not_enough():
    early, late = daily_log(20 * 24), daily_log(10)
    times = np.concatenate([early.times, late.times + 40 * 86_400])
    joined = Columns(
        times,
        np.concatenate([early.air_temperature, late.air_temperature]),
        np.concatenate([early.dew_point, late.dew_point]),
    )
    with pytest.raises(OutOfRange, match="last week"):
        outlook(joined, float(times[-1]))


def test_a_reading_a_minute_and_one_an_hour_say_nearly_the_same():
    """The same air, on straight lines between the hours of the airport's log."""
    log = part(airport_log("JFK"), 2_000, 2_720)
    minutes = np.arange(log.times[0], log.times[-1] + 1.0, 60.0)
    fine = Columns(minutes, *(np.interp(minutes, log.times, each) for each in (log.air_temperature, log.dew_point)))
    now = float(log.times[-1])
    one, other = outlook(log, now), outlook(fine, now)
    assert np.max(np.abs(one.air_temperature - other.air_temperature)) < 0.3
    assert np.max(np.abs(one.dew_point - other.dew_point)) < 0.3
    wide, narrow = (each.high.air_temperature - each.low.air_temperature for each in (one, other))
    assert np.mean(narrow) == pytest.approx(np.mean(wide), rel=0.1)


def test_later_readings_are_not_looked_at():
    log = daily_log(12 * 24)
    now = float(log.times[200])
    for one, other in zip(arrays(outlook(log, now)), arrays(outlook(part(log, 0, 201), now)), strict=True):
        assert np.array_equal(one, other)


@pytest.mark.parametrize("fading", [0.9, 0.97])
def test_in_a_world_of_known_chance_it_is_near_the_best_there_is_and_its_band_holds(fading):
    """AR(1): the best forecast's error is normal with variance s2 (1 - f^2L)/(1 - f^2), its mean size sqrt(2/pi)."""
    for each in backtest(wandering_log(200, fading)):
        best = 0.5 * sqrt((1 - fading ** (2 * each.hours)) / (1 - fading**2)) * sqrt(2 / pi)
        assert 0.97 * best <= each.air_temperature_error <= 1.2 * best
        for coverage in (each.air_temperature_coverage, each.dew_point_coverage, each.spread_coverage):
            assert 0.76 <= coverage <= 0.84


def test_the_dew_point_never_lies_above_the_air_and_the_spread_never_under_nothing():
    log = part(airport_log("JFK"), 0, 4_000)
    for end in range(1_000, 4_000, 300):
        found = outlook(part(log, end - 400, end), float(log.times[end - 1]))
        assert np.all(found.dew_point <= found.air_temperature)
        assert np.all((found.low.spread >= 0.0) & (found.low.spread <= found.spread + 1e-9))
        assert np.all(found.spread <= found.high.spread)
        assert np.all(found.low.air_temperature <= found.air_temperature)
        assert np.all(found.air_temperature <= found.high.air_temperature)


def test_one_lead_alone_scores_as_among_others():
    log = part(airport_log("LGA"), 0, 900)
    (alone,) = backtest(log, (6,))
    among = next(each for each in backtest(log, (1, 6, 24)) if each.hours == 6)
    assert alone.air_temperature_error == pytest.approx(among.air_temperature_error, rel=1e-6)
    assert alone.cases == among.cases


@pytest.mark.parametrize("leads", [(), (0,), (6, -1), (1, 49)])
def test_leads_are_hours_ahead(leads):
    with pytest.raises(OutOfRange, match="hours ahead"):
        backtest(daily_log(100), leads)


def test_two_days_ahead_may_be_scored_too():
    (far,) = backtest(part(airport_log("JFK"), 0, 1_500), (48,))
    assert far.air_temperature_error < far.air_temperature_persistence
    assert 0.7 <= far.air_temperature_coverage <= 0.9


@pytest.mark.parametrize("hours", [0, 5, 30, 60])
def test_a_log_too_short_to_score_says_so(hours):
    with pytest.raises(OutOfRange):
        backtest(daily_log(hours), (24,))


def test_an_empty_log_and_a_moment_that_is_none_are_refused():
    log = daily_log(100)
    with pytest.raises(OutOfRange, match="without any reading"):
        outlook(log, float(log.times[0]) - 1.0)
    with pytest.raises(OutOfRange, match="no number"):
        outlook(log, float("nan"))
