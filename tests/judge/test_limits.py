"""One comparison for every rule: three steps, at, just under and just over each, floats and arrays alike."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from advisor.judge.finding import CHANGE, LEVELS, OK, STOP, Finding, Level, Limits, Side, worst_of

BAND = Limits(18.0, 28.0, 15.0, 30.0)
BLANK = Finding("air_temperature", Level.UNKNOWN, unit="°C")


@pytest.mark.parametrize(
    ("value", "level", "side", "limit", "margin"),
    [
        (14.9, STOP, Side.LOW, 15.0, -3.1), (15.0, CHANGE, Side.LOW, 18.0, -3.0), (17.9, CHANGE, Side.LOW, 18.0, -0.1),
        (18.0, OK, Side.WITHIN, 18.0, 0.0), (22.0, OK, Side.WITHIN, 18.0, 4.0), (28.0, OK, Side.WITHIN, 28.0, 0.0),
        (28.1, CHANGE, Side.HIGH, 28.0, -0.1), (30.0, CHANGE, Side.HIGH, 28.0, -2.0),
        (30.1, STOP, Side.HIGH, 30.0, -2.1),
    ],
)  # fmt: skip
def test_a_value_against_a_band_says_level_side_the_limit_crossed_and_the_way_to_a_go(
    value, level, side, limit, margin
):
    found = BAND.held_against(BLANK, value)
    assert (found.level, found.side, found.limit) == (LEVELS[level], side, limit)
    assert found.margin == pytest.approx(margin)
    assert found.go_limit == (28.0 if side is Side.HIGH or value == 28.0 else 18.0)


@given(st.lists(st.one_of(st.floats(-60.0, 90.0), st.just(float("nan"))), min_size=1))
def test_an_array_comes_to_what_its_values_come_to_one_by_one(values):
    one_by_one = [LEVELS.index(BAND.held_against(BLANK, value).level) for value in values]
    assert BAND.levels(np.array(values)).tolist() == one_by_one


def test_what_is_no_number_is_a_stop_where_anything_is_and_never_within():
    nan = float("nan")
    assert BAND.levels(nan) == STOP
    assert Limits(3.0).levels(nan) == CHANGE
    assert Limits(high=0.25, above=0.5).levels(nan) == STOP


@pytest.mark.parametrize(
    ("value", "level"), [(17.5, OK), (17.49, CHANGE), (14.99, CHANGE), (14.98, STOP), (28.51, CHANGE), (28.5, OK)]
)
def test_a_computed_value_counts_only_outside_by_more_than_it_is_sure_of(value, level):
    assert BAND.levels(value, spare=0.5, past=0.015) == level


def test_the_worst_is_a_stop_then_an_unknown_that_decides_then_a_change():
    stop, change, ok = (Finding("night", level) for level in (Level.STOP, Level.CHANGE, Level.OK))
    unknown, aside = Finding("surface", Level.UNKNOWN), Finding("closing", Level.UNKNOWN, deciding=False)
    assert worst_of([ok, change, unknown, stop]) is Level.STOP
    assert worst_of([change, unknown]) is Level.UNKNOWN
    assert worst_of([change, aside, ok]) is Level.CHANGE
    assert worst_of([aside, ok]) is Level.OK
