"""Whether a water-borne film forms: the limits of the rule, and the air from which it does."""

from dataclasses import replace

import pytest

from advisor.catalog.coatings import coating_ids, load_coating
from advisor.film.film_map import Films, film_answer
from advisor.film.mix import fastest, mix_of
from advisor.film.wet_film import FilmCase
from advisor.judge.film_rules import FilmView, film_forming
from advisor.judge.finding import Level
from advisor.say.film_words import need_words
from advisor.shop.shop import Shop
from advisor.ways.film_need import DOES_NOT, FORMS, MAY_NOT, film_need, forms_from
from tests.support import typed

SHOP, CLEAR = Shop(), load_coating("waterborne-clear-1k")


def answer(air=16.0, humidity=0.4, coating=CLEAR):
    return film_answer(FilmCase(air, humidity, air, mix_of(coating, fastest(coating))), SHOP)


def packed_at(celsius):
    found = answer()
    return replace(found, outcome=replace(found.outcome, at_packing=celsius))


@pytest.mark.slow
@pytest.mark.parametrize(
    ("celsius", "state"),
    [(11.9, DOES_NOT), (12.99, DOES_NOT), (13.0, MAY_NOT), (14.99, MAY_NOT), (15.0, FORMS), (20.0, FORMS)],
)
def test_a_film_forms_at_3_degrees_over_its_mfft_and_surely_not_under_1(celsius, state):
    """MFFT 12 °C; the limits are those of the rule, which makes a measured piece under 13 °C a WAIT."""
    need = film_need(packed_at(celsius), CLEAR, SHOP)
    assert need.state == state
    view = FilmView(packed_at(celsius), 1.0, guessed=False, thinner_unknown=False, films=Films(SHOP))
    level = film_forming(view, typed(16.0, 0.4), CLEAR, SHOP).level
    assert level is {DOES_NOT: Level.STOP, MAY_NOT: Level.CHANGE, FORMS: Level.OK}[state]


def test_a_film_that_never_packs_does_not_form():
    found = answer()
    never = replace(found, outcome=replace(found.outcome, to_pack=None))
    need = film_need(never, CLEAR, SHOP)
    assert need.state == DOES_NOT
    assert need_words(need, SHOP).startswith("The film does not form: its particles do not pack")


@pytest.mark.slow
@pytest.mark.parametrize("name", coating_ids())
def test_only_water_borne_coatings_need_it(name):
    coating = load_coating(name)
    assert (film_need(answer(), coating, SHOP) is None) is (coating.carrier != "water")


@pytest.mark.slow
def test_the_air_from_which_it_forms_is_where_the_film_just_has_what_it_needs():
    for humidity in (0.3, 0.6):
        (air,) = forms_from(answer().case, [humidity], [float(t) for t in range(4, 46, 2)], 15.0, SHOP)
        at, below = answer(air, humidity).outcome.at_packing, answer(air - 1.0, humidity).outcome.at_packing
        assert at == pytest.approx(15.0, abs=0.2)
        assert below < 14.6


def test_drier_air_wants_to_be_warmer_and_where_none_is_warm_enough_there_is_none():
    warm = [float(t) for t in range(4, 46, 2)]
    found = forms_from(answer().case, [0.2, 0.4, 0.8], warm, 15.0, SHOP)
    assert found == sorted(found, reverse=True)
    assert forms_from(answer().case, [0.4], [4.0, 8.0], 15.0, SHOP) == [None]
    assert forms_from(answer().case, [0.4], [30.0, 40.0], 15.0, SHOP) == [30.0]
