"""Films looked up between computed ones stay close to the film computed on the spot."""

import random

import pytest

from advisor.catalog.coatings import load_coating
from advisor.film.film_map import HUMIDITIES, Films, film_answer, film_answers, onset
from advisor.film.mix import fastest, mix_of
from advisor.film.wet_film import FilmCase
from tests.support import SHOP

FILMS = Films(SHOP)


def cases(coating_id: str, count: int) -> list[FilmCase]:
    coating, chance = load_coating(coating_id), random.Random(coating_id)
    mix = mix_of(coating, fastest(coating))
    found = []
    for _ in range(count):
        air = chance.uniform(14.0, 30.0)
        found.append(FilmCase(air, chance.uniform(0.25, 0.85), air - chance.uniform(-1.0, 4.0), mix))
    return found


@pytest.mark.slow
@pytest.mark.parametrize("coating_id", ["nitrocellulose-lacquer", "shellac", "solvent-polyurethane-2k"])
def test_a_solvent_film_between_is_close_to_the_film_itself(coating_id):
    for case in cases(coating_id, 10):
        exact, between = film_answer(case, SHOP), FILMS.between(case)
        assert abs(exact.outcome.lowest - between.outcome.lowest) <= 0.3
        assert exact.blush_onset is not None
        assert between.blush_onset is not None
        assert -0.02 <= between.blush_onset - exact.blush_onset <= 0.005


@pytest.mark.slow
def test_a_water_borne_film_between_is_close_to_the_film_itself():
    for case in cases("waterborne-clear-1k", 12):
        exact, between = film_answer(case, SHOP), FILMS.between(case)
        assert abs(exact.outcome.at_packing - between.outcome.at_packing) <= 0.2
        assert exact.outcome.to_pack is not None
        assert between.outcome.to_pack == pytest.approx(exact.outcome.to_pack, rel=0.06)
        assert between.blush_onset is None


def test_at_a_computed_film_it_is_that_film():
    mix = mix_of(load_coating("nitrocellulose-lacquer"), "hot")
    case = FilmCase(22.0, HUMIDITIES[4], 21.0, mix)
    (exact,), between = film_answers([case], SHOP, quick=True), FILMS.between(case)
    assert between.outcome.lowest == pytest.approx(exact.outcome.lowest, abs=1e-9)
    assert between.outcome.to_set == pytest.approx(exact.outcome.to_set)


@pytest.mark.parametrize(
    ("heights", "found"),
    [
        ([-1.0, 1.0], 0.5), ([-3.0, 1.0], 0.75), ([1.0, 2.0], 0.0), ([-1.0, -0.1], None), ([-1.0, 0.0], None),
        ([float("nan"), 1.0], 1.0), ([float("nan"), float("nan")], None),
    ],
)  # fmt: skip
def test_an_onset_lies_on_the_line_between_two_rungs(heights, found):
    assert onset(heights, [0.0, 1.0]) == found
