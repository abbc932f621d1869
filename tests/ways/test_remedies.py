"""Ways to a GO for the session ahead: each, applied, turns the verdict; none cuts the ventilation or passes a gate."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.catalog.coatings import coating_ids, load_coating
from advisor.film.mix import mix_of, most_retarder
from advisor.judge.plan import plan_for
from advisor.judge.verdict import State
from advisor.say.session_words import way_words
from advisor.ways.remedies import MOST_SHOWN, session_ways
from advisor.ways.tries import (
    WAIT_UNTIL,
    WARM_MAKE_UP,
    WARM_MAKE_UP_AND_PIECES,
    WARM_PIECES,
    WARM_ROOM,
    WARM_THROUGH,
    Ahead,
)
from tests.judge.test_session import MEASURED_FAN, day
from tests.outlook.columns import Columns, outlook
from tests.support import NOON, SHOP, examples, fixture_verdict, judge, local, typed

RANK = [State.GO, State.CHANGE, State.WAIT]
HEATED = (WARM_ROOM, WARM_MAKE_UP, WARM_MAKE_UP_AND_PIECES, WARM_THROUGH)


@pytest.mark.slow
@given(
    st.floats(16.0, 27.0), st.floats(0.25, 0.8), st.floats(-3.0, 1.0), st.floats(-5.0, 30.0), st.floats(0.3, 0.95),
    st.sampled_from(coating_ids()), st.integers(1, 3), st.booleans(),
)  # fmt: skip
@settings(max_examples=examples(25))
def test_every_way_shown_turns_the_verdict_and_keeps_fan_gates_and_sheet(air, rh, lag, out, out_rh, name, coats, fan):
    coating, shop = load_coating(name), MEASURED_FAN if fan else SHOP
    known, plan = day(air, rh, air + lag, out, out_rh), plan_for(coating, shop, coats)
    verdict = judge(known, coating, shop, NOON, plan=plan)
    ways = session_ways(verdict, known, shop, NOON)
    assert len(ways) <= MOST_SHOWN
    if verdict.state is State.GO:
        assert ways == ()
    for way in ways:
        then = judge(way.conditions, coating, shop, NOON, way.pot, way.plan)
        assert then.state is way.state
        assert RANK.index(then.state) < RANK.index(verdict.state)
        # the plan keeps its opening, its flash-off with the fan on and its spraying; only coats and warmth may change
        assert (way.plan.open_before, way.plan.spray, way.plan.flash, way.plan.pause) == (
            plan.open_before, plan.spray, plan.flash, plan.pause,
        )  # fmt: skip
        assert way.plan.coats <= plan.coats
        assert way.plan.make_up_rise >= plan.make_up_rise
        assert way.pot.retarder <= most_retarder(coating)
        mix_of(coating, way.pot.thinner or coating.thinner_speeds[0], way.pot.retarder)  # raises where a gate is passed
        assert way.conditions.at_work("air_temperature").value <= max(coating.air_temperature.go_high.value, air)
        said = way_words(way, coating, shop)
        assert not any(word in said.lower() for word in ("close the door", "fan off", "less fan", "slower fan"))
        if way.kind in HEATED:
            assert "proved fit" in said


def test_the_winter_day_is_mended_by_warming_what_comes_in():
    known = day(20.0, 0.4, 19.5, 0.0, 0.85)
    verdict = judge(known, load_coating("waterborne-clear-1k"), MEASURED_FAN, NOON)
    kinds = [way.kind for way in session_ways(verdict, known, MEASURED_FAN, NOON)]
    assert WARM_MAKE_UP in kinds


def test_cool_pieces_before_a_mild_damp_day_are_warmed():
    known = day(20.0, 0.5, 13.0, 18.0, 0.75)
    verdict = judge(known, load_coating("oil-varnish"), SHOP, NOON)
    assert verdict.session is not None
    ways = session_ways(verdict, known, SHOP, NOON)
    assert WARM_PIECES in [way.kind for way in ways]
    (warm,) = [way for way in ways if way.kind == WARM_PIECES]
    assert warm.pieces is not None
    assert warm.pieces > 13.0
    assert "Warm the pieces to" in way_words(warm, verdict.coating, SHOP)


@pytest.mark.parametrize(("name", "at", "coating"), [
    ("winter-door", "13:59", "waterborne-clear-1k"), ("warm-damp-front", "10:59", "nitrocellulose-lacquer"),
])  # fmt: skip
def test_the_fixture_days_have_a_way_or_say_to_wait_for_other_air(name, at, coating):
    verdict = fixture_verdict(name, local(name, at), coating, session=True)
    (finding,) = [each for each in verdict.findings if each.rule == "session"]
    assert finding.remedies[0].kind == "read_after_fan"


def test_without_a_session_or_with_readings_missing_there_is_no_way():
    verdict = judge(typed(14.0, 0.55, 14.0), load_coating("waterborne-clear-2k"), SHOP, NOON)
    assert session_ways(verdict, typed(14.0, 0.55, 14.0), SHOP, NOON) == ()
    blind = replace(day(), doubt="no-store")
    unknown = judge(blind, load_coating("shellac"), SHOP, NOON)
    assert session_ways(unknown, blind, SHOP, NOON) == ()


def test_the_shops_own_heater_is_reckoned_with():
    known = day(17.0, 0.45, 16.5, 14.0, 0.6)
    coating = load_coating("nitrocellulose-lacquer")
    verdict = judge(known, coating, SHOP, NOON)
    powers = {
        power: [
            way.power
            for way in session_ways(verdict, known, replace(SHOP, heater=power), NOON)
            if way.kind == WARM_ROOM
        ]
        for power in (2000.0, 6000.0)
    }
    assert powers[6000.0] == [6000.0]
    assert powers[2000.0] in ([], [2000.0])


def test_goes_stand_before_goes_with_changes_and_less_effort_before_more():
    known = day(20.0, 0.5, 19.5, 8.0, 0.8)
    verdict = judge(known, load_coating("waterborne-clear-2k"), MEASURED_FAN, NOON)
    ways = session_ways(verdict, known, MEASURED_FAN, NOON)
    order = [(RANK.index(way.state), way.effort) for way in ways]
    assert order == sorted(order)
    assert ways


def test_waiting_is_a_way_where_the_log_knows_a_better_hour():
    """Ten days of a shop at 20 °C and outdoors cold by night, mild by day; asked at seven in the morning."""
    now = NOON.replace(hour=7)
    times = now.timestamp() - np.arange(0.0, 10 * 86_400.0, 900.0)[::-1]
    phase = np.cos(2 * np.pi * (times / 86_400.0 - 14 / 24))
    shop_log = Columns(times, 21.0 + 0.5 * phase, np.full(len(times), 9.0))
    weather = Columns(times, 12.0 + 8.0 * phase, np.full(len(times), 6.0))
    ahead = Ahead(outlook(shop_log, now.timestamp()), outlook(weather, now.timestamp()))
    known = day(20.0, 0.46, 19.8, 4.0, 0.9)
    verdict = judge(known, load_coating("waterborne-clear-2k"), MEASURED_FAN, now)
    assert verdict.state is State.WAIT
    ways = session_ways(verdict, known, MEASURED_FAN, now, ahead=ahead)
    (wait,) = [way for way in ways if way.kind == WAIT_UNTIL]
    assert 2 * 60 <= wait.minutes <= 8 * 60
    said = way_words(wait, verdict.coating, SHOP)
    assert "Read again then" in said
    assert "GO" not in said


def test_a_room_that_falls_under_a_floor_of_cure_is_mended_by_warming_what_comes_in():
    """22 °C inside and 9 outdoors: the gun's minutes are good, the hour and a half of fan after them is not."""
    known = day(22.0, 0.45, 22.0, 9.0, 0.6)
    verdict = judge(known, load_coating("precatalysed-lacquer"), SHOP, NOON)
    assert verdict.session is not None
    assert verdict.session.stop is not None
    assert verdict.session.stop.finding.rule == "curing"
    assert verdict.session.stop.moment.seconds > verdict.session.plan.length
    assert WARM_MAKE_UP in [way.kind for way in session_ways(verdict, known, SHOP, NOON)]
    heated = judge(replace(known, held=True), load_coating("precatalysed-lacquer"), SHOP, NOON)
    assert heated.state is State.CHANGE
