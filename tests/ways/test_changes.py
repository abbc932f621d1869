"""The least change to a GO: applied, it is one (or says that a panel comes first), and no gate is passed on the way."""

from dataclasses import replace

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from advisor.catalog.coatings import coating_ids, load_coating
from advisor.film.mix import most_retarder
from advisor.judge.film_rules import Pot
from advisor.judge.verdict import State
from advisor.say.film_words import change
from advisor.ways import changes as kinds
from advisor.ways.changes import least_changes
from tests.support import NOON, SHOP, examples, judge, typed


def found(coating_id, air, humidity, piece, pot=None):
    pot = pot or Pot()
    known = typed(air, humidity, piece)
    verdict = judge(known, load_coating(coating_id), SHOP, NOON, pot)
    return verdict, least_changes(verdict, known, SHOP, NOON, pot)


def applied(verdict, way, air, piece):
    """The verdict on the air and the pot as a change leaves them; moved air moves the piece with the room."""
    moved = way.air_temperature != pytest.approx(air)
    return judge(
        typed(way.air_temperature, way.relative_humidity, way.air_temperature if moved else piece),
        verdict.coating, SHOP, NOON, way.pot,
    )  # fmt: skip


@given(
    st.sampled_from(coating_ids()),
    st.integers(100, 320),
    st.integers(25, 95),
    st.integers(-40, 10),
)
@settings(max_examples=examples(40))
def test_every_change_applied_gives_a_go_or_says_panel_first(coating_id, tenths, percent, lag):
    air, humidity, piece = tenths / 10, percent / 100, tenths / 10 + lag / 10
    verdict, ways = found(coating_id, air, humidity, piece)
    assume(verdict.state is not State.GO)
    for way in ways:
        then = applied(verdict, way, air, piece)
        assert then.state is not State.WAIT, way
        assert way.panel_first or then.state is State.GO, way


@given(st.sampled_from(coating_ids()), st.integers(150, 300), st.integers(55, 95), st.sampled_from([0.0, 0.02, 0.05]))
@settings(max_examples=examples(40))
def test_no_change_passes_a_gate_or_cuts_the_ventilation(coating_id, tenths, percent, retarder):
    coating = load_coating(coating_id)
    assume(retarder <= most_retarder(coating))
    _, ways = found(coating_id, tenths / 10, percent / 100, tenths / 10, Pot(None, retarder))
    for way in ways:
        assert way.pot.thinner is None or way.pot.thinner in coating.thinner_speeds
        assert retarder <= way.pot.retarder <= most_retarder(coating) + 1e-9
        assert way.relative_humidity <= percent / 100 + 1e-9
        assert way.air_temperature <= coating.air_temperature.wait_above.value
        said = change(way, coating, SHOP).lower()
        assert not any(word in said for word in ("fan", "door", "opening", "exhaust", "ventilat", "booth"))
        if way.kind in (kinds.WARM, kinds.WARM_AND_MIX):
            assert "heater off, or proved fit" in said
        if way.kind == kinds.DRY:
            assert "dryer off, or proved fit" in said


def test_a_go_needs_no_change_and_unknown_air_has_none():
    verdict, ways = found("nitrocellulose-lacquer", 22.0, 0.48, 22.0)
    assert (verdict.state, ways) == (State.GO, ())
    verdict = judge(typed(22.0), load_coating("nitrocellulose-lacquer"), SHOP, NOON)
    assert least_changes(verdict, typed(22.0), SHOP, NOON) == ()


def test_day_2_offers_slower_thinner_and_retarder_each_with_a_panel_first():
    """A finisher's day (common practice, no source): 24 °C, 70 %, thinner unknown."""
    verdict, ways = found("nitrocellulose-lacquer", 24.0, 0.70, 24.0)
    assert verdict.state is State.CHANGE
    by_kind = {way.kind: way for way in ways}
    assert by_kind[kinds.THINNER].pot.thinner in ("medium", "slow")
    assert 0.05 <= by_kind[kinds.RETARDER].pot.retarder <= 0.15
    assert by_kind[kinds.RETARDER].pot.thinner is None
    assert by_kind[kinds.THINNER].panel_first
    assert by_kind[kinds.RETARDER].panel_first
    assert verdict.findings[2].rule == "relative_humidity"


