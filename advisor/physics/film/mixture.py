"""How strongly each liquid of a drying film pushes into the air: activities over the film's own make-up.

And the humidity at which water and cosolvent leave in proportion.
"""

from dataclasses import dataclass

import numpy as np

from advisor.errors import OutOfRange
from advisor.physics.air.moist_air import saturation_pressure
from advisor.physics.basics import ZERO_CELSIUS, Array
from advisor.physics.film.liquids import Liquids
from advisor.physics.film.transfer import mass_transfer

_LEAST_VOLUME = 1e-12  # [m3/m2], keeps a film that has lost everything from dividing by nothing


@dataclass(frozen=True)
class Resin:
    """What hardens: water_interaction is the Flory-Huggins parameter of water with it, per mole of water.

    dispersion: the resin floats in water as particles, so water feels hardly any of it until it is nearly gone
    (True), or it is dissolved and every liquid feels it from the start (False).
    """

    water_interaction: float
    dispersion: bool


def activity_per_mass(masses: Array, resin_volume: Array, liquids: Liquids, resin: Resin) -> Array:
    """Activity of each liquid divided by its mass [m2/kg]; shapes (N, S), (N,) -> (N, S).

    Flory-Huggins with each liquid at its own molar volume and a resin of very long chains (Flory 1953, ch. XII):
    ln a = ln phi + 1 - V sum(phi_j / V_j) + chi phi_resin^2. The organic liquids are taken as ideal among themselves
    and are counted without the water, which is dilute; water's own chi is the volume mean of that with each of the
    others. An activity over 1 would be a second liquid layer: it is held at 1, so that water then lies in the film as
    water. In a dispersion a liquid that mixes with water is spread over water and resin, another over the resin alone.
    """
    volumes = masses * liquids.inverse_density
    moles = masses @ liquids.inverse_molar_mass
    whole = volumes.sum(axis=1) + resin_volume + _LEAST_VOLUME
    water = liquids.water
    base, crowd = whole[:, None], moles[:, None]
    if water is not None:
        apart = volumes[:, water, None]  # the water's volume, which the organics do not see
        if resin.dispersion:
            apart = apart * (1.0 - liquids.miscible)
        base, crowd = base - apart, crowd - apart / liquids.molar_volume[water]
    inverse = 1.0 / base
    share = resin_volume[:, None] * inverse
    exponent = 1.0 - liquids.molar_volume * (crowd * inverse) + liquids.resin_interaction * (share * share)
    result: Array = np.exp(exponent) * (inverse * liquids.inverse_density)
    if water is None:
        return result
    inverse = 1.0 / whole
    pull = (volumes @ liquids.water_interaction + resin_volume * resin.water_interaction) * inverse
    exponent = 1.0 - liquids.molar_volume[water] * moles * inverse + (1.0 - volumes[:, water] * inverse) * pull
    per_mass = np.exp(exponent) * inverse * liquids.inverse_density[water]
    own = np.maximum(masses[:, water], 1e-15)
    most = 1.0 / own
    if resin.dispersion:
        # the water between the particles is as free as its share of the moles in it
        dissolved = masses @ (liquids.inverse_molar_mass * liquids.miscible)
        most = masses[:, water] * liquids.inverse_molar_mass[water] / np.maximum(dissolved, 1e-12) / own
    result[:, water] = np.minimum(per_mass, most)
    return result


def critical_relative_humidity(masses: Array, liquids: Liquids, temperature: float, pressure: float) -> float | None:
    """The humidity [fraction] at which a blend of water and cosolvents keeps its make-up as it evaporates.

    masses (S,) [kg/m2] or in any proportion; temperature [°C]; pressure [Pa]. In drier air the water goes first, in
    damper air the cosolvent. A term of art for water-and-cosolvent blends (Dillon 1977, from memory); the liquid and
    the air at one temperature, Raoult's law among what mixes with water. None where there is no cosolvent, or where it
    leaves faster than the water in any air.
    """
    water = liquids.water
    if water is None or not masses[water] > 0:
        raise OutOfRange("a blend without water", "water and a cosolvent", "it has no critical humidity")
    organic = np.arange(len(masses)) != water
    if not masses[organic].sum() > 0:
        return None
    moles = masses / liquids.molar_mass * liquids.water_miscible
    shares = moles / moles.sum()
    kelvin = np.array(temperature + ZERO_CELSIUS)
    pure = liquids.vapour_pressure(kelvin)
    pure[water] = float(saturation_pressure(temperature))
    speed = mass_transfer(1.0, liquids, float(kelvin), pressure) * liquids.molar_mass
    cosolvent = float((speed * shares * pure)[organic].sum())
    wanted = cosolvent * masses[water] / masses[organic].sum()
    humidity = float(shares[water] - wanted / (speed[water] * pure[water]))
    return humidity if humidity > 0 else None
