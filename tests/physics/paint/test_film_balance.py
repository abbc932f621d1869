"""A drying film loses nothing on paper: heat, each solvent and the water close, in any batch."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.film.wet_film import FilmCase, dry_films
from advisor.physics.air.moist_air import saturation_pressure
from advisor.physics.basics import GAS_CONSTANT, ZERO_CELSIUS
from advisor.physics.film.film import History, dry
from advisor.physics.film.film_step import VAPOUR_HEAT_CAPACITY, Air, Films, steps_until
from advisor.physics.film.mixture import activity_per_mass
from advisor.physics.film.transfer import mass_transfer, radiation
from advisor.shop.shop import Shop
from tests.physics.film.film_cases import coating_mix, films_of, pure_films, slab_of, stages
from tests.support import examples

COATINGS = ("nitrocellulose-lacquer", "shellac", "waterborne-clear-1k")
SUBSTRATES = ("wood", "thin-wood", "steel", "glass")
HUMIDITIES = (0.5, 0.8, 0.7, 0.9)
UNTIL = 600.0


def steps(shorter: float):
    """Steps far shorter than the product's own, and shorter again by a factor."""
    return steps_until((60.0, 360.0, UNTIL), first=0.01 / shorter, growth=0.01 / shorter, longest=1.0 / shorter)


def carried_on(open_ends: list[np.ndarray]) -> np.ndarray:
    """Richardson: what is left of an open end that halves with the step, from one step and half of it."""
    return 2.0 * open_ends[1] - open_ends[0]


def dried(coating: str, moments=None) -> tuple[Films, list[Air], History]:
    films, airs = films_of(coating_mix(coating), SUBSTRATES), stages(23.0, HUMIDITIES, UNTIL)
    return films, airs, dry(films, airs, moments, balance=True)


def fluxes(films: Films, airs: list[Air], history: History) -> tuple[np.ndarray, np.ndarray]:
    """What leaves [kg/(m2 s)] (2, M, N, S) and the heat from air and walls [W/m2] (2, M, N) by step, at both its ends.

    Written out here from the equations; only the film's state is taken from the history.
    """
    liquids, water = films.liquids, films.liquids.water
    gone, received = [], []
    for step in range(1, len(history.moments)):
        air = next(each for each in airs if history.moments[step] <= each.until)
        around = air.temperature + ZERO_CELSIUS
        speed = mass_transfer(air.convective, liquids, around, films.pressure) * liquids.molar_mass
        ends, heats = [], []
        for moment in (step - 1, step):
            masses, kelvin = history.masses[moment], history.temperature[moment] + ZERO_CELSIUS
            pure = liquids.vapour_pressure(kelvin)
            pure[:, water] = saturation_pressure(kelvin - ZERO_CELSIUS)
            partial = activity_per_mass(masses, films.resin_volume, liquids, films.resin) * masses * pure
            outside = np.zeros_like(partial)
            outside[:, water] = air.vapour_pressure
            inner, outer = partial.sum(axis=1), outside.sum(axis=1)
            wind = films.pressure / (inner - outer) * np.log((films.pressure - outer) / (films.pressure - inner))
            flux = speed / (GAS_CONSTANT * around[:, None]) * wind[:, None] * (partial - outside)
            blown = flux.sum(axis=1) * VAPOUR_HEAT_CAPACITY / air.convective
            heats.append(
                air.convective * blown / np.expm1(blown) * (around - kelvin)
                + radiation(around) * (air.surroundings + ZERO_CELSIUS - kelvin)
            )
            ends.append(flux)
        gone.append(ends)
        received.append(heats)
    return np.moveaxis(np.array(gone), 1, 0), np.moveaxis(np.array(received), 1, 0)


