"""The critical relative humidity of a water-borne blend: where water and cosolvent leave in proportion."""

import numpy as np

from advisor.errors import OutOfRange
from advisor.physics.liquids import Array, Liquids
from advisor.physics.moist_air import ZERO_CELSIUS, saturation_pressure
from advisor.physics.transfer import mass_transfer


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
