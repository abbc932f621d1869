"""Moist air against published tables, reference libraries, and its own inverse."""

from collections.abc import Callable

import numpy as np
import psychrolib
import pytest
from hypothesis import given
from hypothesis import strategies as st

from advisor.errors import OutOfRange
from advisor.physics.air import moist_air
from tests.oracles import coolprop, metpy, weather_units
from tests.support import every, reference_rows

SEA_LEVEL = 101_325.0
temperatures = st.floats(-40, 60)
humidities = st.floats(0.005, 1.0)


@pytest.fixture(autouse=True)
def _si_units():
    psychrolib.SetUnitSystem(psychrolib.SI)


@pytest.mark.parametrize("row", reference_rows("ashrae_saturation.csv"), ids=lambda row: row["air_temperature_c"])
def test_saturation_pressure_meets_the_handbook_table_within_its_own_claim(row):
    computed = moist_air.saturation_pressure(float(row["air_temperature_c"]))
    assert computed == pytest.approx(float(row["saturation_pressure_pa"]), rel=3e-4)


def test_dew_point_meets_the_water_line_of_coolprop_within_5_mk():
    # CoolProp's saturation line (IAPWS-95), inverted at p x RH; above the triple point, where that line is liquid
    rng = np.random.default_rng(20)
    air, humidity = rng.uniform(0.02, 60, 5000), rng.uniform(0.02, 1, 5000)
    vapour = coolprop.PropsSI("P", "T", air + 273.15, "Q", 0, "Water") * humidity
    above_triple_point = vapour > 611.7
    expected = coolprop.PropsSI("T", "P", vapour[above_triple_point], "Q", 0, "Water") - 273.15
    computed = moist_air.dew_point(air, humidity)[above_triple_point]
    assert above_triple_point.sum() > 3000
    assert np.abs(computed - expected).max() < 0.005


def test_dew_point_meets_psychrolib_above_freezing():
    # psychrolib solves the same ASHRAE equation by its own iteration, to 1e-3 K
    for air in (5.0, 12.5, 21.0, 30.0, 45.0):
        for humidity in (0.35, 0.5, 0.72, 0.96):
            expected = psychrolib.GetTDewPointFromRelHum(air, humidity)
            if expected > 0.02:
                assert moist_air.dew_point(air, humidity) == pytest.approx(expected, abs=1e-3)
    # psychrolib's documentation gives 21.3094 °C for 25 °C, 80 %
    assert moist_air.dew_point(25.0, 0.8) == pytest.approx(21.3094, abs=1e-3)


def sonntag_over_water(kelvin: np.ndarray) -> np.ndarray:
    # Sonntag (1990) over water, as in Perry's Handbook eq. 12-4a, Pa
    return np.exp(
        -6096.9385 / kelvin + 21.2409642 - 2.711193e-2 * kelvin + 1.673952e-5 * kelvin**2 + 2.433502 * np.log(kelvin)
    )


def magnus(celsius: np.ndarray) -> np.ndarray:
    # WMO-No. 8 Annex 4.B over water, Pa; -45 to 60 °C
    return 611.2 * np.exp(17.62 * celsius / (243.12 + celsius))


@pytest.mark.parametrize(
    ("name", "reference", "claim"),
    [
        ("Sonntag 1990, supercooled: 0.5 % (from memory)", lambda t: sonntag_over_water(t + 273.15), 0.005),
        ("WMO-No. 8 Magnus form: 0.6 % (from memory)", magnus, 0.006),
        (
            "MetPy over liquid, Ambaum 2020: 0.4 % (from memory)",
            lambda t: metpy.saturation_vapor_pressure(t * weather_units.units.degC, phase="liquid").to("Pa").m,
            0.004,
        ),
    ],
)
def test_below_freezing_it_stays_over_liquid_water(name: str, reference: Callable, claim: float):
    celsius = np.linspace(-40.0, 0.0, 81)
    assert np.abs(moist_air.saturation_pressure(celsius) / reference(celsius) - 1).max() < claim
    # over ice it would be a third lower at -40 °C: that no tolerance above would hide
    assert moist_air.saturation_pressure(-40.0) > 1.4 * psychrolib.GetSatVapPres(-40.0)


def test_metpy_closed_form_is_met_within_its_known_error():
    # MetPy inverts Bolton (1980) on Ambaum (2020): up to 0.14 K off over this range
    rng = np.random.default_rng(4)
    air, humidity = rng.uniform(-30, 45, 2000), rng.uniform(0.1, 1, 2000)
    units = weather_units.units
    expected = metpy.dewpoint_from_relative_humidity(air * units.degC, humidity * units.dimensionless).m
    assert np.abs(moist_air.dew_point(air, humidity) - expected).max() < 0.15


def in_shop_range(row: dict[str, str]) -> bool:
    """Outside this band the charts give frost point or are up to 3 °F low."""
    air, humidity = float(row["air_temperature"]), float(row["relative_humidity_pct"])
    return row["unit"] == "C" or (50 <= air <= 90 and 40 <= humidity <= 90)


