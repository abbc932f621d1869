"""From the nozzle to the piece: what a droplet loses and how cold it gets."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.errors import OutOfRange
from advisor.physics.air import moist_air
from advisor.physics.basics import GAS_CONSTANT
from advisor.physics.film.spray import Flight, landed
from advisor.physics.film.transfer import air_conductivity
from tests.physics.film.film_cases import coating_mix, films_of, pure_films
from tests.support import examples

LACQUER = films_of(coating_mix("nitrocellulose-lacquer"), ["wood"], landed_at=23.0)
WARM, DAMP = np.array([23.0]), np.array([0.5 * moist_air.saturation_pressure(23.0)])
FLIGHT = Flight(30e-6, 0.020)


def solids(films) -> float:
    return float((films.resin_volume / (films.resin_volume + (films.masses / films.liquids.density).sum(axis=1)))[0])


def volume(films) -> float:
    return float((films.resin_volume + (films.masses / films.liquids.density).sum(axis=1))[0])


def test_a_water_droplet_shrinks_as_the_law_of_its_square_says():
    """Maxwell's law (Fuchs 1959; from memory): d2 falls at 8 D M (pd - p) / (rho R T), T between droplet and air.

    A droplet of 60 µm at its settled temperature, followed while it loses some 7 %. What is computed knows Stefan
    flow, the law does not: 3 %.
    """
    air, damp = np.array([20.0]), np.array([0.5 * moist_air.saturation_pressure(20.0)])
    diameter, seconds = 60e-6, 0.30
    start = pure_films([{"water": 0.1}], [20.0])
    cold = landed(start, Flight(diameter, 0.5), air, damp).temperature[0]
    droplet = pure_films([{"water": 0.1}], [cold])
    droplet.resin_volume[:] = 1e-6  # a marker that stays: what lands is brought to the same thickness
    before = solids(droplet)
    shrunk = before / solids(landed(droplet, Flight(diameter, seconds), air, damp))
    between = 0.5 * (cold + 20.0) + 273.15
    drive = (moist_air.saturation_pressure(cold) - damp[0]) / between
    index = droplet.liquids.names.index("water")
    diffusivity = droplet.liquids.diffusivity(between, 101_325.0)[index]
    law = 8.0 * diffusivity * droplet.liquids.molar_mass[index] * drive / (998.2 * GAS_CONSTANT)
    # of a cap as thick as d/6 that does not shrink, the same share leaves as of the sphere at first: 3/2 of d2's
    assert 0.05 < 1.0 - shrunk < 0.15
    assert 1.0 - shrunk == pytest.approx(1.5 * law * seconds / diameter**2, rel=0.03)


def test_a_water_droplet_flies_at_its_wet_bulb():
    """Within 0.5 K of psychrolib, as a deep film; here with the whole Lewis number, still nearer to 1 for water."""
    air, damp = np.array([20.0]), np.array([0.5 * moist_air.saturation_pressure(20.0)])
    cold = landed(pure_films([{"water": 0.1}], [20.0]), Flight(60e-6, 0.1), air, damp).temperature[0]
    assert cold == pytest.approx(moist_air.wet_bulb(20.0, 0.5, 101_325.0), abs=0.5)


def test_a_toluene_droplet_settles_where_conduction_feeds_its_vapour():
    """Nu = Sh = 2: k (T_air - T) = D L M p / (R T), Fuchs 1959 (from memory); Stefan flow left out, so 8 %.

    Were vapour moved as over a face, by the Lewis number to the two thirds, it would be a third more.
    """
    air, none = np.array([20.0]), np.array([0.0])
    cold = landed(pure_films([{"toluene": 0.1}], [20.0]), Flight(100e-6, 0.2), air, none).temperature[0]
    liquids = pure_films([{"toluene": 0.1}], [20.0]).liquids
    index, kelvin, between = liquids.names.index("toluene"), np.array(cold + 273.15), 0.5 * (cold + 20.0) + 273.15
    vapour = liquids.vapour_pressure(kelvin)[index] * liquids.molar_mass[index] / (GAS_CONSTANT * between)
    taken = liquids.diffusivity(between, 101_325.0)[index] * liquids.latent_heat(kelvin)[index] * vapour
    assert air_conductivity(between) * (20.0 - cold) == pytest.approx(taken, rel=0.08)


def test_what_lands_is_as_thick_as_it_was_mixed_with_more_solids_and_colder():
    found = landed(LACQUER, FLIGHT, WARM, DAMP)
    assert volume(found) == pytest.approx(volume(LACQUER), rel=1e-9)
    assert solids(found) > solids(LACQUER) + 0.01
    assert found.temperature[0] < 23.0 - 5.0
    assert found.resin_heat / found.resin_volume == pytest.approx(LACQUER.resin_heat / LACQUER.resin_volume)


def test_the_film_that_lands_lies_on_its_piece_again():
    found = landed(LACQUER, FLIGHT, WARM, DAMP)
    assert (found.touches, found.radiates, found.lewis) == (True, True, LACQUER.lewis)


def test_the_fast_solvent_goes_first():
    found = landed(LACQUER, FLIGHT, WARM, DAMP)
    kept = found.masses[0] / found.resin_volume * LACQUER.resin_volume / np.maximum(LACQUER.masses[0], 1e-12)
    names = LACQUER.liquids.names
    assert kept[names.index("acetone")] < kept[names.index("toluene")] < kept[names.index("2-butoxyethanol")] <= 1.0


def test_a_cold_droplet_in_damp_air_takes_up_water_and_in_dry_air_none():
    water = LACQUER.liquids.names.index("water")
    assert landed(LACQUER, FLIGHT, WARM, np.array([0.0])).masses[0, water] == 0.0
    assert landed(LACQUER, FLIGHT, WARM, DAMP).masses[0, water] > 0.0


@settings(max_examples=examples(15))
@given(st.floats(25e-6, 200e-6), st.floats(0.002, 0.03))
def test_smaller_droplets_and_longer_flights_lose_more(diameter, seconds):
    """Droplets that land wet; one that lands as dust has the counter-example below."""
    here = solids(landed(LACQUER, Flight(diameter, seconds), WARM, DAMP))
    assert solids(landed(LACQUER, Flight(diameter, 1.2 * seconds), WARM, DAMP)) > here
    assert solids(landed(LACQUER, Flight(1.2 * diameter, seconds), WARM, DAMP)) < here


@pytest.mark.parametrize(
    ("flight", "words"),
    [(Flight(4e-6, 0.02), "a droplet of 4e-06"), (Flight(6e-4, 0.02), "a droplet of 0.0006"),
     (Flight(30e-6, 9e-5), "a flight of 9e-05"), (Flight(30e-6, 1.1), "a flight of 1.1"),
     (Flight(float("nan"), 0.02), "a droplet of nan")],
)  # fmt: skip
def test_a_flight_that_is_none_is_refused(flight, words):
    with pytest.raises(OutOfRange, match=words):
        landed(LACQUER, flight, WARM, DAMP)


def test_a_droplet_that_lands_as_dust_is_followed_too_coarsely_to_rank():
    """A counter-example kept: 10 µm for 31 ms and longer land at 92 to 98 % solids, right to 2 % of it only.

    The steps of the flight grow by a tenth each, which is ample for a droplet that lands wet (1e-4 at 30 µm).
    """
    found = [solids(landed(LACQUER, Flight(10e-6, seconds), WARM, DAMP)) for seconds in (0.03125, 0.0375)]
    assert min(found) > 0.9
    assert found[1] < found[0]
    assert found[1] > found[0] - 0.03
