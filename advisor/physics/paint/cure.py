"""Equivalent age: the hours at the reference temperature that a coat has collected, from its temperature record.

The maturity form of ASTM C1074 (its covers were seen, its equations are from memory): age = sum of speed x time, speed
= exp(-E/R (1/T - 1/Tr)). Two energies, one on either side of the reference temperature; no credit below a floor.
"""

from dataclasses import dataclass
from itertools import pairwise
from math import inf, log

import numpy as np

from advisor.errors import OutOfRange
from advisor.physics.basics import GAS_CONSTANT, ZERO_CELSIUS, Array, all_inside

TEMPERATURE_RANGE = (-20.0, 80.0)  # [°C]
ENERGY_RANGE = (0.0, 200_000.0)  # [J/mol]
COLDEST = -100.0  # [°C] taken in a record; what is below the law's own range moves as slowly as at its edge
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(7)
_NEAR = 1e-3  # [s] how finely a crossing is found


def rate_factor(temperature: float, reference: float, energy: float) -> float:
    """Speed at a temperature over that at a reference temperature: exp(-E/R (1/T - 1/Tr)).

    temperature, reference [°C] -20 to 80; energy [J/mol] 0 to 200,000. The form of ASTM C1074's equivalent age.
    """
    all_inside(
        ("temperature", temperature, TEMPERATURE_RANGE, "°C"),
        ("reference temperature", reference, TEMPERATURE_RANGE, "°C"),
        ("activation energy", energy, ENERGY_RANGE, "J/mol"),
    )
    return float(rate_factors(np.array([temperature]), reference, np.array([energy]))[0])


def rate_factors(temperatures: Array, reference: float, energies: Array) -> Array:
    """The same of many temperatures [°C] and energies [J/mol] at once, in the same range, which the caller sees to."""
    apart = 1.0 / (temperatures + ZERO_CELSIUS) - 1.0 / (reference + ZERO_CELSIUS)
    return np.asarray(np.exp(-energies / GAS_CONSTANT * apart), dtype=np.float64)


@dataclass(frozen=True)
class CureLaw:
    """How fast a coat hardens against the reference temperature.

    reference [°C]; energy_cold, energy_warm [J/mol]: below it and from it on. none_below [°C]: no credit under it, by
    default under the range of the law. fastest: speed that is never passed (1 or more).
    """

    reference: float
    energy_cold: float
    energy_warm: float
    none_below: float = TEMPERATURE_RANGE[0]
    fastest: float = inf

    def __post_init__(self) -> None:
        all_inside(
            ("reference temperature", self.reference, TEMPERATURE_RANGE, "°C"),
            ("activation energy", np.array([self.energy_cold, self.energy_warm]), ENERGY_RANGE, "J/mol"),
        )
        if not self.fastest >= 1.0 or not self.none_below < inf:
            raise OutOfRange("cure law", "a fastest speed of 1 or more, a floor that is a number", "correct it")

    @property
    def edges(self) -> tuple[float, ...]:
        """Temperatures where the speed has a step or a kink [°C], rising, between minus and plus infinity."""
        kinks = {self.none_below, self.reference, TEMPERATURE_RANGE[0]}
        slope = GAS_CONSTANT / self.energy_warm if self.energy_warm > 0 else inf
        if self.fastest < inf and slope < inf:
            inverse = 1.0 / (self.reference + ZERO_CELSIUS) - slope * log(self.fastest)
            if inverse > 0:
                kinks.add(1.0 / inverse - ZERO_CELSIUS)
        return (-inf, *sorted(kink for kink in kinks if COLDEST <= kink <= TEMPERATURE_RANGE[1]), inf)


def cure_speed(temperature: Array | float, law: CureLaw) -> Array:
    """Equivalent seconds a second at temperatures [°C, up to 80]; 1 at the reference, 0 under the floor."""
    celsius = np.asarray(temperature, dtype=np.float64)
    if not bool(np.all((celsius >= COLDEST) & (celsius <= TEMPERATURE_RANGE[1]))):
        raise OutOfRange("a temperature in the record", "-100 to 80 °C", "check the unit")
    energies = np.where(celsius < law.reference, law.energy_cold, law.energy_warm)
    speed = rate_factors(np.maximum(celsius, TEMPERATURE_RANGE[0]), law.reference, energies)
    return np.where(celsius >= law.none_below, np.minimum(speed, law.fastest), 0.0)


def segment_ages(seconds: Array, celsius: Array, law: CureLaw) -> Array:
    """Equivalent seconds of each stretch between two neighbours of a record, straight lines between them.

    seconds rising, celsius of the same length. Exact but for the quadrature, whose error over 20 K is under 1e-11:
    each stretch is cut where the speed has a step or a kink.
    """
    spans = _spans(seconds, celsius)
    first, second = celsius[:-1], celsius[1:]
    ages = np.zeros_like(spans)
    for low, high in pairwise(law.edges):
        share = _share(first, second, low, high)
        here = share > 0
        start, end = np.clip(first[here], low, high), np.clip(second[here], low, high)
        middle, half = (start + end) / 2.0, (end - start) / 2.0
        speeds = cure_speed(middle[:, np.newaxis] + half[:, np.newaxis] * _NODES, law) @ _WEIGHTS / 2.0
        ages[here] += share[here] * speeds
    return ages * spans


def equivalent_age(seconds: Array, celsius: Array, law: CureLaw) -> float:
    """Equivalent seconds at the reference temperature that a record [s, °C] collects."""
    return float(np.sum(segment_ages(seconds, celsius, law)))


def seconds_until(age: float, temperature: float, law: CureLaw) -> float:
    """Seconds until a missing age [s at the reference] is collected at a constant temperature; inf: it never is."""
    if age <= 0:
        return 0.0
    speed = float(cure_speed(temperature, law))
    return age / speed if speed > 0 else inf


def crossing(age: float, span: float, ends: tuple[float, float], law: CureLaw) -> float:
    """Seconds into one stretch of a record after which it has collected an age, to a thousandth of a second over.

    span [s]; ends: temperature at either end [°C]. The stretch must hold that much.
    """

    def collected(after: float) -> float:
        there = ends[0] + (ends[1] - ends[0]) * after / span
        return equivalent_age(np.array([0.0, after]), np.array([ends[0], there]), law)

    whole = collected(span)
    if ends[0] == ends[1] and whole > 0:
        return span * min(1.0, age / whole)
    low, high = 0.0, span
    while high - low > _NEAR:
        middle = (low + high) / 2.0
        low, high = (middle, high) if collected(middle) < age else (low, middle)
    return high


def time_below(seconds: Array, celsius: Array, limit: float) -> Array:
    """Seconds of each stretch of a record that lie below a temperature [°C]; at it is not below it."""
    return _share(celsius[:-1], celsius[1:], -inf, limit) * _spans(seconds, celsius)


def _share(first: Array, second: Array, low: float, high: float) -> Array:
    """Share of each stretch within low <= T < high; a straight line spends as much of its time there as of its rise."""
    rise = np.abs(second - first)
    within = np.abs(np.clip(second, low, high) - np.clip(first, low, high))
    level = (first >= low) & (first < high)
    return np.where(rise > 0, within / np.where(rise > 0, rise, 1.0), level.astype(np.float64))


def _spans(seconds: Array, celsius: Array) -> Array:
    spans: Array = np.diff(seconds)
    if seconds.shape != celsius.shape or seconds.ndim != 1 or not bool(np.all(spans >= 0)):
        raise OutOfRange("a temperature record", "times that rise, one temperature each", "put it in order")
    return spans
