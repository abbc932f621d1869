"""How a mechanism stands: over its limit, at it, inside it, and what was not read."""

from dataclasses import replace
from math import exp

import pytest
from hypothesis import given
from hypothesis import strategies as st

from advisor.catalog.coatings import load_coating
from advisor.catalog.mechanisms import AIR, COAT, mechanisms
from advisor.review.causes import NEAR, SIBLING, Outcome, Standing, beside, causes_of
from advisor.review.coat import Exposure
from tests.support import SHOP

TWO_PACK = load_coating("waterborne-clear-2k")
NAMES = sorted({probe.exposure for mechanism in mechanisms().values() for probe in mechanism.probes})


def unread(reason: str = "gap") -> dict[str, Exposure]:
    return {name: Exposure(name, None, "", reason=reason) for name in NAMES}


def with_one(found: Exposure, reason: str = "gap") -> dict[str, Exposure]:
    return {**unread(reason), found.name: found}


def cold(celsius: float, reason: str = "") -> Exposure:
    """The lowest of the night; a water-borne two-pack wants 15 °C."""
    return Exposure("lowest_while_curing", celsius, "°C", 0.5, reason=reason)


def standing(exposures: dict[str, Exposure], mechanism: str, defect: str, coating=TWO_PACK):
    found = causes_of(exposures, coating, SHOP, defect)
    return next(cause for cause in found.judged if cause.mechanism.id == mechanism)


@pytest.mark.parametrize(
    ("celsius", "stands"),
    [
        (12.0, Standing.SUPPORTED),
        (14.65, Standing.SUPPORTED),
        (14.75, Standing.CANNOT_TELL),
        (14.99, Standing.CANNOT_TELL),
        (15.0, Standing.CANNOT_TELL),
        (15.4, Standing.CANNOT_TELL),
        (15.6, Standing.AGAINST),
        (18.0, Standing.AGAINST),
    ],
)
def test_a_cold_night_stands_by_its_limit(celsius, stands):
    found = standing(with_one(cold(celsius)), "cold-cure", "soft")
    assert found.standing is stands
    assert found.reason == (NEAR if stands is Standing.CANNOT_TELL else "")


def test_a_night_that_was_not_read_to_its_end_is_never_cleared():
    assert standing(with_one(cold(18.0, "gap")), "cold-cure", "soft").standing is Standing.CANNOT_TELL


def test_a_night_half_read_that_was_plainly_too_cold_is_one():
    assert standing(with_one(cold(9.0, "gap")), "cold-cure", "soft").standing is Standing.SUPPORTED
    assert standing(with_one(cold(14.8, "gap")), "cold-cure", "soft").standing is Standing.CANNOT_TELL


@given(st.floats(min_value=-10.0, max_value=30.0), st.floats(min_value=0.1, max_value=10.0))
def test_colder_is_never_less_likely(celsius, colder):
    order = [Standing.AGAINST, Standing.CANNOT_TELL, Standing.SUPPORTED]
    warm, cool = (standing(with_one(cold(value)), "cold-cure", "soft") for value in (celsius, celsius - colder))
    assert order.index(cool.standing) >= order.index(warm.standing)
    assert cool.sure >= warm.sure


def test_ratios_are_judged_by_their_logarithm():
    thick = Exposure("wet_film", TWO_PACK.numbers["wet_film_high"].value * exp(0.3), "m", 0.1, as_logarithm=True)
    assert standing(with_one(thick), "heavy-film", "runs").sure == pytest.approx(3.0)


def test_the_surest_stands_first():
    exposures = {**with_one(cold(9.0)), "mix_age": Exposure("mix_age", 8000.0, "s", 0.25, as_logarithm=True)}
    found = causes_of(exposures, TWO_PACK, SHOP, "soft")
    assert [cause.mechanism.id for cause in found.supported] == ["cold-cure", "old-mix"]
    assert found.outcome is Outcome.AIR


def test_what_was_said_of_the_coat_outweighs_unread_air_only_where_it_is_plain():
    old = Exposure("mix_age", 8000.0, "s", 0.25, as_logarithm=True)
    assert causes_of(with_one(old), TWO_PACK, SHOP, "soft").outcome is Outcome.CANNOT_TELL
    older = replace(old, measured=18_000.0)
    assert causes_of(with_one(older), TWO_PACK, SHOP, "soft").outcome is Outcome.COAT


