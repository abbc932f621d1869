"""The volatile liquids of a wet film as arrays, one entry each: what the film equations need to know of them.

Temperatures in [K] here and in the other film files; the catalog holds the figures with their sources.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from advisor.errors import OutOfRange
from advisor.physics.basics import Array

_ROOM = 298.15  # [K], where the heats of vaporisation are stated
_AIR_MOLAR_MASS = 28.96  # [g/mol]
_AIR_DIFFUSION_VOLUME = 19.7  # Poling, Prausnitz, O'Connell, 5th ed. (2001) Table 11-1


@dataclass(frozen=True)
class Liquids:
    """Volatile liquids, each array of shape (S,); water, if any, stands at index `water` (else None).

    molar_mass [kg/mol], density [kg/m3], antoine: A, B [K], C [K] of ln(p/Pa) = A - B/(T + C) with T in K,
    heat_of_vaporisation [J/mol] at 25 °C, heat_capacity [J/(kg K)], diffusion_volume (Fuller),
    water_interaction: Flory-Huggins parameter of water with each liquid, per mole of water,
    resin_interaction: that of each liquid with the resin, per mole of the liquid,
    water_miscible: as booleans.
    """

    names: tuple[str, ...]
    molar_mass: Array
    density: Array
    antoine_a: Array
    antoine_b: Array
    antoine_c: Array
    heat_of_vaporisation: Array
    heat_capacity: Array
    diffusion_volume: Array
    water_interaction: Array
    resin_interaction: Array
    water_miscible: NDArray[np.bool_]
    water: int | None

    def __post_init__(self) -> None:
        """Refuse figures no liquid has: the solver would return numbers all the same."""
        for name in ("molar_mass", "density", "antoine_b", "heat_of_vaporisation", "heat_capacity", "diffusion_volume"):
            values = getattr(self, name)
            if values.shape != (len(self.names),) or not np.all(values > 0):
                raise OutOfRange(f"{name} of {', '.join(self.names)}", "one number over 0 each", "check the table")

    @cached_property
    def molar_volume(self) -> Array:
        """Volume of a mole of each liquid [m3/mol]."""
        return self.molar_mass / self.density

    @cached_property
    def inverse_density(self) -> Array:
        """Volume of a kilogram [m3/kg]."""
        return 1.0 / self.density

    @cached_property
    def inverse_molar_mass(self) -> Array:
        """Moles in a kilogram [mol/kg]."""
        return 1.0 / self.molar_mass

    @cached_property
    def miscible(self) -> Array:
        """1 where the liquid mixes with water, else 0."""
        return self.water_miscible.astype(np.float64)

    @cached_property
    def _latent_scale(self) -> Array:
        """Heat of vaporisation [J/kg] over the shape of the vapour-pressure curve's slope, both at 25 °C."""
        return self.heat_of_vaporisation / self.molar_mass * ((_ROOM + self.antoine_c) / _ROOM) ** 2

    def vapour(self, kelvin: Array) -> tuple[Array, Array, Array]:
        """Vapour pressure [Pa], its slope d ln p / dT [1/K] and heat of vaporisation [J/kg] of each pure liquid.

        kelvin (...,) [K]: results (..., S). The heat is the table's at 25 °C, moved with temperature as the slope of
        the same curve moves (Clausius-Clapeyron).
        """
        warmth = kelvin[..., None]
        inverse = 1.0 / (warmth + self.antoine_c)
        scaled = self.antoine_b * inverse
        turned = warmth * inverse
        return np.exp(self.antoine_a - scaled), scaled * inverse, self._latent_scale * (turned * turned)

    def vapour_pressure(self, kelvin: Array) -> Array:
        """Vapour pressure [Pa] of each pure liquid at temperatures of shape (...,): result (..., S)."""
        return self.vapour(kelvin)[0]

    def vapour_slope(self, kelvin: Array) -> Array:
        """d ln p / dT of each pure liquid [1/K] at temperatures of shape (...,): result (..., S)."""
        return self.vapour(kelvin)[1]

    def latent_heat(self, kelvin: Array) -> Array:
        """Heat of vaporisation [J/kg] at temperatures of shape (...,): result (..., S)."""
        return self.vapour(kelvin)[2]

    def diffusivity(self, kelvin: Array | float, pressure: float) -> Array:
        """Diffusivity of each vapour in air [m2/s] at temperatures of shape (...,): result (..., S).

        Fuller, Schettler and Giddings; Poling, Prausnitz and O'Connell, The Properties of Gases and Liquids, 5th ed.
        (2001) eq. 11-4.4; its authors' average error is about 4 %. kelvin [K], pressure [Pa].
        """
        grams = self.molar_mass * 1e3
        mean = 2.0 / (1.0 / grams + 1.0 / _AIR_MOLAR_MASS)
        spread = (np.cbrt(self.diffusion_volume) + np.cbrt(_AIR_DIFFUSION_VOLUME)) ** 2
        warmth = np.asarray(kelvin, dtype=np.float64)[..., None] ** 1.75
        result: Array = 0.00143 * warmth / (pressure / 1e5 * np.sqrt(mean) * spread) * 1e-4
        return result


def interaction_from_dilute_activity(activity_coefficient: Array, ratio: Array) -> Array:
    """Flory-Huggins parameter, per mole of solute, that gives an activity coefficient at infinite dilution.

    activity_coefficient: on the mole-fraction scale, over 0. ratio: molar volume of the solute over the solvent's.
    From ln(gamma) = ln(r) + 1 - r + chi, the infinite-dilution limit of the equation (Flory 1953, ch. XII).
    """
    if not (np.all(activity_coefficient > 0) and np.all(ratio > 0)):
        raise OutOfRange("an activity coefficient or volume ratio of 0 or less", "over 0", "check the solvent table")
    return np.asarray(np.log(activity_coefficient) - np.log(ratio) - 1.0 + ratio)
