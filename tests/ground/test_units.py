"""Units at the edge, against pint, and what a person may type."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from advisor.errors import UsageError
from advisor.units import UNITS, from_si, parse_quantity, parse_relative_humidity, to_si, unit_for
from tests.oracles import pint
from tests.support import every

# our spelling -> pint's, where it differs; the target of each dimension
PINT_NAMES = {
    ("C", "temperature"): "degC", ("°C", "temperature"): "degC", ("F", "temperature"): "degF",
    ("°F", "temperature"): "degF", ("K", "temperature"): "kelvin",
    ("C", "temperature_difference"): "delta_degC", ("°C", "temperature_difference"): "delta_degC",
    ("K", "temperature_difference"): "kelvin", ("F", "temperature_difference"): "delta_degF",
    ("°F", "temperature_difference"): "delta_degF",
    ("pct", "fraction"): "percent", ("%", "fraction"): "percent", ("fraction", "fraction"): "dimensionless",
    ("inHg", "pressure"): "inHg", ("mil", "length"): "thou", ("month", "time"): "month", ("l", "volume"): "liter",
    ("m3", "volume"): "m**3", ("ft3", "volume"): "ft**3",
    ("m2", "area"): "m**2", ("ft2", "area"): "ft**2", ("gal", "volume"): "US_liquid_gallon",
    ("m3/s", "flow"): "m**3/s", ("m3/h", "flow"): "m**3/hour",
    ("ml/min", "flow"): "milliliter/minute",
    ("l/s", "flow"): "liter/second", ("l/min", "flow"): "liter/minute", ("cfm", "flow"): "ft**3/min",
    ("W/K", "heat_conductance"): "W/K", ("l/d", "water_flow"): "kg/day",
    ("fpm", "speed"): "ft/min", ("per_m3", "number_concentration"): "m**-3",
    ("per_l", "number_concentration"): "liter**-1", ("per_ft3", "number_concentration"): "ft**-3",
    ("ug_per_m3", "mass_concentration"): "ug/m**3", ("mg_per_m3", "mass_concentration"): "mg/m**3",
    ("count", "count"): "dimensionless", ("ratio", "ratio"): "dimensionless", ("h", "time"): "hour",
    ("d", "time"): "day", ("um", "length"): "micrometer", ("µm", "length"): "micrometer",
    ("W/m2K", "heat_transfer"): "W/m**2/kelvin",
    ("floz", "volume"): "US_fluid_ounce", ("ml", "volume"): "milliliter",
}  # fmt: skip
TARGETS = {
    "temperature": "degC", "temperature_difference": "delta_degC", "fraction": "dimensionless", "pressure": "Pa",
    "length": "m", "time": "s", "volume": "m**3", "area": "m**2", "flow": "m**3/s", "speed": "m/s",
    "number_concentration": "m**-3", "mass_concentration": "kg/m**3", "count": "dimensionless",
    "ratio": "dimensionless", "heat_transfer": "W/m**2/kelvin", "molar_energy": "J/mol",
    "heat_conductance": "W/K", "power": "W", "water_flow": "kg/s",
}  # fmt: skip


def test_every_unit_converts_as_pint_does():
    registry = pint.UnitRegistry()
    for value in (0.5, 62.0, 1234.5):
        expected = {}
        for unit in UNITS:
            name = PINT_NAMES.get((unit.spelling, unit.dimension), unit.spelling)
            expected[unit] = registry.Quantity(value, name).to(TARGETS[unit.dimension]).magnitude
        assert {unit: to_si(value, unit) for unit in UNITS} == pytest.approx(expected, rel=1e-6, abs=1e-9)


@given(st.sampled_from(UNITS), st.floats(-1e6, 1e6))
def test_there_and_back_is_the_same(unit, value):
    assert from_si(to_si(value, unit), unit) == pytest.approx(value, rel=1e-9, abs=1e-6)


@pytest.mark.parametrize(
    ("text", "celsius"),
    [
        ("24C", 24.0),
        ("24 °C", 24.0),
        ("75.2F", 24.0),
        ("64.4 °f", 18.0),
        ("297.15 K", 24.0),
        ("-5C", -5.0),
        ("−5C", -5.0),
    ],
)
def test_a_typed_temperature_is_read_in_its_unit(text, celsius):
    assert parse_quantity(text, "temperature", "--air") == celsius


@every(
    "text, words",
    [
        ("24", "no unit"), ("", "not a number"), ("C", "not a number"), ("nan C", "not a number"),
        ("inf", "not a number"), ("24,5C", "decimal comma"), ("24 m", "does not fit"), ("1_0C", "does not fit"),
        ("1e3C", "does not fit"), ("٢٤C", "not a number"), ("9" * 5000, "not a number"), ("\x00", "not a number"),
    ],
)  # fmt: skip
def test_what_is_no_temperature_is_refused_with_a_plain_reason(text, words):
    with pytest.raises(UsageError, match=words) as caught:
        parse_quantity(text, "temperature", "--air")
    assert len(str(caught.value)) < 200


def test_a_bare_number_takes_the_unit_of_a_site_that_names_one():
    assert parse_quantity("77", "temperature", "--air", default_unit="F") == 25.0


@pytest.mark.parametrize(
    ("text", "fraction"),
    [("62%", 0.62), ("62", 0.62), ("62.5 %", 0.625), ("100", 1.0), ("1.01", 0.0101), ("0.5%", 0.005), ("1 %", 0.01)],
)
def test_typed_humidity_is_percent(text, fraction):
    assert parse_relative_humidity(text) == pytest.approx(fraction)


@pytest.mark.parametrize("text", ["0.62", "1", "0.01", "1.0"])
def test_a_humidity_of_one_or_less_without_percent_is_asked_back(text):
    with pytest.raises(UsageError, match="did you mean"):
        parse_relative_humidity(text)


def test_the_question_names_both_readings():
    with pytest.raises(UsageError, match=r"62 % or 0\.62 %\?"):
        parse_relative_humidity("0.62")


@pytest.mark.parametrize("text", ["0", "-5%", "100.1%", "101", "150 %", "abc", "62 C"])
def test_a_humidity_air_cannot_have_is_refused(text):
    with pytest.raises(UsageError):
        parse_relative_humidity(text)


@given(st.text(max_size=60))
def test_no_typed_text_raises_anything_but_a_usage_error(text):
    for parse in (lambda: parse_quantity(text, "temperature", "--air"), lambda: parse_relative_humidity(text)):
        try:
            assert isinstance(parse(), float)
        except UsageError as error:
            assert "\n" not in str(error)


def test_spellings_are_unique_within_a_dimension_whatever_the_case():
    keys = [(unit.dimension, unit.spelling.casefold()) for unit in UNITS if unit.spelling != "µm"]
    assert len(set(keys)) == len(keys)
    assert unit_for("HPA", "pressure") is unit_for("hPa", "pressure")
