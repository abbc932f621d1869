"""The air state: derived figures and how sure they are."""

import numpy as np
import pytest

from advisor.physics.air import moist_air
from advisor.physics.air.air_state import AirState

STATE = AirState(24.0, 0.62, 101_325.0, 0.5, 0.03)


def test_derived_figures_are_those_of_moist_air():
    assert STATE.dew_point == moist_air.dew_point(24.0, 0.62)
    assert STATE.humidity_ratio == moist_air.humidity_ratio(24.0, 0.62, 101_325.0)
    assert STATE.wet_bulb == moist_air.wet_bulb(24.0, 0.62, 101_325.0)


def test_uncertainties_meet_a_monte_carlo_of_the_sensors():
    rng = np.random.default_rng(11)
    air, humidity = rng.normal(24.0, 0.5, 4000), np.clip(rng.normal(0.62, 0.03, 4000), 0.01, 1.0)
    assert STATE.dew_point_uncertainty == pytest.approx(np.std(moist_air.dew_point(air, humidity)), rel=0.05)
    ratio = moist_air.humidity_ratio(air, humidity, 101_325.0)
    assert STATE.humidity_ratio_uncertainty == pytest.approx(np.std(ratio), rel=0.05)
    wet = moist_air.wet_bulb(air, humidity, 101_325.0)
    assert STATE.wet_bulb_uncertainty == pytest.approx(np.std(wet), rel=0.05)


@pytest.mark.parametrize("humidity", [0.01, 0.999, 1.0])
def test_uncertainties_exist_at_the_ends_of_the_scale(humidity):
    state = AirState(20.0, humidity, 101_325.0, 0.5, 0.03)
    assert state.wet_bulb_uncertainty > 0
    assert state.dew_point_uncertainty > 0
    assert state.humidity_ratio_uncertainty > 0
