"""The stepping against a stiff solver, finer cells and shorter steps: within 0.1 K after the first 3 s."""

import numpy as np
import pytest

from advisor.physics.film import setting
from advisor.physics.film.film import dry
from advisor.physics.film.film_step import steps_until
from tests.physics.film.film_cases import coating_mix, films_of, stages
from tests.physics.film.film_oracle import oracle

SUBSTRATES = ("wood", "thin-wood", "mdf", "steel", "glass", "wood", "wood", "wood", "steel")
HUMIDITIES = (0.5, 0.5, 0.5, 0.5, 0.5, 0.7, 0.8, 0.9, 0.8)
COATINGS = ("nitrocellulose-lacquer", "acrylic-lacquer", "shellac", "waterborne-clear-1k", "solvent-polyurethane-2k")
UNTIL = 1200.0
LONGEST = 6.0  # [s], the product's own longest step while blush is decided
CASES = [pytest.param(n, id=f"{s}-{rh:g}") for n, (s, rh) in enumerate(zip(SUBSTRATES, HUMIDITIES, strict=True))]


def setup(coating: str, air: float = 23.0):
    """The films, their airs and the product's own moments."""
    films = films_of(coating_mix(coating), SUBSTRATES, landed_at=air - 5.0, piece=air)
    airs = stages(air, HUMIDITIES, UNTIL)
    return films, airs, steps_until([each.until for each in airs], longest=LONGEST)


def halved(moments):
    """The same moments with one more in the middle of each step."""
    return np.sort(np.concatenate([moments, 0.5 * (moments[1:] + moments[:-1])]))


@pytest.mark.slow
@pytest.mark.parametrize("case", CASES)
@pytest.mark.parametrize("coating", ["nitrocellulose-lacquer", "shellac", "waterborne-clear-1k"])
def test_a_film_is_that_of_a_stiff_solver(coating, case):
    """scipy's LSODA (BDF where steel makes it stiff from the start) at 1e-7, on the equations written out once more."""
    films, airs, moments = setup(coating)
    found = dry(films, airs, moments)
    method = "LSODA" if SUBSTRATES[case] == "wood" else "BDF"
    temperature, masses = oracle(films, airs, moments, case=case, method=method)
    after = moments >= setting.ARRIVAL
    assert np.abs(found.temperature[after, case] - temperature[after]).max() < 0.1
    assert np.abs(found.masses[:, case] - masses).max() < 0.01 * masses[0].sum()
    volumes = (masses / films.liquids.density).sum(axis=1)
    at_set = int(np.argmax(films.resin_volume[case] >= 0.6 * (films.resin_volume[case] + volumes)))
    if at_set:
        water = films.liquids.names.index("water")
        assert found.masses[at_set, case, water] == pytest.approx(masses[at_set, water], rel=0.03)


@pytest.mark.slow
@pytest.mark.parametrize("coating", COATINGS)
def test_finer_cells_move_no_film_by_more_than_a_tenth_of_a_kelvin(coating):
    films, airs, moments = setup(coating)
    after = moments >= setting.ARRIVAL
    runs = [dry(films, airs, moments, cells=cells).temperature[after] for cells in (12, 24, 48)]
    here = dry(films, airs, moments).temperature[after]
    assert max(np.abs(run - here).max() for run in runs) < 0.1
    assert np.abs(runs[0] - runs[2]).max() < 0.1


@pytest.mark.slow
@pytest.mark.parametrize("coating", COATINGS)
def test_half_and_quarter_steps_move_no_film_by_more_than_a_tenth_of_a_kelvin(coating):
    films, airs, moments = setup(coating)
    after = moments >= setting.ARRIVAL
    here = dry(films, airs, moments).temperature
    half = dry(films, airs, halved(moments)).temperature[::2]
    quarter = dry(films, airs, halved(halved(moments))).temperature[::4]
    assert np.abs(half - here)[after].max() < 0.1
    assert np.abs(quarter - here)[after].max() < 0.1


def test_shorter_steps_come_nearer_to_the_stiff_solver():
    """First order: the error of shellac on wood falls by about half with each halving."""
    films, airs, moments = setup("shellac")
    errors = []
    for _ in range(3):
        temperature, _ = oracle(films, airs, moments, case=0)
        after = moments >= setting.ARRIVAL
        errors.append(np.abs(dry(films, airs, moments).temperature[after, 0] - temperature[after]).max())
        moments = halved(moments)
    assert errors[1] < 0.65 * errors[0]
    assert errors[2] < 0.65 * errors[1]


@pytest.mark.parametrize("coating", COATINGS)
def test_water_at_set_does_not_hang_on_the_steps(coating):
    """Quarter steps move the water at set by under 2 % and the time to set by under 1 %."""
    films, airs, moments = setup(coating)
    water = films.liquids.names.index("water")
    coarse, fine = (dry(films, airs, each) for each in (moments, halved(halved(moments))))
    times = [setting.time_to_solids(run, 0.6) for run in (coarse, fine)]
    assert times[0] == pytest.approx(times[1], rel=0.01, nan_ok=True)
    held = [setting.at_solids(run, 0.6)[1][:, water] for run in (coarse, fine)]
    assert held[0] == pytest.approx(held[1], rel=0.02, abs=1e-6)


def test_in_tropical_air_the_last_drop_of_condensed_water_is_timed_to_a_step_only():
    """A counter-example kept: the 0.1 K of the tests above hold in air up to 28 °C.

    In air of 32 °C and 80 % acrylic lacquer on wood takes up so much that water lies in it as drops. When the last
    drop is gone the film warms at once, 2.5 min after spraying, where a step is 2 to 6 s long: the moment is right to
    a part of a step, the temperature in that part of a step to 0.15 K, and within 0.1 K again half a minute on.
    """
    films, airs, moments = setup("acrylic-lacquer", 32.0)
    wood = [n for n, (s, rh) in enumerate(zip(SUBSTRATES, HUMIDITIES, strict=True)) if (s, rh) == ("wood", 0.8)]
    here = dry(films, airs, moments).temperature[:, wood]
    quarter = dry(films, airs, halved(halved(moments))).temperature[::4][:, wood]
    off = np.abs(quarter - here)[:, 0]
    after = moments >= setting.ARRIVAL
    worst = moments[after][off[after].argmax()]
    assert 0.1 < off[after].max() < 0.15
    assert 100.0 < worst < 200.0
    assert off[after & (np.abs(moments - worst) > 30.0)].max() < 0.1


@pytest.mark.slow
@pytest.mark.parametrize("air", [5.0, 15.0, 28.0])
@pytest.mark.parametrize("coating", ["nitrocellulose-lacquer", "shellac"])
def test_cold_and_warm_shops_are_stepped_as_well(coating, air):
    films, airs, moments = setup(coating, air)
    after = moments >= setting.ARRIVAL
    here = dry(films, airs, moments).temperature
    quarter = dry(films, airs, halved(halved(moments))).temperature[::4]
    finer = dry(films, airs, moments, cells=48).temperature
    assert np.abs(quarter - here)[after].max() < 0.1
    assert np.abs(finer - here)[after].max() < 0.1
