"""The mixing bench re-simulated: the target is met, the cap never passed, the film of today's air clear."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.bench.bench import InThePot, bench, most_thinning, pot_life
from advisor.catalog.coatings import coating_ids, load_coating
from advisor.cli.paper import wrapped
from advisor.film.mix import mix_of, most_retarder
from advisor.film.wet_film import FilmCase, dry_films
from advisor.physics.paint import viscosity
from advisor.physics.paint.cups import find_cup
from advisor.say.craft.bench_words import told
from advisor.say.phrases import short_caution
from tests.support import NOON, SHOP, examples

DIN_4 = find_cup("DIN 4")
COLOUR = load_coating("waterborne-colour")


def pot(seconds=38.0, material=19.0, **more) -> InThePot:
    return InThePot(more.pop("cup", DIN_4), seconds, material, 500e-6, **more)


@given(
    st.sampled_from(coating_ids()), st.floats(26.0, 140.0), st.floats(12.0, 28.0),
    st.one_of(st.none(), st.floats(14.0, 60.0)), st.sampled_from([0.0, 0.05]),
)  # fmt: skip
@settings(max_examples=examples(80))
def test_poured_as_said_the_mix_runs_as_said_and_no_cap_is_passed(coating_id, seconds, material, target, already):
    coating = load_coating(coating_id)
    answer = bench(coating, pot(seconds, material, target=target, already=already), SHOP)
    share = viscosity.share_from_thinning(already)
    mixed = (share * 500e-6 + answer.thinner) / (500e-6 + answer.thinner)
    reached = viscosity.thinned(answer.viscosity * 1e6, mixed, coating.numbers["thinning_slope"].value, share)
    assert reached == pytest.approx(answer.reached_viscosity * 1e6, rel=1e-6)
    assert answer.thinning <= max(most_thinning(coating), already) + 1e-9
    if answer.capped:
        assert reached > answer.target_viscosity * 1e6
    elif answer.thinner > 0:
        assert reached == pytest.approx(answer.target_viscosity * 1e6, rel=0.02)
    else:
        assert answer.viscosity <= answer.target_viscosity * (1 + 1e-9)
    if answer.warm_to is not None:
        energy = coating.numbers["flow_energy"].value
        warm = viscosity.viscosity_at(reached, material, answer.warm_to, energy)
        assert warm == pytest.approx(answer.target_viscosity * 1e6, rel=0.02)
        assert material < answer.warm_to <= SHOP.limit("warmest_material").value


@given(st.sampled_from(coating_ids()), st.floats(18.0, 28.0), st.floats(0.35, 0.85))
@settings(max_examples=examples(30))
def test_the_thinner_for_todays_air_keeps_the_film_clear_and_within_the_gates(coating_id, air, humidity):
    coating = load_coating(coating_id)
    answer = bench(coating, pot(60.0), SHOP, (air, humidity))
    today = answer.thinner_today
    if coating.carrier == "water":
        assert today is None
    if today is None:
        return
    assert today.speed in coating.thinner_speeds
    assert 0.0 <= today.retarder_share <= most_retarder(coating)
    assert today.retarder <= answer.thinner + 1e-12
    mix = mix_of(coating, today.speed, today.retarder_share)
    (outcome,) = dry_films([FilmCase(air, humidity, air, mix, liquid=19.0)], SHOP).outcomes
    assert outcome.haze < 0
    if coating.carrier != "spirit":
        assert outcome.lowest > outcome.dew_point


@given(st.floats(30.0, 100.0), st.floats(12.0, 26.0))
@settings(max_examples=examples(40))
def test_more_thinner_builds_less_and_a_warmer_pot_lives_shorter(seconds, material):
    thick, thin = (bench(COLOUR, pot(seconds, material, target=target), SHOP) for target in (28.0, 24.0))
    assert thin.thinner >= thick.thinner
    assert thin.dry_film_per_coat <= thick.dry_film_per_coat
    clear = load_coating("waterborne-clear-2k")
    lives = [pot_life(clear, each, SHOP) for each in (material, material + 3.0)]
    assert None not in lives
    assert lives[1] < lives[0]


def test_the_pot_life_at_the_reference_is_the_sheets_and_unkind_on_both_sides():
    """30 kJ/mol below 23 °C, 55 above: at 13 °C 1.53 times as long, at 33 °C less than half."""
    clear = load_coating("waterborne-clear-2k")
    sheet = clear.numbers["pot_life"].value
    assert pot_life(clear, 23.0, SHOP) == pytest.approx(sheet)
    assert pot_life(clear, 13.0, SHOP) == pytest.approx(1.53 * sheet, rel=0.01)
    assert pot_life(clear, 33.0, SHOP) == pytest.approx(0.482 * sheet, rel=0.01)
    assert pot_life(COLOUR, 23.0, SHOP) is None


@pytest.mark.parametrize(("already", "capped"), [(0.10, True), (0.0999, True), (0.0, True)])
def test_at_the_cap_nothing_more_goes_in(already, capped):
    """The sheet allows 10 % of water; the pot is far too thick for that."""
    answer = bench(COLOUR, pot(140.0, already=already), SHOP)
    assert answer.capped is capped
    assert answer.thinning == pytest.approx(0.10)
    assert answer.thinner == pytest.approx((0.10 - already) * 500e-6 / (1 + already), rel=1e-6)


def test_clear_and_sealer_stay_as_thick_as_they_come():
    sealer = load_coating("waterborne-sealer")
    assert bench(sealer, pot(29.0), SHOP).thinner == 0.0
    assert bench(sealer, pot(34.0), SHOP).thinner > 0.0
    assert bench(COLOUR, pot(29.0), SHOP).thinner > 0.0


@pytest.mark.slow
@pytest.mark.parametrize("coating_id", coating_ids())
@pytest.mark.parametrize("seconds", [12.0, 30.0, 140.0])
def test_the_answer_is_read_across_the_bench(coating_id, seconds, monkeypatch):
    """Eight lines of 80 columns, with everything asked for at once; what to pour and the caution are always there."""
    monkeypatch.setenv("COLUMNS", "80")
    coating = load_coating(coating_id)
    for more in ({}, {"area": 2.5}, {"area": 2.5, "wet_film": 400e-6, "coats": 9, "age": 400 * 86_400.0}):
        reading = pot(seconds, **more)
        lines = told(bench(coating, reading, SHOP, (24.0, 0.62)), reading, coating, NOON, SHOP, ("A note on it.",))
        assert sum(wrapped(line).count("\n") + 1 for line in lines) <= 8
        assert any("Add " in line for line in lines)
        assert lines[-1] == short_caution(coating)