@pytest.mark.slow
@pytest.mark.parametrize("coating", COATINGS)
def test_each_solvent_and_the_water_close_within_a_thousandth(coating):
    """What the film lost is what left it: fluxes formed anew over the history against the masses.

    Against all that came and went of each liquid; the water of a lacquer comes from the air. A history is exact only
    in the limit of short steps: its open end halves with them, and carried on to none it is under 0.1 %.
    """
    ends = []
    for shorter in (1.0, 2.0):
        films, airs, history = dried(coating, steps(shorter))
        flux, _ = fluxes(films, airs, history)
        times = np.diff(history.moments)[:, None, None]
        left = (0.5 * (flux[0] + flux[1]) * times).sum(axis=0)
        turned = (0.5 * np.abs(flux[0] + flux[1]) * times).sum(axis=0)
        ends.append((left - history.masses[0] + history.masses[-1]) / np.maximum(turned, 1e-9))
    assert np.all(np.abs(ends[1]) < 0.01)
    assert np.all(np.abs(carried_on(ends)) < 1e-3)


@pytest.mark.parametrize("coating", COATINGS)
def test_heat_closes_within_a_thousandth(coating):
    """Received from air and walls, taken by evaporating, stored in film and piece, out of the back."""
    _, _, history = dried(coating)
    heat = history.heat
    open_end = heat.received - heat.evaporated - heat.into_film - heat.into_piece - heat.out_of_back
    assert np.all(np.abs(open_end) <= 1e-3 * np.abs(heat.evaporated))


@pytest.mark.slow
@pytest.mark.parametrize("coating", COATINGS)
def test_heat_received_and_taken_are_those_integrated_apart(coating):
    """The ledger is not only consistent with itself: both large sums are formed again from the states."""
    ends = []
    for shorter in (1.0, 2.0):
        films, airs, history = dried(coating, steps(shorter))
        _, received = fluxes(films, airs, history)
        times = np.diff(history.moments)[:, None]
        latent = films.liquids.latent_heat(history.temperature + ZERO_CELSIUS)
        taken = -(0.5 * (latent[1:] + latent[:-1]) * np.diff(history.masses, axis=0)).sum(axis=(0, 2))
        came = (0.5 * received.sum(axis=0) * times).sum(axis=0)
        ends.append(np.stack([came / history.heat.received, taken / history.heat.evaporated]) - 1.0)
    assert np.all(np.abs(ends[1]) < 1e-3)
    assert np.all(np.abs(carried_on(ends)) < 3e-4)


def test_nothing_leaves_a_back_that_lies_on_a_bench():
    """The piece's own sum: what went in is in it, where its back gives nothing off."""
    films, airs, _ = dried("nitrocellulose-lacquer")
    films = replace(films, slabs=tuple(slab_of(name, back=0.0) for name in SUBSTRATES))
    heat = dry(films, airs, balance=True).heat
    assert np.all(np.abs(heat.out_of_back) <= 1e-6 * heat.evaporated)
    assert np.all(np.abs(heat.into_piece) > 1e-2 * heat.evaporated)


def test_a_cold_back_draws_heat_from_the_room():
    """Thin steel passes the room's heat on through its back; 20 mm of wood hardly in ten minutes."""
    _, _, history = dried("nitrocellulose-lacquer")
    steel, wood = SUBSTRATES.index("steel"), SUBSTRATES.index("wood")
    assert history.heat.out_of_back[steel] < history.heat.out_of_back[wood] < 0.0


@pytest.mark.parametrize("coating", COATINGS)
def test_a_batch_is_its_single_cases(coating):
    """Other airs, pieces and temperatures in the batch move no case, to 1e-9."""
    films = films_of(coating_mix(coating), SUBSTRATES)
    films = replace(films, piece=np.array([10.0, 20.0, 25.0, 35.0]), temperature=np.array([8.0, 15.0, 20.0, 30.0]))
    airs = [
        replace(each, temperature=films.piece + 1.0, surroundings=films.piece + 2.0)
        for each in stages(10.0, HUMIDITIES, UNTIL)
    ]
    together = dry(films, airs)
    for case in range(len(SUBSTRATES)):
        here = slice(case, case + 1)
        alone = dry(
            replace(
                films,
                **{
                    name: getattr(films, name)[here]
                    for name in ("masses", "resin_volume", "resin_heat", "temperature", "piece", "slab")
                },
            ),
            [
                replace(
                    each,
                    **{
                        name: getattr(each, name)[here]
                        for name in ("temperature", "vapour_pressure", "convective", "surroundings")
                    },
                )
                for each in airs
            ],
        )
        assert alone.temperature[:, 0] == pytest.approx(together.temperature[:, case], abs=1e-9)
        assert alone.masses[:, 0] == pytest.approx(together.masses[:, case], rel=1e-9, abs=1e-15)


