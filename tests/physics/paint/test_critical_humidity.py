"""The critical relative humidity: where a blend of water and cosolvent keeps its make-up as it leaves."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from advisor.errors import OutOfRange
from advisor.film.wet_film import liquids_of
from advisor.physics.air.moist_air import saturation_pressure
from advisor.physics.film.film import dry
from advisor.physics.film.film_step import Air, steps_until
from advisor.physics.film.mixture import critical_relative_humidity
from tests.physics.film.film_cases import SEA_LEVEL, pure_films, slab_of


def blend(name: str, share: float):
    """Liquids and masses of water with this share of one cosolvent."""
    liquids = liquids_of([name])
    return liquids, np.array([{"water": 1.0 - share, name: share}[each] for each in liquids.names])


def critical(name: str, share: float, celsius: float = 25.0):
    liquids, masses = blend(name, share)
    return critical_relative_humidity(masses, liquids, celsius, SEA_LEVEL)


def test_at_the_critical_humidity_a_blend_keeps_its_make_up_and_beside_it_does_not():
    """Dried in the film equations on a plate that stays at the air's temperature; a blend nearly ideal there.

    Water and propylene glycol, whose water is taken as ideal (solvent table): in drier air the glycol gathers, in
    damper air the water does.
    """
    name, share, celsius = "propylene-glycol", 0.5, 25.0
    found = critical(name, share, celsius)
    liquids, _ = blend(name, share)
    films = pure_films([{"water": 0.02, name: 0.02}] * 3, [celsius] * 3)
    films = replace(films, slabs=(replace(slab_of("steel"), thickness=0.05),))
    warm = np.full(3, celsius)
    damp = np.array([found - 0.05, found, found + 0.05]) * saturation_pressure(celsius)
    air = Air(3600.0, warm, damp, np.full(3, 10.0), warm)
    masses = dry(films, [air], steps_until([3600.0], longest=5.0)).masses
    glycol = masses[-1, :, liquids.names.index(name)] / masses[-1].sum(axis=1)
    assert glycol[0] > share > glycol[2]


@given(st.floats(0.05, 0.6))
def test_water_and_cosolvent_leave_as_they_stand_at_that_humidity(share):
    """The definition, from the vapour pressures and diffusivities alone: fluxes in the ratio of the masses."""
    celsius, name = 25.0, "2-butoxyethanol"
    liquids, masses = blend(name, share)
    humidity = critical(name, share)
    moles = masses / liquids.molar_mass
    pure = liquids.vapour_pressure(np.array(celsius + 273.15))
    water, other = (liquids.names.index(each) for each in ("water", name))
    pure[water] = saturation_pressure(celsius)
    drive = moles / moles.sum() * pure
    drive[water] -= humidity * pure[water]
    # the analogy's exponent on the Lewis number is the diffusivity's to the two thirds
    flux = liquids.diffusivity(celsius + 273.15, SEA_LEVEL) ** (2 / 3) * liquids.molar_mass * drive
    assert flux[other] / flux[water] == pytest.approx(masses[other] / masses[water], rel=1e-9)


def test_a_faster_cosolvent_leaves_in_proportion_only_in_drier_air():
    slow, middle, fast = (critical(name, 0.1) for name in ("2-butoxyethanol", "pm", "isopropanol"))
    assert slow > middle
    assert fast is None or middle > fast


def test_one_that_leaves_faster_than_water_in_any_air_has_none():
    assert critical("acetone", 0.1) is None


def test_without_cosolvent_there_is_none():
    liquids, _ = blend("2-butoxyethanol", 0.1)
    assert critical_relative_humidity(np.array([1.0, 0.0]), liquids, 25.0, SEA_LEVEL) is None


def test_only_the_proportion_counts():
    liquids, masses = blend("2-butoxyethanol", 0.2)
    assert critical_relative_humidity(3e-3 * masses, liquids, 25.0, SEA_LEVEL) == pytest.approx(
        critical("2-butoxyethanol", 0.2)
    )


def test_a_blend_without_water_is_refused():
    liquids, _ = blend("2-butoxyethanol", 0.2)
    with pytest.raises(OutOfRange, match="without water"):
        critical_relative_humidity(np.array([0.0, 1.0]), liquids, 25.0, SEA_LEVEL)
    with pytest.raises(OutOfRange, match="without water"):
        critical_relative_humidity(np.array([1.0, 1.0]), replace(liquids, water=None), 25.0, SEA_LEVEL)
