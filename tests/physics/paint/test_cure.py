"""Equivalent age: the maturity form's values, exactness, additivity, directions."""

from math import exp, inf

import numpy as np
import pytest
from hypothesis import assume, example, given
from hypothesis import strategies as st

from advisor.errors import OutOfRange
from advisor.physics.basics import GAS_CONSTANT
from advisor.physics.paint.cure import (
    CureLaw,
    crossing,
    cure_speed,
    equivalent_age,
    seconds_until,
    segment_ages,
    time_below,
)

HOUR = 3600.0
C1074 = CureLaw(20.0, 5000.0 * GAS_CONSTANT, 5000.0 * GAS_CONSTANT)
LAW = CureLaw(23.0, 55_000.0, 30_000.0, none_below=8.0, fastest=1.0 / 0.7)
laws = st.builds(
    CureLaw,
    st.floats(10, 35),
    st.floats(10_000, 120_000),
    st.floats(10_000, 120_000),
    st.floats(0, 9.9),
    st.sampled_from([1.0, 1.4, inf]),
)
points = st.lists(st.tuples(st.floats(1.0, 1e5), st.floats(-40, 60)), min_size=2, max_size=12)


def record(*pairs: tuple[float, float]) -> tuple[np.ndarray, np.ndarray]:
    """(hours, °C) pairs as seconds and temperatures."""
    return np.array([hour * HOUR for hour, _ in pairs]), np.array([celsius for _, celsius in pairs], dtype=float)


def steps(pairs: list[tuple[float, float]]) -> tuple[np.ndarray, np.ndarray]:
    return np.cumsum([step for step, _ in pairs]), np.array([celsius for _, celsius in pairs])


@pytest.mark.parametrize(("celsius", "hours"), [(30.0, 1.755), (20.0, 1.0), (10.0, 0.548)])
def test_an_hour_is_worth_what_the_maturity_form_says(celsius, hours):
    """ASTM C1074 with its default Q = 5000 K, Ts = 20 °C (from memory), worked out apart to three digits."""
    assert equivalent_age(*record((0, celsius), (1, celsius)), C1074) / HOUR == pytest.approx(hours, abs=0.0006)


@pytest.mark.parametrize(("celsius", "share"), [(10.0, 0.36), (15.0, 0.54), (23.0, 1.0)])
def test_the_unkind_energies_give_the_finishers_figures(celsius, share):
    assert cure_speed(celsius, LAW) == pytest.approx(share, abs=0.006)


@given(laws, points)
def test_at_the_reference_temperature_it_is_the_clock(law, pairs):
    seconds, _ = steps(pairs)
    there = np.full(len(seconds), law.reference)
    assert equivalent_age(seconds, there, law) == pytest.approx(seconds[-1] - seconds[0], rel=1e-12)
    assert seconds_until(5.0, law.reference, law) == pytest.approx(5.0, rel=1e-12)


@example(CureLaw(10.0, 10000.0, 105621.0, 0.0, inf), [(1.0, 9.0), (8.0, 60.0)], 0.5)
@given(laws, points, st.floats(0, 1))
def test_a_record_cut_in_two_collects_the_same(law, pairs, share):
    seconds, celsius = steps(pairs)
    cut = seconds[0] + share * (seconds[-1] - seconds[0])
    there = np.interp(cut, seconds, celsius)
    early, late = seconds < cut, seconds > cut
    first = equivalent_age(np.append(seconds[early], cut), np.append(celsius[early], there), law)
    second = equivalent_age(np.append(cut, seconds[late]), np.append(there, celsius[late]), law)
    assert first + second == pytest.approx(equivalent_age(seconds, celsius, law), rel=1e-6, abs=1e-3)


@given(laws, points)
def test_a_ramp_collects_what_many_small_steps_do(law, pairs):
    """The quadrature against 20,000 steps of the plain formula, a second way to the same number."""
    seconds, celsius = steps(pairs)
    middles = seconds[0] + (np.arange(20_000) + 0.5) / 20_000 * (seconds[-1] - seconds[0])
    plain = float(np.mean(cure_speed(np.interp(middles, seconds, celsius), law))) * (seconds[-1] - seconds[0])
    fastest = float(np.max(cure_speed(celsius, law)))
    assert equivalent_age(seconds, celsius, law) == pytest.approx(plain, rel=1e-4, abs=fastest * seconds[-1] * 2e-4)


