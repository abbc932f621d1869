"""Compressed air: a published water table, real moist air, and the tank by hand."""

from math import inf, nan

import psychrolib
import pytest
from hypothesis import given
from hypothesis import strategies as st

from advisor.errors import OutOfRange
from advisor.physics.air import compressed_air as c
from advisor.physics.air import moist_air
from tests.oracles import humid
from tests.support import every, reference_rows

WATER_TABLE = reference_rows("compressed_air_water.csv")
BROKEN_CELL = ("70", "40")  # .003 in a row that goes up by .00083: it should be .0033
CFM, GALLON_OF_WATER, BAR, PSI = 0.3048**3 / 60, 3.785411784, 1e5, 6894.757
airs, humidities, gauges = st.floats(0.0, 35.0), st.floats(0.05, 1.0), st.floats(0.0, 12 * BAR)


@every("row", WATER_TABLE, ids=lambda row: f"{row['air_temperature_f']}F {row['relative_humidity_pct']}")
def test_the_water_a_compressor_draws_in_is_that_of_the_suppliers_table(row):
    celsius = (float(row["air_temperature_f"]) - 32) / 1.8
    drawn = c.water_entering(celsius, float(row["relative_humidity_pct"]) / 100, CFM) * 3600 / GALLON_OF_WATER
    if (row["air_temperature_f"], row["relative_humidity_pct"]) == BROKEN_CELL:
        assert drawn == pytest.approx(0.0033, abs=5e-5)
    else:
        assert drawn == pytest.approx(float(row["gallons_per_hour_per_cfm"]), abs=6e-5)  # four decimals


def test_room_air_at_7_bar_gives_off_water_below_47_9_degrees():
    assert c.pressure_dew_point(20.0, 0.60, 7 * BAR) == pytest.approx(47.9, abs=0.05)
    rise = c.pressure_dew_point(20.0, 0.60, 7 * BAR) - moist_air.dew_point(20.0, 0.60)
    assert rise == pytest.approx(35.9, abs=0.05)  # an automation page's table has +33 to +42 K


@pytest.mark.slow
@every("bar", [1.0, 3.0, 7.0, 12.0])
@every("celsius, humidity", [(10.0, 0.8), (20.0, 0.6), (30.0, 0.7)])
def test_real_compressed_air_has_its_dew_point_a_little_lower(celsius, humidity, bar):
    """CoolProp's moist air, real gas, the same humidity ratio at both pressures."""
    ratio = humid.HAPropsSI("W", "T", celsius + 273.15, "P", c.SEA_LEVEL, "R", humidity)
    real = humid.HAPropsSI("D", "W", ratio, "P", c.SEA_LEVEL + bar * BAR, "T", 370.0) - 273.15
    assert real - 0.05 <= c.pressure_dew_point(celsius, humidity, bar * BAR) <= real + (0.7 if bar > 7.0 else 0.45)


@pytest.mark.parametrize(("celsius", "bar"), [(20.0, 7.0), (10.0, 7.0), (30.0, 10.0), (25.0, 3.0)])
def test_the_water_dropped_is_that_of_real_air_within_2_percent(celsius, bar):
    states = [
        ("T", 293.15, "P", c.SEA_LEVEL, "R", 0.8),
        ("T", celsius + 273.15, "P", c.SEA_LEVEL + bar * BAR, "R", 1.0),
    ]
    before, after = (humid.HAPropsSI("W", *state) for state in states)
    per_cubic_metre = max(before - after, 0.0) / humid.HAPropsSI("Vda", *states[0])
    assert c.water_condensed(20.0, 0.8, bar * BAR, celsius) == pytest.approx(per_cubic_metre, rel=0.02, abs=1e-6)


@pytest.mark.parametrize(
    ("pressure_dew_point", "gauge", "frost_point"), [(3.0, 7 * BAR, -20.8), ((38 - 32) / 1.8, 100 * PSI, -20.4)]
)
def test_a_dryer_s_dew_point_at_the_atmosphere(pressure_dew_point, gauge, frost_point):
    """Reference values, section 12: frost points of -20.8 °C and -4.7 °F, worked out apart; over water 2 K lower."""
    psychrolib.SetUnitSystem(psychrolib.SI)
    dew = c.atmospheric_dew_point(pressure_dew_point, gauge)
    vapour = float(moist_air.saturation_pressure(dew))
    assert psychrolib.GetTDewPointFromVapPres(20.0, vapour) == pytest.approx(frost_point, abs=0.06)
    assert frost_point - 2.6 < dew < frost_point - 1.8


