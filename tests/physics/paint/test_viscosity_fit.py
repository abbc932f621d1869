"""A shop's own cup readings against the family's figures: two move them, many settle them."""

from math import inf, nan

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.errors import OutOfRange
from advisor.physics.paint import viscosity as v
from advisor.physics.paint.viscosity_fit import FlowReading, family_flow, refined
from tests.support import examples

FAMILY = family_flow(7.0, 25_000.0)


def said(pot: str, share: float, temperature: float, slope: float, energy: float, thick=400.0, noise=0.0):
    """A reading of a paint that thins and warms by these figures exactly, but for noise [ln]."""
    at_hand = v.thinned(v.viscosity_at(thick, 20.0, temperature, energy), share, slope)
    return FlowReading(pot, share, temperature, at_hand * float(np.exp(noise)))


def test_without_readings_the_family_stands():
    assert refined(FAMILY, []) == FAMILY
    assert FAMILY.readings == 0


def test_a_reading_alone_in_its_pot_says_nothing():
    readings = [said("monday", 0.0, 20.0, 4.0, 30e3), said("friday", 0.1, 26.0, 4.0, 30e3)]
    assert refined(FAMILY, readings) == FAMILY


def test_two_readings_of_one_pot_move_the_slope_most_of_the_way():
    """10 % apart, 4 % a reading: worked out by hand, (7 / 2.8^2 + 3.125 * 4) / (1 / 2.8^2 + 3.125) = 4.12."""
    found = refined(FAMILY, [said("a", 0.0, 20.0, 4.0, 25e3), said("a", 0.1, 20.0, 4.0, 25e3)])
    precision = 0.1**2 / 2 / 0.04**2
    by_hand = (7.0 / 2.8**2 + precision * 4.0) / (1 / 2.8**2 + precision)
    assert found.slope == pytest.approx(by_hand, rel=1e-9)
    assert found.readings == 2
    assert found.slope_uncertainty < FAMILY.slope_uncertainty
    assert found.energy == pytest.approx(FAMILY.energy)
    assert found.energy_uncertainty == pytest.approx(FAMILY.energy_uncertainty)


def test_a_warm_and_a_cold_reading_move_the_energy():
    found = refined(FAMILY, [said("a", 0.0, 15.0, 7.0, 40e3), said("a", 0.0, 27.0, 7.0, 40e3)])
    assert 33e3 < found.energy < 40e3
    assert found.slope == pytest.approx(7.0)


@given(st.floats(2.0, 15.0), st.floats(8e3, 60e3), st.floats(60.0, 3000.0))
@settings(max_examples=examples(60))
def test_many_readings_settle_both_figures(slope, energy, thick):
    readings = [
        said(str(pot), share, temperature, slope, energy, thick * (1 + pot))
        for pot in range(4)
        for share, temperature in ((0.0, 16.0), (0.1, 20.0), (0.2, 18.0), (0.15, 29.0), (0.05, 34.0))
    ]
    found = refined(FAMILY, readings)
    assert found.slope == pytest.approx(slope, abs=2 * found.slope_uncertainty)
    assert found.energy == pytest.approx(energy, abs=2 * found.energy_uncertainty)
    assert found.slope_uncertainty < 0.2
    assert found.readings == 20


def test_with_the_noise_of_a_cup_the_stated_uncertainty_holds():
    """400 shops with 4 % of noise, figures drawn from the prior: 95 % lie within two of their own uncertainties."""
    random = np.random.default_rng(5)
    inside = 0
    for _ in range(400):
        slope, energy = 7.0 * (1 + 0.4 * random.standard_normal()), 25e3 * (1 + 0.4 * random.standard_normal())
        slope, energy = max(slope, 0.5), max(energy, 1e3)
        readings = [
            said("a", share, temperature, slope, energy, noise=0.04 * float(random.standard_normal()))
            for share, temperature in ((0.0, 17.0), (0.06, 20.0), (0.12, 24.0))
        ]
        found = refined(FAMILY, readings)
        inside += abs(found.slope - slope) <= 2 * found.slope_uncertainty
    assert 0.92 <= inside / 400 <= 0.99


def test_an_estimate_weighs_less_than_a_reading_in_range():
    good = [said("a", 0.0, 20.0, 4.0, 25e3), said("a", 0.1, 20.0, 4.0, 25e3)]
    loose = [FlowReading(one.pot, one.share, one.temperature, one.viscosity, False) for one in good]
    assert abs(refined(FAMILY, loose).slope - 7.0) < abs(refined(FAMILY, good).slope - 7.0)


def test_readings_that_say_thinner_thickens_are_refused():
    thickens = [FlowReading("a", 0.0, 20.0, 50.0), FlowReading("a", 0.3, 20.0, 400.0)]
    with pytest.raises(OutOfRange, match="thinner thins"):
        refined(FAMILY, thickens)


@pytest.mark.parametrize(
    ("share", "temperature", "viscosity"),
    [(-0.1, 20.0, 50.0), (0.71, 20.0, 50.0), (0.1, -21.0, 50.0), (0.1, 20.0, 0.2), (nan, 20.0, 50.0), (0.1, inf, 50.0)],
)
def test_readings_out_of_range_are_refused(share, temperature, viscosity):
    with pytest.raises(OutOfRange):
        refined(FAMILY, [FlowReading("a", 0.0, 20.0, 60.0), FlowReading("a", share, temperature, viscosity)])


@pytest.mark.parametrize(("slope", "energy"), [(0.05, 25e3), (51.0, 25e3), (7.0, -1.0), (nan, 25e3)])
def test_a_family_out_of_range_is_refused(slope, energy):
    with pytest.raises(OutOfRange):
        family_flow(slope, energy)
