"""The verdict: the worst of the rules; unknown never becomes a GO; no memory."""

from dataclasses import replace
from datetime import timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.catalog.coatings import coating_ids
from advisor.judge.conditions import Conditions, Measured
from advisor.judge.verdict import State
from tests.support import NOON, SHOP, examples, judge, typed, verdict_for


@pytest.mark.parametrize(
    ("known", "state", "cannot_tell", "exit_code"),
    [
        (typed(22, 0.45, 22), State.GO, False, 0),
        (typed(22, 0.65, 22), State.CHANGE, False, 0),
        (typed(22, 0.80, 22), State.WAIT, False, 1),
        (typed(22), State.WAIT, True, 3),
        (typed(rh=0.45), State.WAIT, True, 3),
        (Conditions("shop"), State.WAIT, True, 3),
        # one stop and one unknown together: the known reason counts
        (typed(2), State.WAIT, False, 1),
        (typed(rh=0.96), State.WAIT, False, 1),
        (typed(22, 0.45, piece_in=600), State.WAIT, True, 3),
        (typed(2, 0.45, piece_in=600), State.WAIT, False, 1),
    ],
)
def test_the_state_and_its_exit_code(known, state, cannot_tell, exit_code):
    verdict = verdict_for("nitrocellulose-lacquer", known)
    assert (verdict.state, verdict.cannot_tell, verdict.exit_code) == (state, cannot_tell, exit_code)


def test_a_go_holds_a_quarter_of_an_hour_and_no_longer_than_its_readings():
    fresh = verdict_for("shellac", typed(22, 0.45))
    assert fresh.holds_until == NOON + timedelta(minutes=15)
    known = typed(22, 0.45)
    older = replace(known, values={key: replace(value, age=600.0) for key, value in known.values.items()})
    verdict = verdict_for("shellac", older)
    assert verdict.valid_until == verdict.holds_until == NOON + timedelta(minutes=5)


def test_a_wait_holds_nothing():
    assert verdict_for("shellac", typed(2, 0.45)).holds_until is None
    assert verdict_for("shellac", Conditions("shop")).valid_until == NOON


def test_the_same_question_gets_the_same_answer():
    known = typed(22, 0.65, 20)
    assert verdict_for("shellac", known) == verdict_for("shellac", known)


def test_missing_surface_dust_and_outdoor_sensors_alone_never_make_a_wait():
    """Three inputs must do: air temperature, humidity, coating."""
    for coating in coating_ids():
        assert verdict_for(coating, typed(22, 0.45)).state is State.GO


numbers = st.one_of(st.none(), st.floats(-60, 120), st.just(float("nan")), st.just(float("inf")))
measurements = st.builds(
    Measured,
    value=numbers,
    uncertainty=st.floats(0.0, 3.0),
    age=st.one_of(st.none(), st.floats(0, 4000), st.just(float("nan"))),
    level=st.sampled_from(["good", "suspect", "bad"]),
    reason=st.sampled_from(["", "stuck", "missing"]),
)


@settings(max_examples=examples(400))
@given(
    measurements,
    measurements.map(lambda m: replace(m, value=None if m.value is None else m.value / 100)),
    measurements,
    st.sampled_from(coating_ids()),
)
def test_a_go_always_rests_on_fresh_good_numbers_inside_the_band(air, humidity, piece, coating_id):
    values = {
        ("shop", "air_temperature"): air,
        ("shop", "relative_humidity"): humidity,
        ("shop", "surface_temperature"): piece,
    }
    usable = all(
        m.level == "good" and m.age is not None and m.age <= 900 and m.value is not None and abs(m.value) < 61
        for m in (air, humidity)
    )
    coating = SHOP.coating(coating_id)
    verdict = judge(Conditions("shop", values), coating, SHOP, NOON)
    if verdict.state is State.WAIT:
        return
    assert usable
    band = coating.air_temperature
    assert band.wait_below.value <= air.value <= band.wait_above.value
    assert humidity.value <= coating.relative_humidity.wait_above.value
