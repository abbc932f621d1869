"""The film's equations written out once more, case by case, for scipy's stiff solvers: only to check the stepping."""

from collections.abc import Sequence

import numpy as np

from advisor.physics.air.moist_air import saturation_pressure
from advisor.physics.basics import GAS_CONSTANT, ZERO_CELSIUS
from advisor.physics.film.film_step import VAPOUR_HEAT_CAPACITY, Air, Films
from advisor.physics.film.mixture import activity_per_mass
from advisor.physics.film.slab import CELLS, cell_widths
from advisor.physics.film.transfer import mass_transfer, radiation
from tests.oracles import integrate


def oracle(films: Films, airs: Sequence[Air], moments, cells: int = CELLS, case: int = 0, method: str = "LSODA"):
    """Temperature [°C] and masses [kg/m2] of one case at the moments; cells: as the product's slab is cut."""
    liquids, count = films.liquids, len(films.liquids.names)
    slab = films.slabs[int(films.slab[case])]
    widths = cell_widths(slab.thickness, cells)
    capacity = widths * slab.density * slab.heat_capacity
    between = slab.conductivity / (0.5 * (widths[:-1] + widths[1:]))
    first = slab.conductivity / (0.5 * widths[0]) if films.touches else 0.0
    last = 1.0 / (1.0 / slab.back + 0.5 * widths[-1] / slab.conductivity) if slab.back > 0 else 0.0
    resin, heat = films.resin_volume[case : case + 1], films.resin_heat[case]

    def rates(_, state, air):
        masses, kelvin, wood = np.maximum(state[:count], 0.0), state[count], state[count + 1 :]
        around, walls = air.temperature[case] + ZERO_CELSIUS, air.surroundings[case] + ZERO_CELSIUS
        convective, damp = air.convective[case], air.vapour_pressure[case]
        pure = liquids.vapour_pressure(np.array([kelvin]))[0]
        partial = activity_per_mass(masses[None], resin, liquids, films.resin)[0] * masses
        if liquids.water is not None:
            pure[liquids.water] = saturation_pressure(kelvin - ZERO_CELSIUS)
        partial = partial * pure
        outside = np.zeros(count) if air.vapours is None else air.vapours[case].copy()
        if liquids.water is not None:
            outside[liquids.water] = damp
        vapour = outside.sum()
        share = np.clip((partial.sum() - vapour) / (films.pressure - vapour), -0.9, 0.9)
        stefan = -np.log1p(-share) / share * films.pressure / (films.pressure - vapour)
        speed = mass_transfer(np.array(convective), liquids, around, films.pressure)
        flux = speed * liquids.molar_mass / (GAS_CONSTANT * around) * stefan * (partial - outside)
        carried = np.clip(flux.sum() * VAPOUR_HEAT_CAPACITY / convective, -2, 5)
        to_air = convective * carried / np.expm1(carried)
        latent = (liquids.latent_heat(np.array([kelvin]))[0] * flux).sum()
        radiative = radiation(around) if films.radiates else 0.0
        down = first * (kelvin - wood[0])
        flows = np.concatenate([[down], between * (wood[:-1] - wood[1:]), [last * (wood[-1] - around)]])
        stored = heat + masses @ liquids.heat_capacity
        warming = (to_air * (around - kelvin) + radiative * (walls - kelvin) - latent - down) / stored
        return np.concatenate([-flux, [warming], (flows[:-1] - flows[1:]) / capacity])

    state = np.concatenate(
        [
            films.masses[case],
            [films.temperature[case] + ZERO_CELSIUS],
            np.full(cells, films.piece[case] + ZERO_CELSIUS),
        ]
    )
    kept, start = [state], 0.0
    for air in airs:
        wanted = moments[(moments > start) & (moments <= air.until * (1 + 1e-12))]
        if len(wanted):
            done = integrate.solve_ivp(
                rates, (start, wanted[-1]), state, method=method, t_eval=wanted, args=(air,), rtol=1e-7, atol=1e-9
            )
            assert done.success, done.message
            kept += list(done.y.T)
            state, start = done.y[:, -1], float(wanted[-1])
    result = np.array(kept)
    return result[:, count] - ZERO_CELSIUS, result[:, :count]
