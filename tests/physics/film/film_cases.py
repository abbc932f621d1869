"""Wet films for the tests of the film equations, built from the catalog with plain figures: what each test says."""

from collections.abc import Mapping, Sequence

import numpy as np

from advisor.catalog.coatings import load_coating
from advisor.catalog.materials import find_substrate
from advisor.film.mix import Mix, mix_of
from advisor.film.wet_film import liquids_of, pull_from_uptake, wet_blend
from advisor.physics.air.moist_air import saturation_pressure
from advisor.physics.film.film_step import Air, Films
from advisor.physics.film.mixture import Resin
from advisor.physics.film.slab import Slab

SEA_LEVEL = 101_325.0  # [Pa]
GUN, BOOTH, ROOM = 25.0, 8.0, 5.0  # [W/(m2 K)]
BACK = 8.0  # [W/(m2 K)]


def coating_mix(coating: str, thinner: str = "", retarder: float = 0.0) -> Mix:
    """A coating of the catalog with one of its thinners, its fastest where none is named."""
    found = load_coating(coating)
    return mix_of(found, thinner or found.thinner_speeds[0], retarder)


def slab_of(substrate: str, back: float = BACK) -> Slab:
    """A substrate of the catalog as a slab."""
    found = find_substrate(substrate)
    return Slab(found.thickness, found.conductivity, found.density, found.heat_capacity, back)


def films_of(mix: Mix, substrates: Sequence[str], landed_at: float = 18.0, piece: float = 23.0) -> Films:
    """One film of a mix on each substrate, at the wet thickness the mix names."""
    liquids, parts = wet_blend(mix)
    mass = parts / (parts / liquids.density).sum() * mix.wet_film * (1.0 - mix.volume_solids)
    count, resin_volume = len(substrates), mix.wet_film * mix.volume_solids
    return Films(
        liquids=liquids,
        resin=Resin(pull_from_uptake(mix.water_uptake), mix.dispersion),
        masses=np.tile(mass, (count, 1)),
        resin_volume=np.full(count, resin_volume),
        resin_heat=np.full(count, resin_volume * 1.8e6),
        temperature=np.full(count, landed_at),
        piece=np.full(count, piece),
        slabs=tuple(slab_of(name) for name in substrates),
        slab=np.arange(count),
        pressure=SEA_LEVEL,
    )


def stages(air: float, humidities: Sequence[float], until: float = 1800.0) -> list[Air]:
    """The gun's fan for a minute, the booth for five, then the room: one air for each humidity."""
    count = len(humidities)
    warm = np.full(count, air)
    damp = np.asarray(humidities) * saturation_pressure(air)
    ends = ((60.0, GUN), (360.0, BOOTH), (until, ROOM))
    return [Air(end, warm, damp, np.full(count, heat), warm) for end, heat in ends]


def pure_films(masses: Sequence[Mapping[str, float]], temperature: Sequence[float], **more: bool) -> Films:
    """Films of liquids alone, by their masses [kg/m2], with a trace of resin; on wood unless told otherwise."""
    liquids = liquids_of([name for mass in masses for name in mass])
    count = len(masses)
    return Films(
        liquids=liquids,
        resin=Resin(2.0, False),
        masses=np.array([[mass.get(name, 0.0) for name in liquids.names] for mass in masses]),
        resin_volume=np.full(count, 1e-9),
        resin_heat=np.zeros(count),
        temperature=np.asarray(temperature, dtype=np.float64),
        piece=np.asarray(temperature, dtype=np.float64),
        slabs=(slab_of("wood"),),
        slab=np.zeros(count, dtype=np.intp),
        pressure=SEA_LEVEL,
        **more,
    )
