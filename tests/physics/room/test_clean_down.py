"""Clean-down: decays made with known figures and noise are found again, and what is no decay is refused."""

from math import inf, log, nan

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.errors import OutOfRange
from advisor.physics.room.clean_down import (
    LEAST_READINGS,
    NOT_FALLING,
    ONLY_NOISE,
    TOO_FAST,
    TOO_FEW,
    TOO_SHORT,
    CleanDown,
    NoCleanDown,
    clean_at,
    fit_clean_down,
)
from advisor.physics.room.particles import dust_index
from tests.support import answers, examples, fixture_file, local

MINUTE = 60.0
CONSTANT = 10 * MINUTE  # [s], the invented decay time
CLEAN = 2000.0  # [1/m3]


def decay(readings=90, every=MINUTE, constant=CONSTANT, height=1e5, background=CLEAN):
    times = 500.0 + np.arange(readings) * every
    return times, background + height * np.exp(-(times - times[0]) / constant)


def counted(levels, seed, litres=1.0):
    """What a counter that draws so many litres gives: a whole number of particles, as per m3."""
    return np.random.default_rng(seed).poisson(levels * litres / 1000.0) * 1000.0 / litres


def fall(*arguments) -> CleanDown:
    found = fit_clean_down(*arguments)
    assert isinstance(found, CleanDown), found
    return found


@settings(max_examples=examples(40))
@given(st.floats(3.0, 30.0), st.floats(0.0, 5e4), st.floats(1e3, 1e7))
def test_a_decay_without_noise_is_found_as_it_was_made(minutes, background, height):
    times, counts = decay(180, MINUTE, minutes * MINUTE, height, background)
    found = fall(times, counts)
    assert found.rate == pytest.approx(1 / (minutes * MINUTE), rel=1e-4)
    assert found.height == pytest.approx(height, rel=1e-3)
    assert found.background == pytest.approx(background, abs=1e-3 * height)
    assert found.count(times[7]) == pytest.approx(counts[7], rel=1e-3)


@pytest.mark.parametrize(
    ("background", "litres", "bias", "scatter"),
    [(None, 1.0, 0.05, 0.10), (CLEAN, 1.0, 0.05, 0.10), (None, 10.0, 0.02, 0.03), (CLEAN, 0.1, 0.15, 0.25)],
)
def test_with_counting_noise_the_stated_uncertainty_holds(background, litres, bias, scatter):
    """Over 60 records 95 % of rates should lie within 2 standard errors: 85 % asked, by chance.

    With 0.1 L the clean air gives a particle in five readings, and the rate comes out a tenth too fast.
    """
    times, levels = decay()
    found = [fall(times, counted(levels, seed, litres), background) for seed in range(60)]
    off = np.array([(fit.rate * CONSTANT - 1.0) for fit in found])
    inside = [abs(fit.rate - 1 / CONSTANT) <= 2 * fit.rate_uncertainty for fit in found]
    assert np.mean(inside) >= 0.85
    assert abs(np.median(off)) < bias
    assert np.std(off) < scatter


def test_a_sensor_s_relative_error_is_weighed_as_such():
    """12 % either way of each count: the rate scatters by 0.7 %, with counting weights it would by 1.2."""
    times, levels = decay(180, MINUTE, 8 * MINUTE, 9e5, 2500.0)
    noise = np.random.default_rng(4)
    found = [fall(times, levels * (1 + 0.12 * noise.uniform(-1, 1, len(times)))) for _ in range(40)]
    off = np.array([fit.rate * 8 * MINUTE - 1 for fit in found])
    assert np.std(off) < 0.009
    assert np.mean([abs(fit.rate * 8 * MINUTE - 1) <= 2 * 8 * MINUTE * fit.rate_uncertainty for fit in found]) >= 0.85
    assert all(0.05 < fit.standard_error < 0.12 for fit in found)


def test_a_few_wild_readings_move_it_little():
    times, levels = decay()
    for seed in range(20):
        counts = counted(levels, seed)
        wild = np.random.default_rng(seed).random(len(counts)) < 0.08
        counts = np.where(wild, counts * 10.0, counts)
        assert fall(times, counts).rate == pytest.approx(1 / CONSTANT, rel=0.25)


def test_it_says_when_the_room_is_clean_and_how_surely():
    times, levels = decay()
    found = [clean_at(fall(times, counted(levels, seed), CLEAN), 1.5 * CLEAN) for seed in range(60)]
    true = times[0] + CONSTANT * log(1e5 / (0.5 * CLEAN))
    assert all(one is not None for one in found)
    assert np.mean([abs(one.value - true) <= 2 * one.uncertainty for one in found if one]) >= 0.85
    assert np.median([one.uncertainty for one in found if one]) < 5 * MINUTE


