"""The film solver's edges: moments that meet every change of air, and figures that are no film."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from advisor.errors import OutOfRange
from advisor.physics.film.film import dry
from advisor.physics.film.film_step import steps_until
from tests.physics.film.film_cases import coating_mix, films_of, stages

FILMS = films_of(coating_mix("nitrocellulose-lacquer"), ["wood"])
AIRS = stages(23.0, [0.5], 400.0)


@given(st.lists(st.floats(1.0, 5_000.0), min_size=1, max_size=4, unique=True), st.floats(0.5, 60.0))
def test_moments_rise_from_0_and_meet_every_end(ends, longest):
    ends = sorted(ends)
    moments = steps_until(ends, longest=longest)
    assert moments[0] == 0.0
    assert np.all(np.diff(moments) > 0.0)
    assert set(ends) <= set(moments)
    # a last step may be stretched to the end it would just have missed
    assert np.diff(moments).max() <= max(longest, longest / 0.7) * (1 + 1e-9)


def test_steps_are_short_again_after_each_change_of_air():
    moments = steps_until([60.0, 600.0])
    index = int(np.searchsorted(moments, 60.0))
    steps = np.diff(moments)
    assert steps[index] < 0.5 * steps[index - 2]


def test_a_batch_stops_once_all_films_have_set_and_not_before_it_is_told_to():
    moments = steps_until([each.until for each in AIRS], longest=6.0)
    whole, stopped = dry(FILMS, AIRS, moments), dry(FILMS, AIRS, moments, set_at=0.6)
    last = len(stopped.moments)
    assert last < len(whole.moments)
    assert stopped.solids[-1, 0] >= 0.6
    assert stopped.temperature == pytest.approx(whole.temperature[:last], abs=1e-12)
    assert dry(FILMS, AIRS, moments, set_at=0.6, at_least=300.0).moments[-1] >= 300.0


def changed(**fields):
    return replace(FILMS, **{name: np.array(value) for name, value in fields.items()})


@pytest.mark.parametrize(
    ("films", "words"),
    [
        (changed(masses=-FILMS.masses), "liquid below 0"),
        (changed(masses=np.full_like(FILMS.masses, np.nan)), "liquid below 0"),
        (changed(resin_volume=[-1e-6]), "resin below 0"),
        (changed(resin_volume=[np.inf]), "resin below 0"),
        (changed(temperature=[60.5]), "film 60.5"),
        (changed(piece=[-41.0]), "piece -41"),
        (changed(piece=[np.nan]), "piece nan"),
    ],
)
def test_figures_that_are_no_film_are_refused(films, words):
    with pytest.raises(OutOfRange, match=words):
        dry(films, AIRS)


def air_with(**fields):
    return [replace(AIRS[0], **{name: np.array(value) for name, value in fields.items()}), *AIRS[1:]]


@pytest.mark.parametrize(
    ("airs", "words"),
    [
        ([], "no air"),
        (air_with(temperature=[61.0]), "air 61"),
        (air_with(surroundings=[np.nan]), "walls nan"),
        (air_with(vapour_pressure=[-1.0]), "vapour pressure"),
        (air_with(vapour_pressure=[60_000.0]), "vapour pressure"),
        (air_with(vapours=[[-1.0] * len(FILMS.liquids.names)]), "vapour pressure"),
        (air_with(vapours=[[np.nan] * len(FILMS.liquids.names)]), "vapour pressure"),
        (air_with(convective=[0.0]), "takes up no heat"),
        (air_with(convective=[np.inf]), "takes up no heat"),
    ],
)
def test_airs_that_are_none_are_refused(airs, words):
    with pytest.raises(OutOfRange, match=words):
        dry(FILMS, airs)
