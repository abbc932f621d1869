"""How much to mix: the pot poured as said covers the area, and a two-pack is mixed no further than it lives."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.bench.bench import InThePot, bench
from advisor.catalog.coatings import coating_ids, load_coating
from advisor.physics.paint.cups import find_cup
from tests.support import SHOP, examples

LANDS = SHOP.limit("transfer_efficiency").value


def pot(area, seconds=40.0, batch=None, **more) -> InThePot:
    return InThePot(find_cup("DIN 4"), seconds, 20.0, batch, area=area, **more)


@given(st.sampled_from(coating_ids()), st.floats(0.05, 30.0), st.integers(1, 6), st.sampled_from([0.0, 0.05]))
@settings(max_examples=examples(60))
def test_the_solids_that_land_are_the_film_that_was_asked_for(coating_id, area, coats, already):
    """Solids of the paint, its share that lands, spread over the area: the dry film of so many coats."""
    coating = load_coating(coating_id)
    answer = bench(coating, pot(area, coats=coats, already=already), SHOP)
    batch = answer.for_area
    assert batch is not None
    assert batch.ready == pytest.approx(batch.paint + batch.thinner + (batch.hardener or 0.0))
    solids = coating.numbers["volume_solids_as_sold"].value * batch.ready / (1.0 + answer.thinning)
    assert solids * LANDS / area == pytest.approx(coats * answer.dry_film_per_coat, rel=1e-9)
    assert answer.batch == pytest.approx(batch.paint)
    assert answer.thinner == pytest.approx(batch.thinner, abs=1e-12)
    assert batch.a_coat * coats == pytest.approx(batch.ready)


def test_a_square_metre_at_100_um_wet_wants_two_tenths_of_a_litre_where_half_lands():
    batch = bench(load_coating("waterborne-colour"), pot(1.0, coats=1, wet_film=100e-6), SHOP).for_area
    assert batch is not None
    assert batch.ready == pytest.approx(0.2e-3)


@pytest.mark.parametrize(("coats", "more"), [(1, 1.0), (2, 2.0), (3, 3.0)])
def test_a_pot_given_beside_the_area_says_how_many_coats_it_is(coats, more):
    clear = load_coating("waterborne-clear-2k")
    wanted = bench(clear, pot(1.5, coats=coats), SHOP).for_area
    assert wanted is not None
    again = bench(clear, pot(1.5, coats=1, batch=wanted.paint), SHOP).for_area
    assert again is not None
    assert again.coats_of_pot == pytest.approx(more)


def test_a_two_pack_is_mixed_for_no_more_coats_than_its_pot_lives():
    """2 h of pot at 23 °C and up to 4 h to the next coat: one coat at a time. Three hours and a recoat of four: one."""
    batch = bench(load_coating("waterborne-clear-2k"), pot(2.5, coats=3), SHOP).for_area
    assert batch is not None
    assert batch.coats_in_pot == 1
    lacquer = bench(load_coating("nitrocellulose-lacquer"), pot(2.5, coats=3), SHOP).for_area
    assert lacquer is not None
    assert lacquer.coats_in_pot is None
