"""Reaction speed over temperature: equivalent age as ASTM C1074 forms it, and the table of the reference values."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from advisor.errors import OutOfRange
from advisor.physics.basics import GAS_CONSTANT
from advisor.physics.paint.cure import rate_factor

temperatures, energies = st.floats(-20, 80), st.floats(0, 200_000)


@pytest.mark.parametrize(("celsius", "hours"), [(30.0, 1.755), (10.0, 0.548)])
def test_an_hour_is_worth_what_the_maturity_form_says(celsius, hours):
    """Q = 5000 K, 20 °C: ASTM C1074's default as remembered, worked out apart to three digits; no table was seen."""
    assert rate_factor(celsius, 20.0, 5000.0 * GAS_CONSTANT) == pytest.approx(hours, abs=0.0006)


@pytest.mark.parametrize(
    ("energy", "warm", "cool", "cold"),
    [(29_300, 1.49, 1.53, 0.72), (35_600, 1.62, 1.67, 0.67), (43_000, 1.79, 1.87, 0.62), (48_000, 1.92, 2.00, 0.58),
     (77_000, 2.83, 3.05, 0.42)],
)  # fmt: skip
def test_speed_ups_are_those_worked_out_for_published_activation_energies(energy, warm, cool, cold):
    """Reference values section 9, two decimals: 20 to 30 °C, 10 to 20 °C, and 15 °C against 23 °C."""
    assert rate_factor(30.0, 20.0, energy) == pytest.approx(warm, abs=0.006)
    assert rate_factor(20.0, 10.0, energy) == pytest.approx(cool, abs=0.006)
    assert rate_factor(15.0, 23.0, energy) == pytest.approx(cold, abs=0.006)


def test_doubling_for_10_degrees_takes_the_energy_that_the_rule_of_thumb_hides():
    """51.2 kJ/mol from 20 to 30 °C, 47.8 from 10 to 20 °C (worked out apart)."""
    assert rate_factor(30.0, 20.0, 51_200.0) == pytest.approx(2.0, abs=0.005)
    assert rate_factor(20.0, 10.0, 47_800.0) == pytest.approx(2.0, abs=0.005)


@given(temperatures, temperatures, energies)
def test_there_and_back_is_1(one, other, energy):
    assert rate_factor(one, other, energy) * rate_factor(other, one, energy) == pytest.approx(1.0)


@given(st.floats(-20, 79), st.floats(-20, 80), st.floats(1_000, 200_000))
def test_warmer_is_faster(temperature, reference, energy):
    assert rate_factor(temperature + 1.0, reference, energy) > rate_factor(temperature, reference, energy)


def test_without_an_activation_energy_warmth_does_nothing():
    assert rate_factor(60.0, 20.0, 0.0) == 1.0


@pytest.mark.parametrize(
    ("figures", "words"),
    [((-20.1, 20.0, 4e4), "temperature -20.1"), ((20.0, 80.1, 4e4), "reference temperature 80.1"),
     ((float("nan"), 20.0, 4e4), "temperature nan"), ((20.0, 20.0, -1.0), "energy -1"),
     ((20.0, 20.0, 200_001.0), "energy 200001"), ((20.0, 20.0, float("nan")), "energy nan")],
)  # fmt: skip
def test_figures_outside_the_range_are_refused(figures, words):
    with pytest.raises(OutOfRange, match=words):
        rate_factor(*figures)