CHART_ROWS = [row for row in reference_rows("dew_point_charts.csv") if in_shop_range(row)]


@every("row", CHART_ROWS, ids=lambda row: "-".join(list(row.values())[:3]))
def test_dew_point_meets_published_charts_in_the_shop_range(row):
    # two circulated charts and two worked examples; the charts truncate, so 2 °F (README of the reference values)
    air, humidity, dew = (float(row[key]) for key in ("air_temperature", "relative_humidity_pct", "dew_point"))
    if row["unit"] == "F":
        computed = moist_air.dew_point((air - 32) / 1.8, humidity / 100) * 1.8 + 32
        assert computed == pytest.approx(dew, abs=2.0)
    else:
        assert moist_air.dew_point(air, humidity / 100) == pytest.approx(dew, abs=0.5)


def test_ashrae_example_1_is_met_within_the_reading_of_its_chart():
    # ASHRAE Fundamentals 2017 ch. 1 Example 1: 40 °C dry, 20 °C wet, 101.325 kPa: RH 14 %, W 0.0065, dew 7 °C
    assert moist_air.dew_point(40.0, 0.14) == pytest.approx(7.0, abs=0.5)
    assert moist_air.humidity_ratio(40.0, 0.14, SEA_LEVEL) == pytest.approx(0.0065, abs=1e-4)
    assert moist_air.wet_bulb(40.0, 0.14, SEA_LEVEL) == pytest.approx(20.0, abs=0.1)


@pytest.mark.parametrize(
    ("altitude", "pascal"), [(-500, 107478), (0, 101325), (500, 95461), (1000, 89875), (4000, 61640)]
)
def test_pressure_at_altitude_meets_the_handbook_table(altitude, pascal):
    # ASHRAE Fundamentals 2017 ch. 1 Table 1, as quoted in psychrolib's tests
    assert moist_air.pressure_at_altitude(altitude) == pytest.approx(pascal, abs=1.0)
    assert moist_air.pressure_at_altitude(altitude) == pytest.approx(psychrolib.GetStandardAtmPressure(altitude))


@every("air", [2.0, 15.0, 22.0, 35.0])
@every("humidity", [0.2, 0.48, 0.85, 1.0])
def test_wet_bulb_and_humidity_ratio_meet_psychrolib_above_freezing(air, humidity):
    expected = psychrolib.GetHumRatioFromRelHum(air, humidity, SEA_LEVEL)
    assert moist_air.humidity_ratio(air, humidity, SEA_LEVEL) == pytest.approx(expected, rel=1e-4)
    wet = psychrolib.GetTWetBulbFromRelHum(air, humidity, SEA_LEVEL)
    assert moist_air.wet_bulb(air, humidity, SEA_LEVEL) == pytest.approx(wet, abs=2e-3)


@given(temperatures, humidities)
def test_dew_point_is_its_own_inverse_to_a_millionth_of_a_kelvin(air, humidity):
    dew = moist_air.dew_point(air, humidity)
    vapour = moist_air.saturation_pressure(dew)
    assert vapour == pytest.approx(humidity * moist_air.saturation_pressure(air), rel=1e-7)
    back = moist_air.relative_humidity_from_dew_point(air, min(dew, air))
    assert moist_air.dew_point(air, min(back, 1.0)) == pytest.approx(dew, abs=1e-6)


@given(temperatures)
def test_saturated_air_is_at_its_dew_point(air):
    assert moist_air.dew_point(air, 1.0) == pytest.approx(air, abs=1e-6)


@given(temperatures, st.floats(0.01, 0.98))
def test_damper_air_has_a_higher_dew_point_that_stays_below_the_air(air, humidity):
    dew = moist_air.dew_point(air, humidity)
    assert dew < moist_air.dew_point(air, humidity + 0.01) <= air + 1e-6
    assert dew < moist_air.dew_point(air + 1.0, humidity)


@given(st.floats(-20, 40), st.floats(0.05, 0.95), st.floats(-15, 15))
def test_the_same_air_brought_elsewhere_and_back_is_the_same(air, humidity, step):
    there = moist_air.relative_humidity_at(air, humidity, air + step)
    if abs(step) > 0.001:
        assert (there < humidity) == (step > 0)
    if 0.001 <= there <= 1.0:
        assert moist_air.relative_humidity_at(air + step, there, air) == pytest.approx(humidity, rel=1e-9)
        assert moist_air.temperature_for_relative_humidity(air, humidity, there) == pytest.approx(air + step, abs=1e-5)


def test_more_water_than_saturation_shows_as_more_than_1():
    """Air cooled below its dew point would condense: the ratio is told, not capped."""
    assert moist_air.relative_humidity_at(24.0, 0.82, 18.0) > 1.0