@given(st.floats(1.05, 40.0), st.floats(1.01, 2.0))
@settings(max_examples=examples(30))
def test_a_stricter_level_is_met_later_and_the_curve_is_there_then(times_clean, stricter):
    found = fall(*decay())
    here, later = (clean_at(found, CLEAN * (1 + (times_clean - 1) / by)) for by in (1.0, stricter))
    assert here
    assert later
    assert later.value > here.value
    assert found.count(here.value) == pytest.approx(times_clean * CLEAN, rel=1e-6)


def test_a_level_under_the_background_is_never_met_and_one_over_all_at_once():
    found = fall(*decay())
    assert clean_at(found, CLEAN * 0.9) is None
    at_once = clean_at(found, 1e7)
    assert at_once
    assert at_once.value == found.start


@pytest.mark.parametrize(
    ("counts", "why"),
    [
        (decay(LEAST_READINGS - 1)[1], TOO_FEW), (np.zeros(30), NOT_FALLING), (np.full(30, 3000.0), NOT_FALLING),
        (3000.0 + 100.0 * np.arange(30), NOT_FALLING), (decay(30, constant=0.7 * MINUTE)[1], TOO_FAST),
        (decay(60, constant=1000 * MINUTE)[1], TOO_SHORT),
    ],
)  # fmt: skip
def test_what_is_no_fall_is_refused_with_its_reason(counts, why):
    times = np.arange(len(counts)) * MINUTE
    assert fit_clean_down(times, counts) == NoCleanDown(why)


def test_noise_alone_is_never_taken_for_a_fall():
    """Counting noise, a relative error and wild readings on a steady room, with and without its clean count."""
    times, level = np.arange(40) * MINUTE, np.full(40, 3000.0)
    for seed in range(60):
        noise = np.random.default_rng(seed)
        wild = np.where(noise.random(40) < 0.1, 5.0, 1.0)
        for counts in (counted(level, seed), level * noise.uniform(0.7, 1.3, 40), counted(level, seed) * wild):
            for background in (None, 3000.0):
                found = fit_clean_down(times, counts, background)
                assert isinstance(found, NoCleanDown)
                assert found.why in (NOT_FALLING, ONLY_NOISE, TOO_SHORT, TOO_FAST)


def test_just_enough_readings_are_enough():
    times, counts = decay(LEAST_READINGS, 4 * MINUTE)
    assert fall(times, counts, CLEAN).rate == pytest.approx(1 / CONSTANT, rel=1e-3)


def test_the_invented_day_s_decay_is_found():
    """sensor_fixtures: from 09:45 counts fall from 900,000 to 2,500 with 8 min, each 12 % off either way."""
    day = "dusty-clean-down"
    readings = [
        (reading.at / 1000.0, reading.value)
        for reading in fixture_file(day).readings
        if reading.series.quantity == "particles_5um"
    ]
    begin, end = local(day, "09:45").timestamp(), local(day, "10:45").timestamp()
    morning = float(np.median([value for at, value in readings if at < local(day, "09:00").timestamp()]))
    assert morning == pytest.approx(2500.0, rel=0.02)
    times, counts = (np.array(column) for column in zip(*readings, strict=True))
    for background, last in ((None, local(day, "12:00").timestamp()), (morning, end)):
        chosen = (times >= begin) & (times <= last)
        found = fall(times[chosen], counts[chosen], background)
        assert found.rate == pytest.approx(1 / 480.0, rel=0.03)
        assert abs(found.rate - 1 / 480.0) < 3 * found.rate_uncertainty
        clean = clean_at(found, 1.5 * morning)
        assert clean
        assert abs(clean.value - local(day, answers()[day]["clean_from"]).timestamp()) < 2 * MINUTE
        assert clean.uncertainty < 2 * MINUTE
    assert dust_index(counts[times == local(day, "09:41").timestamp()][0], morning) > 300.0


@pytest.mark.parametrize(
    ("times", "counts", "background", "words"),
    [
        ([0, 1, 1, 2, 3, 4, 5, 6], [9.0] * 8, None, "times"), ([0, 1, nan, 2, 3, 4, 5, 6], [9.0] * 8, None, "times"),
        (range(8), [9.0] * 7, None, "unequal"), (range(8), [9.0] * 7 + [-1.0], None, "a count"),
        (range(8), [9.0] * 7 + [nan], None, "a count"), (range(8), [9.0] * 7 + [inf], None, "a count"),
        (range(8), [9.0] * 8, -1.0, "background"), (range(8), [9.0] * 8, nan, "background"),
    ],
)  # fmt: skip
def test_a_record_that_cannot_be_is_refused(times, counts, background, words):
    with pytest.raises(OutOfRange, match=words):
        fit_clean_down(np.array(times, float), np.array(counts), background)


def test_a_level_or_time_that_cannot_be_is_refused():
    found = fall(*decay())
    for level in (0.0, -1.0, nan, inf):
        with pytest.raises(OutOfRange, match="level"):
            clean_at(found, level)
    for moment in (found.start - 1, nan):
        with pytest.raises(OutOfRange, match="or later"):
            found.count(moment)