@given(laws, points, st.floats(0.1, 10))
def test_warmer_never_collects_less(law, pairs, warmer):
    seconds, celsius = steps(pairs)
    assert np.all(segment_ages(seconds, celsius + warmer, law) >= segment_ages(seconds, celsius, law) * (1 - 1e-9))


@given(laws, points)
def test_it_is_never_faster_than_the_fastest_and_never_runs_back(law, pairs):
    seconds, celsius = steps(pairs)
    ages = segment_ages(seconds, celsius, law)
    assert np.all(ages >= 0)
    assert np.all(ages <= law.fastest * np.diff(seconds) * (1 + 1e-9))


@pytest.mark.parametrize(("celsius", "counts"), [(7.99, False), (8.0, True), (8.01, True)])
def test_below_the_floor_nothing_counts(celsius, counts):
    assert (equivalent_age(*record((0, celsius), (9, celsius)), LAW) > 0) is counts
    assert (seconds_until(HOUR, celsius, LAW) < inf) is counts


def test_a_fall_through_the_floor_counts_down_to_it():
    """From 10 to 6 °C in 4 h: half of it is over 8 °C; by hand its middle, 9 °C, is 0.330 of the reference speed."""
    speed = exp(-55_000.0 / GAS_CONSTANT * (1 / 282.15 - 1 / 296.15))
    assert speed == pytest.approx(0.330, abs=0.0005)
    assert equivalent_age(*record((0, 10), (4, 6)), LAW) == pytest.approx(2 * HOUR * speed, rel=0.002)


def test_warmth_counts_no_more_than_the_fastest():
    """30 kJ/mol reach 1/0.7 at 32 °C."""
    assert cure_speed(31.9, LAW) < 1 / 0.7
    assert cure_speed(32.1, LAW) == pytest.approx(1 / 0.7)
    assert equivalent_age(*record((0, 40), (7, 40)), LAW) == pytest.approx(10 * HOUR)


@given(laws, st.floats(-20, 60), st.floats(1, 1e6))
def test_what_is_missing_is_there_when_it_was_said_to_be(law, celsius, age):
    after = seconds_until(age, celsius, law)
    assume(after < inf)
    assert equivalent_age(np.array([0.0, after]), np.array([celsius, celsius]), law) == pytest.approx(age, rel=1e-9)


@given(laws, st.floats(0, 40), st.floats(0, 40), st.floats(0.01, 0.99))
@example(CureLaw(10.0, 10000.0, 112669.0, 0.0, inf), 36.0, 0.0, 0.5)
def test_a_crossing_is_where_the_age_is_to_a_thousandth_of_a_second_over(law, first, second, share):
    span = 7200.0

    def collected(after: float) -> float:
        there = first + (second - first) * after / span
        return equivalent_age(np.array([0.0, after]), np.array([first, there]), law)

    whole = equivalent_age(np.array([0.0, span]), np.array([first, second]), law)
    assume(whole > 1.0)
    after = crossing(share * whole, span, (first, second), law)
    assert collected(max(0.0, after - 0.0011)) <= share * whole <= collected(after) * (1.0 + 1e-9)


def test_nothing_missing_takes_no_time():
    assert seconds_until(0.0, -40.0, LAW) == 0.0
    assert seconds_until(-1.0, 5.0, LAW) == 0.0


def test_time_below_is_the_part_of_a_line_under_it():
    seconds, celsius = record((0, 20), (2, 10), (3, 10), (5, 20))
    assert time_below(seconds, celsius, 15.0) / HOUR == pytest.approx([1.0, 1.0, 1.0])
    assert not np.any(time_below(seconds, celsius, 10.0) > 0)
    assert time_below(seconds, celsius, 10.5).sum() > HOUR


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: CureLaw(81.0, 5e4, 5e4),
        lambda: CureLaw(23.0, -1.0, 5e4),
        lambda: CureLaw(23.0, 5e4, float("nan")),
        lambda: CureLaw(23.0, 5e4, 5e4, fastest=0.9),
        lambda: CureLaw(23.0, 5e4, 5e4, none_below=float("nan")),
        lambda: cure_speed(80.1, LAW),
        lambda: cure_speed(float("nan"), LAW),
        lambda: equivalent_age(np.array([1.0, 0.0]), np.array([20.0, 20.0]), LAW),
        lambda: equivalent_age(np.array([0.0, 1.0]), np.array([20.0]), LAW),
    ],
)
def test_what_is_no_law_and_no_record_is_refused(wrong):
    with pytest.raises(OutOfRange):
        wrong()