def test_directions_of_the_small_formulas():
    assert moist_air.vapour_pressure_deficit(22.0, 0.4) > moist_air.vapour_pressure_deficit(22.0, 0.6)
    assert moist_air.vapour_pressure_deficit(22.0, 1.0) == pytest.approx(0.0)
    assert moist_air.absolute_humidity(22.0, 0.6) > moist_air.absolute_humidity(22.0, 0.4)
    assert moist_air.humidity_ratio(22.0, 0.5, 90_000.0) > moist_air.humidity_ratio(22.0, 0.5, SEA_LEVEL)
    assert moist_air.pressure_at_altitude(500.0) < moist_air.pressure_at_altitude(0.0)
    # PSU worked example: 25 °C, 75 %: vapour pressure 2.38 kPa; at 100 kPa a humidity ratio of 0.0152
    assert moist_air.vapour_pressure(25.0, 0.75) == pytest.approx(2380.0, rel=3e-3)
    assert moist_air.humidity_ratio(25.0, 0.75, 100_000.0) == pytest.approx(0.0152, abs=1e-4)


def test_absolute_humidity_is_the_ideal_gas_of_the_vapour_pressure():
    # 20 °C saturated: 17.3 g/m3 in every table (common practice, no source)
    assert moist_air.absolute_humidity(20.0, 1.0) == pytest.approx(0.0173, abs=5e-5)


def test_dew_point_uncertainty_meets_a_monte_carlo_of_the_sensors():
    rng = np.random.default_rng(7)
    air = np.clip(rng.normal(24.0, 0.5, 200_000), -40, 60)
    humidity = np.clip(rng.normal(0.62, 0.03, 200_000), 0.01, 1.0)
    spread = np.std(moist_air.dew_point(air, humidity))
    assert moist_air.dew_point_uncertainty(24.0, 0.62, 0.5, 0.03) == pytest.approx(spread, rel=0.01)


@pytest.mark.parametrize("humidity", [0.5, 0.55, 0.6, 0.65, 0.7])
def test_a_humidity_sensor_of_3_percent_shows_its_dew_point_to_0_7_to_0_9_k(humidity):
    """Its own share, between 50 and 70 %; drier air makes it more, and the thermometer's share comes on top."""
    assert 0.7 <= round(moist_air.dew_point_uncertainty(22.0, humidity, 0.0, 0.03), 1) <= 0.9


def test_floats_give_floats_and_arrays_keep_their_shape():
    assert isinstance(moist_air.dew_point(20, 0.5), float)
    grid = moist_air.dew_point(np.full((3, 1), 20.0), np.full((1, 4), 0.5))
    assert grid.shape == (3, 4)
    long = np.full(70_000, 20.0)
    assert np.ptp(moist_air.dew_point(long, 0.5)) == 0.0
    assert moist_air.dew_point(np.empty(0), 0.5).shape == (0,)


@every(
    "call, words",
    [
        (lambda: moist_air.dew_point(float("nan"), 0.5), "nan"),
        (lambda: moist_air.dew_point(20.0, 62.0), "relative humidity 62"),
        (lambda: moist_air.dew_point(20.0, 0.0), "relative humidity 0"),
        (lambda: moist_air.dew_point(20.0, 1.0000001), "relative humidity 1"),
        (lambda: moist_air.dew_point(-60.1, 0.5), "air temperature -60.1"),
        (lambda: moist_air.dew_point(100.1, 0.5), "air temperature 100.1"),
        (lambda: moist_air.dew_point([20.0, 293.15], [0.5, 0.5]), "air temperature 293.15"),
        (lambda: moist_air.saturation_pressure(-100.1), "temperature -100.1"),
        (lambda: moist_air.wet_bulb(20.0, 0.5, 1013.25), "air pressure 1013.25"),
        (lambda: moist_air.humidity_ratio(99.0, 1.0, 95_000.0), "nearly all steam"),
        (lambda: moist_air.relative_humidity_from_dew_point(20.0, 20.5), "above the air"),
        (lambda: moist_air.temperature_for_relative_humidity(60.0, 1.0, 0.01), "too low"),
        (lambda: moist_air.pressure_at_altitude(5001), "altitude 5001"),
    ],
)
def test_out_of_range_says_what_came_what_is_allowed_and_what_to_do(call, words):
    with pytest.raises(OutOfRange, match=words) as caught:
        call()
    assert caught.value.allowed
    assert caught.value.do


@pytest.mark.parametrize(("air", "humidity"), [(-60.0, 0.5), (100.0, 0.5), (20.0, 0.001), (20.0, 1.0)])
def test_the_edges_of_the_ranges_are_inside(air, humidity):
    assert np.isfinite(moist_air.dew_point(air, humidity))


def test_wet_bulb_of_air_wetter_than_ice_is_the_air_temperature():
    assert moist_air.wet_bulb(-5.0, 1.0, SEA_LEVEL) == -5.0
    assert moist_air.wet_bulb(-5.0, 0.5, SEA_LEVEL) < -5.0
