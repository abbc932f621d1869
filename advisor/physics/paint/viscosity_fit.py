"""How one coating thins and how it runs warmer, from a shop's own cup readings against a family's starting figures.

ln v = (what the pot is) - slope x share + E/R (1/T - 1/T0): the straight lines of `viscosity`, fitted to readings of
any number of pots at once. The starting figures are a prior: two readings move them part of the way, ten settle them.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial
from math import log

import numpy as np

from advisor.errors import OutOfRange
from advisor.physics.basics import GAS_CONSTANT, ZERO_CELSIUS, all_inside, settled
from advisor.physics.paint.cure import ENERGY_RANGE, TEMPERATURE_RANGE
from advisor.physics.paint.viscosity import SHARE_RANGE, SLOPE_RANGE, VISCOSITY_RANGE

_inside = partial(all_inside, do="check the figures")
PRIOR_SPREAD = 0.4  # [fraction] standard uncertainty of a family's figures: products of one family differ by so much
READING_SPREAD = 0.04  # [ln] of a cup reading in range: 2 to 5 % by a cup maker's manual, and the measuring jug
ESTIMATE_SPREAD = 0.12  # [ln] of one outside its range


@dataclass(frozen=True)
class FlowReading:
    """One cup reading: which pot, share of thinner in it [fraction of the mix], temperature [°C], viscosity [mm2/s]."""

    pot: str
    share: float
    temperature: float
    viscosity: float
    in_range: bool = True


@dataclass(frozen=True)
class Flow:
    """Slope of thinning [1] and activation energy of flow [J/mol]; each with its standard uncertainty.

    readings: how many of the shop's own are in it; 0: the family's figures.
    """

    slope: float
    energy: float
    slope_uncertainty: float
    energy_uncertainty: float
    readings: int


def family_flow(slope: float, energy: float) -> Flow:
    """The starting figures of a family, good to `PRIOR_SPREAD`."""
    _inside(
        ("slope of thinning", slope, SLOPE_RANGE, ""),
        ("activation energy of flow", energy, ENERGY_RANGE, ""),
    )
    return Flow(slope, energy, PRIOR_SPREAD * slope, PRIOR_SPREAD * energy, 0)


def refined(start: Flow, readings: Sequence[FlowReading]) -> Flow:
    """The figures once the shop's own readings are in: least squares with the starting figures as a prior.

    Only pots read twice tell anything; readings alone in their pot are not counted. Raises OutOfRange for readings out
    of range, and where they say that thinner thickens or that warm runs slower.
    """
    pots = [reading.pot for reading in readings]
    kept = sorted((each for each in readings if pots.count(each.pot) >= 2), key=lambda each: pots.index(each.pot))
    if not kept:
        return start
    table = np.array([_row(reading) for reading in kept])
    precision = np.array([(READING_SPREAD if each.in_range else ESTIMATE_SPREAD) ** -2 for each in kept])
    for pot in set(pots):
        of_pot = np.array([reading.pot == pot for reading in kept])
        if of_pot.any():  # what the pot is drops out
            table[of_pot] -= np.average(table[of_pot], axis=0, weights=precision[of_pot])
    prior = np.diag([1.0 / start.slope_uncertainty**2, 1.0 / start.energy_uncertainty**2])
    normal = prior + (table[:, :2].T * precision) @ table[:, :2]
    right = prior @ np.array([start.slope, start.energy]) + (table[:, :2].T * precision) @ table[:, 2]
    slope, energy = (float(value) for value in settled(np.linalg.solve(normal, right)))
    spread = np.sqrt(np.diag(settled(np.linalg.inv(normal))))
    if not (SLOPE_RANGE[0] <= slope <= SLOPE_RANGE[1] and 0.0 < energy <= ENERGY_RANGE[1]):
        raise OutOfRange(
            f"readings that give a slope of {slope:.2f} and {energy / 1e3:.0f} kJ/mol",
            "thinner thins, warm runs faster",
            "read the cup again",
        )
    return Flow(slope, energy, float(spread[0]), float(spread[1]), len(kept))


def _row(reading: FlowReading) -> tuple[float, float, float]:
    """Minus the share, inverse temperature over R [mol/J], ln v."""
    _inside(
        ("share of thinner", reading.share, SHARE_RANGE, ""),
        ("temperature of a reading", reading.temperature, TEMPERATURE_RANGE, ""),
        ("viscosity", reading.viscosity, VISCOSITY_RANGE, ""),
    )
    return -reading.share, 1.0 / (GAS_CONSTANT * (reading.temperature + ZERO_CELSIUS)), log(reading.viscosity)