def test_where_all_the_air_was_fit_it_is_not_the_airs():
    fit = {
        "lowest_while_curing": cold(20.0),
        "humidity_while_drying": Exposure("humidity_while_drying", 0.5, "fraction", 0.03),
        "film_at_packing": Exposure("film_at_packing", 17.0, "°C", 1.0),
        "lowest_while_drying": Exposure("lowest_while_drying", 20.0, "°C", 0.5),
        "air_at_spraying": Exposure("air_at_spraying", 20.0, "°C", 0.5),
    }
    assert causes_of({**unread("unsaid"), **fit}, TWO_PACK, SHOP, "soft").outcome is Outcome.NOT_THE_AIR


def test_nothing_read_cannot_tell():
    assert causes_of(unread(), TWO_PACK, SHOP, "soft").outcome is Outcome.CANNOT_TELL


def test_a_mechanism_that_a_coating_cannot_have_is_left_out():
    """Lacquer has no film-forming temperature and no pot life, a dispersion no blush by solvent."""
    lacquer = load_coating("nitrocellulose-lacquer")
    ids = {cause.mechanism.id for cause in causes_of(unread(), lacquer, SHOP, None).judged}
    assert not ids & {"cold-film", "old-mix"}
    water = {cause.mechanism.id for cause in causes_of(unread(), TWO_PACK, SHOP, None).judged}
    assert "damp-film" not in water
    assert {mechanism.kind for mechanism in mechanisms().values()} >= {AIR, COAT}


def dusty(index: float) -> Exposure:
    return Exposure("dust_while_wet", index, "ratio", 0.26, as_logarithm=True)


@pytest.mark.parametrize(
    ("held", "stands"),
    [(1.0, Standing.SUPPORTED), (1.75, Standing.SUPPORTED), (1.76, Standing.AGAINST), (2.0, Standing.AGAINST)],
)
def test_what_a_like_coat_met_as_well_and_held_did_not_spoil_this_one(held, stands):
    """Dust of twice the clean shop's: half a standard uncertainty under it, exp(-0.13), is 1.756."""
    own, other = (causes_of(with_one(dusty(index)), TWO_PACK, SHOP, "nibs") for index in (2.0, held))
    found = next(cause for cause in beside(own, other).judged if cause.mechanism.id == "dust")
    assert found.standing is stands
    assert found.reason == ("" if stands is Standing.SUPPORTED else SIBLING)


def test_far_over_its_limit_a_like_coat_that_held_is_a_riddle():
    both = causes_of(with_one(dusty(6.0)), TWO_PACK, SHOP, "nibs")
    assert next(cause for cause in beside(both, both).judged if cause.mechanism.id == "dust").standing is (
        Standing.CANNOT_TELL
    )


def test_what_was_said_of_the_coat_is_not_cleared_by_its_sibling():
    thick = {**unread(), "wet_film": Exposure("wet_film", 200e-6, "m", 0.1, as_logarithm=True)}
    found = causes_of(thick, TWO_PACK, SHOP, "runs")
    assert any(cause.mechanism.kind == COAT for cause in found.supported)
    assert beside(found, found).supported == found.supported


@pytest.mark.parametrize(("thick", "comes_to"), [(200e-6, Outcome.COAT), (60e-6, Outcome.CANNOT_TELL)])
def test_air_read_near_its_limit_does_not_hide_what_is_supported(thick, comes_to):
    clear = load_coating("waterborne-clear-1k")
    forming = clear.numbers["minimum_film_forming_temperature"].value
    exposures = {
        **{name: Exposure(name, None, "", reason="unsaid") for name in NAMES},
        "film_at_packing": Exposure("film_at_packing", forming + 0.1, "°C", 1.0),
        "air_at_spraying": Exposure("air_at_spraying", 21.0, "°C", 0.5),
        "wet_film": Exposure("wet_film", thick, "m", 0.1, as_logarithm=True),
    }
    found = causes_of(exposures, clear, SHOP, "cracking")
    assert [(cause.mechanism.id, cause.reason) for cause in found.untold] == [("cold-film", NEAR)]
    assert found.outcome is comes_to


@pytest.mark.parametrize(("under_air", "first"), [(1.9, "damp-film"), (2.1, "cold-piece"), (None, "damp-film")])
def test_a_piece_that_had_not_warmed_stands_before_the_water_in_its_film(under_air, first):
    lacquer = load_coating("nitrocellulose-lacquer")
    figures = () if under_air is None else (("under_air", under_air),)
    exposures = {
        **unread(),
        "piece_over_dew": Exposure("piece_over_dew", -0.5, "K", 0.5, figures=figures),
        "film_over_dew": Exposure("film_over_dew", -5.0, "K", 0.5),
    }
    found = causes_of(exposures, lacquer, SHOP, "blush")
    assert found.supported[0].mechanism.id == first
    assert len(found.supported) == 2
