"""Numbers with their units: factors of NIST SP 811 (2008) Appendix B, rounding to the side that is safe."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from advisor.say.numbers import (
    between,
    counted,
    fan,
    film,
    pressure,
    quantity,
    room,
    stepped,
    tank,
    temperature,
    trimmed,
    volume,
    with_uncertainty,
)
from advisor.shop.shop import US

METRIC = "metric"


@pytest.mark.parametrize(
    ("kind", "value", "metric", "us"),
    [
        ("temperature", 21.5, "21.5 °C", "70.7 °F"),
        ("difference", 5.2, "5.2 °C", "9.4 °F"),
        ("volume", 45e-6, "45 ml", "1.5 fl oz"),
        ("tank", 0.038, "38 l", "10 gal"),
        ("room", 90.0, "90 m3", "3178 ft3"),
        ("area", 1.2, "1.2 m2", "12.9 ft2"),
        ("flow", 250e-3 / 60.0, "250 l/min", "8.8 cfm"),
        ("fan", 0.25, "0.25 m3/s", "530 cfm"),
        ("film", 100e-6, "100 µm", "3.94 mil"),
        ("pressure", 1.7e5, "1.7 bar", "25 psi"),
    ],
)
def test_a_quantity_is_told_in_the_shops_units(kind, value, metric, us):
    assert quantity(kind, value, METRIC) == metric
    assert quantity(kind, value, US) == us


@given(st.floats(-40.0, 60.0), st.sampled_from([METRIC, US]))
def test_what_must_be_reached_is_rounded_up_and_what_must_not_be_passed_down(celsius, units):
    exact = celsius * 1.8 + 32.0 if units == US else celsius
    low, high = (float(temperature(celsius, units, up=up).split()[0]) for up in (False, True))
    assert low - 1e-6 <= exact <= high + 1e-6
    assert high - low <= 0.1 + 1e-9


def test_a_pressure_at_most_and_an_amount_in_tens_are_rounded_down():
    assert pressure(4.19e5, METRIC, up=False) == "4.1 bar"
    assert volume(347e-6, METRIC, -1, up=False) == "340 ml"
    assert tank(1.96e-3, METRIC, up=False) == "1.9 l"
    assert fan(0.801, METRIC, up=True) == "0.81 m3/s"


def test_the_noise_of_binary_fractions_moves_no_step():
    assert stepped(0.1 + 0.2, 0.1, True) == pytest.approx(0.3)
    assert trimmed(-0.04, 1) == "0"


def test_the_uncertainty_says_how_finely_a_value_is_told():
    assert with_uncertainty(20.137, 0.41) == "20.1 ±0.4"
    assert with_uncertainty(0.5251, 0.0112) == "0.525 ±0.011"


def test_a_range_keeps_its_order_and_one_is_no_many():
    assert between("pressure", 8e5, 4e5, METRIC) == "8 to 4 bar"
    assert (counted(1, "one coat"), counted(3, "one coat")) == ("one coat", "3 coats")
    assert film(101.6e-6, US) == "4 mil"
    assert room(2.4, METRIC) == "2.4 m3"