@given(airs, humidities, gauges)
def test_compressed_and_let_go_again_it_is_the_same_air(celsius, humidity, gauge):
    pressed = c.pressure_dew_point(celsius, humidity, gauge)
    assert c.atmospheric_dew_point(pressed, gauge) == pytest.approx(moist_air.dew_point(celsius, humidity), abs=1e-5)


@given(airs, st.floats(0.05, 0.95), st.floats(0.1 * BAR, 11 * BAR))
def test_damper_and_higher_pressed_air_condenses_sooner(celsius, humidity, gauge):
    here = c.pressure_dew_point(celsius, humidity, gauge)
    assert c.pressure_dew_point(celsius, humidity + 0.04, gauge) > here
    assert c.pressure_dew_point(celsius, humidity, gauge + 0.5 * BAR) > here
    assert c.pressure_dew_point(celsius + 1.0, humidity, gauge) > here
    assert c.pressure_dew_point(celsius, humidity, gauge, air_pressure=90_000.0) > here


@given(airs, humidities, gauges, st.floats(-10.0, 60.0))
def test_water_drops_out_exactly_where_the_line_is_under_the_dew_point(celsius, humidity, gauge, line):
    pressed = c.pressure_dew_point(celsius, humidity, gauge)
    dropped = c.water_condensed(celsius, humidity, gauge, line)
    if abs(pressed - line) > 1e-3:
        assert c.line_condenses(line, pressed) == (dropped > 0.0)
    assert 0.0 <= dropped <= c.water_entering(celsius, humidity, 1.0)
    assert c.water_condensed(celsius, humidity, gauge, line + 1.0) <= dropped


def test_the_line_s_own_dew_point_decides():
    pressed = c.pressure_dew_point(20.0, 0.60, 7 * BAR)
    assert c.line_condenses(20.0, pressed)
    after_tank = c.line_dew_point(pressed, 22.0)
    assert after_tank == 22.0
    assert not c.line_condenses(22.0, after_tank)
    assert c.line_condenses(21.9, after_tank)  # a hose on a cold floor spits
    assert c.line_dew_point(3.0, 22.0) == 3.0


def test_let_down_at_the_tank_a_line_stays_dry_up_to_the_pressure_worked_out_by_hand():
    """Saturated at 32 °C and 8 bar: 4759 Pa; 2339 Pa at 20 °C (ASHRAE's equation): 4.43 of 9.01 bar absolute."""
    dry = c.dry_line_pressure(20.0, 32.0, 8 * BAR)
    assert dry == pytest.approx(2339 / 4759 * 9.01325 * BAR - 1.01325 * BAR, rel=1e-3)
    assert c.dry_line_pressure(32.0, 32.0, 8 * BAR) == 8 * BAR
    assert c.dry_line_pressure(40.0, 32.0, 8 * BAR) == 8 * BAR
    assert c.dry_line_pressure(5.0, 50.0, 8 * BAR) is None  # wetter than a 5 °C line can hold even let down to the shop


@given(airs, st.floats(0.1, 60.0), gauges)
def test_air_let_down_that_far_is_as_wet_as_the_line_allows(line, over, gauge):
    dry = c.dry_line_pressure(line, line + over, gauge)
    outside = c.atmospheric_dew_point(line + over, gauge)
    if dry is None:
        assert outside > line - 1e-6
    else:
        assert 0.0 <= dry <= gauge
        assert c.atmospheric_dew_point(line, dry) == pytest.approx(outside, abs=1e-5)
        warmer = c.dry_line_pressure(line + 0.05, line + over, gauge)
        assert warmer is not None
        assert warmer >= dry


def test_a_ten_gallon_tank_holds_the_minutes_worked_out_by_hand():
    """38 L from 8.6 to 2.8 bar is 217.5 L of free air: 100 s at 130 L/min, 217.5 / (130 - 60) min with a compressor."""
    figures = (0.038, 8.6 * BAR, 2.8 * BAR, 0.130 / 60)
    free = 0.038 * 5.8 / 1.01325
    assert c.spraying_time(*figures) == pytest.approx(free / 0.130 * 60)
    assert c.spraying_time(*figures) == pytest.approx(100.4, abs=0.1)
    assert c.spraying_time(*figures, 0.060 / 60) == pytest.approx(free / 0.070 * 60)
    assert c.spraying_time(*figures, 0.130 / 60) == inf
    assert c.spraying_time(*figures, 0.200 / 60) == inf
    assert c.spraying_time(0.038, 2.8 * BAR, 2.8 * BAR, 0.002) == 0.0


