"""How long a cold piece takes: the finisher's own day, directions, and what is said of it."""

import textwrap

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.catalog.coatings import coating_ids, load_coating
from advisor.judge.film_rules import Pot
from advisor.judge.warm_up import warm_up
from advisor.physics.room.piece import PIECE_RANGE
from advisor.say import finding_words, words
from advisor.say.record import verdict_record
from advisor.ways.changes import least_changes
from tests.support import NOON, SHOP, examples, judge, reference_toml, typed, verdict_for

LACQUER = load_coating("nitrocellulose-lacquer")
COLD = typed(21, 0.50, 8)


def test_the_board_out_of_the_cold_car_takes_what_a_finisher_says():
    """Test day 10 (common practice, no source): over dew + 3 after 10-15 min free-standing, 18 °C after about 30."""
    found = warm_up(COLD, LACQUER, SHOP, 3.0)
    assert found is not None
    assert found.low == LACQUER.air_temperature.go_low.value == 18.0
    assert 10 * 60 <= found.over_dew <= 15 * 60
    assert found.at_low == pytest.approx(30 * 60, rel=0.05)
    assert found.stacked == (4 * found.over_dew, 4 * found.at_low)


def test_the_day_stands_in_the_table_of_days():
    day = next(day for day in reference_toml("test_days.toml")["day"] if day["surface"] == 8)
    assert (day["air"], day["rh"]) == (21, pytest.approx(0.5))


def test_warmer_air_and_a_thinner_piece_are_sooner_and_damper_air_later():
    usual = warm_up(COLD, LACQUER, SHOP, 3.0)
    assert warm_up(typed(25, 0.39, 8), LACQUER, SHOP, 3.0).at_low < usual.at_low
    assert warm_up(COLD, LACQUER, SHOP, 3.0, "thin-wood").over_dew < usual.over_dew / 3
    assert warm_up(typed(21, 0.60, 8), LACQUER, SHOP, 3.0).over_dew > usual.over_dew
    assert warm_up(COLD, LACQUER, SHOP, 4.0).over_dew > usual.over_dew


def test_air_that_never_gets_it_there_is_none_and_a_piece_that_is_there_is_0():
    damp = warm_up(typed(16, 0.90, 8), LACQUER, SHOP, 3.0)
    assert (damp.over_dew, damp.at_low, damp.stacked) == (None, None, (None, None))
    assert warm_up(typed(21, 0.20, 19), LACQUER, SHOP, 3.0).over_dew == 0.0
    assert warm_up(typed(21, 0.20, 19), LACQUER, SHOP, 3.0).at_low == 0.0


@pytest.mark.parametrize("known", [typed(21, 0.5), typed(21, None, 8), typed(None, 0.5, 8), typed(21, 0.5, -41)])
def test_what_was_not_measured_has_no_time(known):
    assert warm_up(known, LACQUER, SHOP, 3.0) is None


def test_the_record_has_seconds_and_the_pot_names_what_is_sprayed():
    shown = verdict_record(verdict_for(LACQUER.id, COLD), SHOP, NOON)["warm_up"]
    assert shown["over_dew_point"] == pytest.approx(660, abs=60)
    assert shown["at_low_limit_stacked"] == pytest.approx(4 * shown["at_low_limit"], rel=1e-6)
    assert (shown["low_limit"], shown["dew_point_margin"]) == (18.0, pytest.approx(3.3, abs=0.1))
    thin = judge(COLD, LACQUER, SHOP, NOON, Pot(substrate="thin-wood"))
    assert thin.warm_up.over_dew < shown["over_dew_point"] / 3
    assert verdict_record(verdict_for(LACQUER.id, typed(22, 0.48, 21.5)), SHOP, NOON)["warm_up"] is None


@pytest.mark.parametrize("coating", ["nitrocellulose-lacquer", "shellac", "waterborne-clear-1k"])
def test_time_comes_before_a_heater_where_only_the_piece_is_cold(coating):
    verdict = verdict_for(coating, COLD)
    ways = least_changes(verdict, COLD, SHOP, NOON)
    do = next(line for line in words.told(verdict, SHOP, ways) if line.startswith("Do: "))
    assert do.startswith("Do: Free-standing it is over the dew point's")
    assert do.endswith("Then see that it is dry.")
    damp = typed(21, 0.95, 8)
    told = words.told(verdict_for(coating, damp), SHOP)
    assert not any(line.startswith("Do: Free-standing") for line in told)


@given(
    st.floats(*PIECE_RANGE), st.floats(0.02, 1.0), st.floats(-40, 60), st.sampled_from(coating_ids()),
)  # fmt: skip
@settings(max_examples=examples(25))
def test_a_warm_up_never_says_nonsense_and_never_takes_more_than_two_lines(air, rh, surface, coating):
    verdict = verdict_for(coating, typed(air, rh, surface))
    for finding in verdict.findings:
        said = finding_words.remedy(finding, verdict.coating, SHOP)
        assert "nan" not in said
        assert "inf " not in said
        if said.startswith("Free-standing"):
            assert len(textwrap.wrap(f"Do: {said}", 80, subsequent_indent="  ")) <= 2
    if verdict.warm_up is not None:
        seconds = verdict.warm_up.over_dew, verdict.warm_up.at_low
        assert all(each is None or each >= 0.0 for each in seconds)
