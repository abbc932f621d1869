"""The build of the coats on a piece, as their limit counts it: what sanding takes off, and what lies below."""

import pytest

from advisor.bench.bench_gates import LEVEL, Layer, build, build_gates, counts_what_is_below
from advisor.catalog.coatings import coating_ids, load_coating
from advisor.catalog.schedules import find_schedule
from advisor.shop.shop import Shop

UM = 1e-6
CLEAR, SEALER, LACQUER = (
    load_coating(name) for name in ("waterborne-clear-2k", "waterborne-sealer", "precatalysed-lacquer")
)
STEP = find_schedule("waterborne-two-pack").step("clear")
SHOP = Shop()


def coats(*films, coating=CLEAR, sanded=False):
    return [Layer(coating.id, thick * UM, sanded) for thick in films]


def test_a_coat_that_nobody_sanded_counts_whole():
    assert build(coats(35, 35, 35), CLEAR, False, SHOP) == pytest.approx(105 * UM)


def test_each_coat_that_was_sanded_before_the_next_counts_less_and_the_last_one_whole():
    """3 µm a scuff (common practice, no source): 35 - 3, 35 - 3, 35."""
    assert build(coats(35, 35, 35, sanded=True), CLEAR, False, SHOP) == pytest.approx(99 * UM)


def test_levelled_each_coat_counts_less_scuffed_or_not():
    """8 µm a coat in all (common practice, no source)."""
    for sanded in (False, True):
        assert build(coats(35, 35, 35, sanded=sanded), CLEAR, True, SHOP) == pytest.approx(81 * UM)


def test_no_coat_loses_more_than_it_has():
    assert build(coats(2, 5, sanded=True), CLEAR, True, SHOP) == 0.0


def test_what_lies_on_top_does_not_count_against_what_is_below():
    layers = [*coats(20, coating=LACQUER), *coats(35, 35, sanded=True)]
    assert build(layers, LACQUER, False, SHOP) == pytest.approx(17 * UM)


def test_the_shops_own_figures_of_sanding_count():
    shop = Shop(limits={"scuff_takes_off": 5 * UM})
    assert build(coats(35, 35, sanded=True), CLEAR, False, shop) == pytest.approx(65 * UM)


@pytest.mark.parametrize("name", coating_ids())
def test_what_lies_below_counts_for_lacquer_and_shellac_alone(name):
    coating = load_coating(name)
    other = SEALER if coating.id != SEALER.id else CLEAR
    layers = [*coats(30, coating=other), *coats(20, coating=coating)]
    whole = name in ("nitrocellulose-lacquer", "acrylic-lacquer", "precatalysed-lacquer", "shellac")
    assert counts_what_is_below(coating) is whole
    assert build(layers, coating, True, SHOP) == pytest.approx((30 + 12 if whole else 12) * UM)


@pytest.mark.parametrize(("below", "kinds"), [(59.9, []), (60.1, ["total_dry_film"])])
def test_a_thick_sealer_is_part_of_the_build_of_a_lacquer(below, kinds):
    """Two coats of 25 over the sealer, 110 µm in all."""
    layers = [*coats(below, coating=SEALER), *coats(25, 25, coating=LACQUER)]
    assert [gate.kind for gate in build_gates(layers, LACQUER, 1e-4, None, None, SHOP)] == kinds


@pytest.mark.parametrize(("film", "kinds"), [(29.9, []), (30.1, [LEVEL]), (37.9, [LEVEL]), (38.1, ["total_dry_film"])])
def test_five_coats_of_a_levelled_step_are_told_to_be_levelled_and_as_too_many_only_past_that(film, kinds):
    """150 µm: five of 30 as sprayed, five of 38 levelled."""
    layers = coats(*[film] * 5)
    found = build_gates(layers, CLEAR, 1e-4, None, STEP, SHOP)
    assert [gate.kind for gate in found] == kinds
    unlevelled = build_gates(layers, CLEAR, 1e-4, None, None, SHOP)
    assert [gate.kind for gate in unlevelled] == (["total_dry_film"] if film > 30 else [])


def test_another_coating_than_the_steps_is_not_levelled():
    assert [gate.kind for gate in build_gates(coats(60, 60, coating=SEALER), SEALER, 1e-4, None, STEP, SHOP)] == [
        "total_dry_film"
    ]
