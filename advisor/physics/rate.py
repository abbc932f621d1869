"""How much faster or slower a reaction runs at another temperature."""

import numpy as np
from numpy.typing import NDArray

from advisor.errors import OutOfRange
from advisor.physics.liquids import GAS_CONSTANT
from advisor.physics.moist_air import ZERO_CELSIUS

TEMPERATURE_RANGE = (-20.0, 80.0)  # [°C]
ENERGY_RANGE = (0.0, 200_000.0)  # [J/mol]


def rate_factor(temperature: float, reference: float, energy: float) -> float:
    """Speed at a temperature over that at a reference temperature: exp(-E/R (1/T - 1/Tr)).

    temperature, reference [°C] -20 to 80; energy [J/mol] 0 to 200,000. The form of ASTM C1074's equivalent age.
    """
    for name, value in (("temperature", temperature), ("reference temperature", reference)):
        if not TEMPERATURE_RANGE[0] <= value <= TEMPERATURE_RANGE[1]:
            raise OutOfRange(f"{name} {value:g} °C", "-20 to 80 °C", "check the unit")
    if not ENERGY_RANGE[0] <= energy <= ENERGY_RANGE[1]:
        raise OutOfRange(f"activation energy {energy:g} J/mol", "0 to 200,000 J/mol", "check the unit")
    return float(rate_factors(np.array([temperature]), reference, np.array([energy]))[0])


def rate_factors(
    temperatures: NDArray[np.float64], reference: float, energies: NDArray[np.float64]
) -> NDArray[np.float64]:
    """The same of many temperatures [°C] and energies [J/mol] at once, in the same range, which the caller sees to."""
    apart = 1.0 / (temperatures + ZERO_CELSIUS) - 1.0 / (reference + ZERO_CELSIUS)
    return np.asarray(np.exp(-energies / GAS_CONSTANT * apart), dtype=np.float64)
