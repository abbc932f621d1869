"""The one strict parser of values from outside."""

import json
import math
from decimal import Decimal

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from advisor.readings.reading import MISSING, NOT_A_NUMBER, WRONG_UNIT
from advisor.readings.senml import STATUS_WORDS, parse_value
from advisor.units import unit_for
from tests.support import every


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("21.5", 21.5),
        (" 21.5 ", 21.5),
        ("-3", -3.0),
        ("+4.0", 4.0),
        ("0", 0.0),
        ("1e3", 1000.0),
        ("900000", 9e5),
        (".5", 0.5),
        ("-.5", -0.5),
        (" 22.5 ", 22.5),
    ],
)
def test_a_plain_number_is_read(text, value):
    assert parse_value(text)[0] == value


@every("word", sorted(STATUS_WORDS))
def test_a_status_word_is_missing_in_any_case(word):
    assert parse_value(word.upper())[1] == MISSING
    assert parse_value(f" {word} ")[1] == MISSING


@every(
    "text",
    [
        "inf",
        "-Infinity",
        "1e999",
        "1_000",
        "٢١",
        "21,5",
        "21.5C",
        "True",
        "0x10",
        "1.2.3",
        "--5",
        "9" * 5000,
        " " * 5000,
        "\x00",
        "21.5\n21.5",
        ".",
        "5.",
    ],
)
def test_what_is_no_number_is_not_a_number(text):
    assert parse_value(text)[1] == NOT_A_NUMBER
    assert parse_value(text)[0] is None


def test_a_decimal_comma_is_read_only_where_declared():
    assert parse_value("21,5", decimal=",")[0] == 21.5
    assert parse_value("21.5", decimal=",")[1] == NOT_A_NUMBER


@given(st.text(max_size=50))
def test_any_text_gives_a_finite_number_or_a_reason(text):
    value, reason = parse_value(text)
    assert (value is None) == bool(reason)
    if value is not None:
        assert math.isfinite(value)


@given(st.floats(-1e6, 1e6).map(lambda value: round(value, 6)))
def test_a_number_written_out_is_read_back(value):
    assert parse_value(f"{value:.6f}")[0] == value


@given(st.floats(allow_nan=False, allow_infinity=False))
@example(22.22222222222222)  # 72 °F
@example(21.200000000000003)
@example(-1.7976931348623157e308)
@example(5e-324)
def test_every_finite_double_is_read_as_a_script_prints_it(value):
    assert parse_value(repr(value))[0] == value
    assert parse_value(json.dumps(value))[0] == value
    assert parse_value(f"{value:.17g}")[0] == value
    assert parse_value(repr(value).replace(".", ","), decimal=",")[0] == value


@given(st.floats(0.02, 100.0))
def test_a_reading_of_air_may_be_written_out_to_its_last_binary_digit(value):
    assert parse_value(str(Decimal(value)))[0] == value


@every(
    "text, unit, value, reason",
    [
        ("22.5 °C", ("C", "temperature"), 22.5, ""), ("22.5C", ("C", "temperature"), 22.5, ""),
        ("72.5 °F", ("F", "temperature"), 72.5, ""), ("22.5\u00a0°C", ("°C", "temperature"), 22.5, ""),
        ("48.5 %", ("pct", "fraction"), 48.5, ""), ("1013 hPa", ("mbar", "pressure"), 1013.0, ""),
        ("72.5 °F", ("C", "temperature"), None, WRONG_UNIT), ("22.5 °C", ("F", "temperature"), None, WRONG_UNIT),
        ("48.5 %", ("fraction", "fraction"), None, WRONG_UNIT), ("295 K", ("C", "temperature"), None, WRONG_UNIT),
        ("48.5 %", ("C", "temperature"), None, NOT_A_NUMBER), ("22.5 °C °C", ("C", "temperature"), None, NOT_A_NUMBER),
        ("22.5 warm", ("C", "temperature"), None, NOT_A_NUMBER), ("°C", ("C", "temperature"), None, NOT_A_NUMBER),
        ("5. °C", ("C", "temperature"), None, NOT_A_NUMBER),
    ],
)  # fmt: skip
def test_the_declared_unit_may_stand_behind_a_number_and_another_one_is_told(text, unit, value, reason):
    declared = unit_for(*unit)
    assert declared is not None
    assert parse_value(text, unit=declared) == (value, reason)


@pytest.mark.parametrize("text", ["22.5 °C", "22.5 %"])
def test_a_unit_where_none_is_declared_is_no_number(text):
    assert parse_value(text)[1] == NOT_A_NUMBER
