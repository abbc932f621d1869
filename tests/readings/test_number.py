"""The one strict parser of values from outside."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from advisor.readings.number import STATUS_WORDS, parse_value
from advisor.readings.reading import MISSING, NOT_A_NUMBER


@pytest.mark.parametrize(
    ("text", "value"),
    [("21.5", 21.5), (" 21.5 ", 21.5), ("-3", -3.0), ("+4.0", 4.0), ("0", 0.0), ("1e3", 1000.0), ("900000", 9e5)],
)
def test_a_plain_number_is_read(text, value):
    assert parse_value(text).value == value


@pytest.mark.parametrize("word", sorted(STATUS_WORDS))
def test_a_status_word_is_missing_in_any_case(word):
    assert parse_value(word.upper()).reason == MISSING
    assert parse_value(f" {word} ").reason == MISSING


@pytest.mark.parametrize(
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
    assert parse_value(text).reason == NOT_A_NUMBER
    assert parse_value(text).value is None


def test_a_decimal_comma_is_read_only_where_declared():
    assert parse_value("21,5", decimal=",").value == 21.5
    assert parse_value("21.5", decimal=",").reason == NOT_A_NUMBER


@given(st.text(max_size=50))
def test_any_text_gives_a_finite_number_or_a_reason(text):
    parsed = parse_value(text)
    assert (parsed.value is None) == bool(parsed.reason)
    if parsed.value is not None:
        assert math.isfinite(parsed.value)


@given(st.floats(-1e6, 1e6).map(lambda value: round(value, 6)))
def test_a_number_written_out_is_read_back(value):
    assert parse_value(f"{value:.6f}").value == value