@given(st.floats(0.001, 1.0), st.floats(1e5, 1e6), st.floats(0.0, 1e5), st.floats(1e-3, 0.05), st.floats(0.0, 9e-4))
def test_a_bigger_tank_and_a_smaller_gun_spray_longer(volume, full, lowest, gun, compressor):
    here = c.spraying_time(volume, full, lowest, gun, compressor)
    assert c.spraying_time(volume * 1.1, full, lowest, gun, compressor) >= here
    assert c.spraying_time(volume, full * 1.1, lowest, gun, compressor) > here
    assert c.spraying_time(volume, full, lowest, gun * 1.1, compressor) <= here
    assert c.spraying_time(volume, full, lowest, gun, compressor + 5e-5) >= here
    used = here * (gun - compressor) * c.SEA_LEVEL / volume
    assert used == pytest.approx(full - lowest, abs=1e-3)


@every(
    "function, figures, words",
    [(c.water_entering, (20, 0.6, 1.01), "intake flow"), (c.water_entering, (20, 0.6, nan), "intake flow nan"),
     (c.water_entering, (20, 60, 0.01), "humidity 60"), (c.pressure_dew_point, (20, 0.6, -1), "pressure -1"),
     (c.pressure_dew_point, (20, 0.6, 2.01e6), "pressure 2.01e"), (c.pressure_dew_point, (20, 0.6, 7e5, 7e5), "air"),
     (c.pressure_dew_point, (80, 1.0, 2e6), "vapour pressure"), (c.atmospheric_dew_point, (-81, 7e5), "dew point -81"),
     (c.line_dew_point, (40, 100), "tank temperature"), (c.line_dew_point, (nan, 20), "dew point nan"),
     (c.line_condenses, (-41, 20), "line temperature"), (c.line_condenses, (20, nan), "dew point nan"),
     (c.dry_line_pressure, (100, 20, 7e5), "line temperature"), (c.dry_line_pressure, (10, nan, 7e5), "dew point nan"),
     (c.dry_line_pressure, (10, 20, 2.1e6), "pressure 2.1e"), (c.dry_line_pressure, (10, 20, 7e5, nan), "air pressure"),
     (c.water_condensed, (20, 0.6, 7e5, 99.1), "cooled to"), (c.water_condensed, (100, 1.0, 7e5, 20), "all steam"),
     (c.water_condensed, (20, 0.6, 0.0, 99.0, 9e4), "all steam"),
     (c.spraying_time, (0.0, 8e5, 3e5, 2e-3), "tank volume"), (c.spraying_time, (0.04, 2.1e6, 3e5, 2e-3), "full tank"),
     (c.spraying_time, (0.04, 8e5, -1, 2e-3), "lowest pressure"), (c.spraying_time, (0.04, 8e5, 3e5, 0.0), "gun flow"),
     (c.spraying_time, (0.04, 8e5, 3e5, 2e-3, 1.1), "compressor flow"),
     (c.spraying_time, (0.04, 8e5, 3e5, 2e-3, 0.0, 1e4), "air pressure"),
     (c.spraying_time, (0.04, 3e5, 8e5, 2e-3), "over that of the full tank")],
)  # fmt: skip
def test_figures_outside_the_range_are_refused(function, figures, words):
    with pytest.raises(OutOfRange, match=words):
        function(*figures)


def test_the_edges_are_allowed():
    assert c.pressure_dew_point(20.0, 0.6, 0.0) == pytest.approx(moist_air.dew_point(20.0, 0.6))
    assert c.pressure_dew_point(20.0, 0.6, 2e6) > 60.0
    assert c.line_condenses(-40.0, -39.9)
    assert c.line_dew_point(-80.0, 99.0) == -80.0


@given(st.floats(-80.0, 99.9))
def test_dew_point_of_a_vapour_pressure_is_saturation_turned_round(celsius):
    assert moist_air.dew_point_of(moist_air.saturation_pressure(celsius)) == pytest.approx(celsius, abs=1e-5)


@pytest.mark.parametrize("pascal", [0.0, 0.009, 101_326.0, nan])
def test_no_dew_point_for_a_vapour_pressure_beyond(pascal):
    with pytest.raises(OutOfRange, match="vapour pressure"):
        moist_air.dew_point_of(pascal)