@pytest.mark.parametrize("pot", [Pot(), Pot("medium"), Pot("medium", 0.1), Pot("slow", 0.15)])
def test_day_3_is_a_wait_that_drying_mends_or_warmth_with_retarder_but_not_retarder_alone(pot):
    """A finisher's day (common practice, no source): 24 °C, 82 %, any retarder."""
    verdict, ways = found("nitrocellulose-lacquer", 24.0, 0.82, 23.0, pot)
    assert verdict.state is State.WAIT
    named = {way.kind for way in ways}
    assert kinds.DRY in named
    assert not named & set(kinds.AT_THE_BENCH)
    warm = [way for way in ways if way.kind in (kinds.WARM, kinds.WARM_AND_MIX)]
    assert warm
    assert all(25.0 <= way.air_temperature <= 28.0 for way in warm)
    assert pot.thinner or all(way.pot.retarder > 0 or way.pot.thinner == "slow" for way in warm)


def test_least_effort_comes_first():
    _, ways = found("precatalysed-lacquer", 24.0, 0.66, 24.0)
    order = [kinds.EFFORT.index(way.kind) for way in ways]
    assert order == sorted(order)
    assert ways[0].kind == kinds.PANEL


@pytest.mark.slow
def test_a_two_pack_is_never_told_to_thin_slower_where_that_holds_more_water():
    """Its slow thinner blushes earlier by the model: each thinner named is computed, else a panel is asked for."""
    two_pack = load_coating("solvent-polyurethane-2k")
    for air in range(18, 29, 2):
        for percent in range(66, 80):
            verdict, ways = found(two_pack.id, float(air), percent / 100, float(air), Pot("medium"))
            for way in ways:
                then = applied(verdict, way, float(air), float(air))
                assert then.state is not State.WAIT, (air, percent, way)
            assert not any(
                "slower" in word for finding in verdict.findings for word in (r.kind for r in finding.remedies)
            )


def test_a_film_with_too_much_retarder_loses_the_retarder_first():
    verdict, ways = found("nitrocellulose-lacquer", 27.0, 0.50, 27.0, Pot("medium", 0.15))
    assert verdict.state is State.CHANGE
    assert (ways[0].kind, ways[0].pot.retarder, ways[0].state) == (kinds.RETARDER, 0.0, State.GO)
    assert change(ways[0], verdict.coating, SHOP).startswith("Leave the retarder out")


def test_an_unknown_thinner_is_not_told_by_name():
    _, ways = found("nitrocellulose-lacquer", 24.0, 0.76, 24.0)
    assert not any("hot thinner" in change(way, load_coating("nitrocellulose-lacquer"), SHOP) for way in ways)


def test_a_slower_thinner_says_what_it_costs():
    _, ways = found("nitrocellulose-lacquer", 24.0, 0.70, 24.0, Pot("hot"))
    slower = next(way for way in ways if way.kind == kinds.THINNER)
    assert slower.recoat_from is not None
    assert slower.recoat_now is not None
    assert slower.recoat_from >= slower.recoat_now
    longer = replace(slower, recoat_from=2.0 * slower.recoat_now)
    assert "Next coat after" in change(longer, load_coating("nitrocellulose-lacquer"), SHOP)


def test_cold_water_borne_film_is_warmed_until_it_forms():
    verdict, ways = found("waterborne-clear-2k", 14.0, 0.55, 14.0)
    assert verdict.state is State.WAIT
    (warm,) = ways
    assert (warm.kind, warm.state) == (kinds.WARM, State.GO)
    assert 18.0 <= warm.air_temperature <= 22.0