TOLD = ("lowest", "dew_point", "below_dew", "condensed", "water_to_slow_solvent", "clear_up_to", "slow_share", "haze")


def test_films_asked_together_answer_as_alone():
    """Through the gun and the shop's settings: a batch is followed until its last film has set, each tells its own.

    Warm and cold rooms in one batch; a film below its dew point and one on a piece warmer than the air.
    """
    mix, figures = coating_mix("nitrocellulose-lacquer"), Shop()
    cases = [FilmCase(t, rh, t - 1.0, mix, "wood", "compressor") for t, rh in ((10.0, 0.95), (20.0, 0.9), (33.0, 0.3))]
    cases.append(replace(cases[0], piece=14.0, relative_humidity=0.5))
    for case, together in zip(cases, dry_films(cases, figures).outcomes, strict=True):
        alone = dry_films([case], figures).outcomes[0]
        for name in (*TOLD, "to_set"):
            assert getattr(alone, name) == pytest.approx(getattr(together, name), rel=1e-9), name


amounts = st.lists(st.floats(0.0, 0.08), min_size=3, max_size=3)


@settings(max_examples=examples(30))
@given(amounts, st.floats(0.0, 0.95), st.floats(-5.0, 35.0), st.floats(-5.0, 40.0), st.floats(3.0, 60.0))
def test_no_mass_ever_turns_negative(masses, humidity, piece, air, heat):
    """Any make-up, any shop air, any piece, colder or warmer."""
    named = dict(zip(("water", "acetone", "n-butyl-acetate"), masses, strict=True))
    films = replace(pure_films([named], [piece]), resin_volume=np.array([1e-5]))
    warm = np.array([air])
    stage = Air(300.0, warm, humidity * saturation_pressure(warm), np.array([heat]), warm)
    history = dry(films, [stage])
    assert np.all(history.masses >= 0.0)
    assert np.all(np.isfinite(history.temperature))


@settings(max_examples=examples(20))
@given(amounts, st.floats(0.0, 35.0), st.floats(5.0, 60.0))
def test_dry_air_never_gives_water_and_no_solvent_comes_back(masses, air, heat):
    named = dict(zip(("water", "acetone", "n-butyl-acetate"), masses, strict=True))
    films = replace(pure_films([named], [air]), resin_volume=np.array([1e-5]))
    warm = np.array([air])
    history = dry(films, [Air(300.0, warm, np.zeros(1), np.array([heat]), warm)])
    assert np.all(np.diff(history.masses, axis=0) <= 1e-15)


def test_toluene_in_the_air_is_taken_up_by_a_film_that_has_none_and_never_more_than_saturation():
    """A vapour of the air is treated as water is: it comes in until the film pushes back as hard."""
    films = replace(pure_films([{"toluene": 0.0, "n-butyl-acetate": 0.02}], [20.0]), resin_volume=np.array([2e-5]))
    index = films.liquids.names.index("toluene")
    vapours = np.zeros((1, len(films.liquids.names)))
    vapours[0, index] = 1000.0
    warm = np.array([20.0])
    history = dry(films, [Air(86_400.0, warm, np.zeros(1), np.array([10.0]), warm, vapours)])
    masses = history.masses[-1]
    assert masses[0, index] > 1e-3
    partial = activity_per_mass(masses, films.resin_volume, films.liquids, films.resin) * masses
    pressure = partial * films.liquids.vapour_pressure(history.temperature[-1] + ZERO_CELSIUS)
    assert pressure[0, index] == pytest.approx(1000.0, rel=0.01)


def test_no_vapours_named_is_none_in_the_air():
    """Zeros for every vapour and none named are one air, to the last digit that matters."""
    films, airs, plain = dried("nitrocellulose-lacquer")
    none = np.zeros_like(films.masses)
    told = dry(films, [replace(each, vapours=none) for each in airs])
    assert told.temperature == pytest.approx(plain.temperature, abs=1e-9)
    assert told.masses == pytest.approx(plain.masses, rel=1e-9, abs=1e-15)
