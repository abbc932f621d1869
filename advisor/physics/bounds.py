"""Refusing numbers outside an equation's range, floats and arrays alike."""

import numpy as np

from advisor.errors import OutOfRange
from advisor.physics.liquids import Array


def inside(name: str, value: float | Array, allowed: tuple[float, float], unit: str) -> Array:
    """The value as an array. Raises OutOfRange naming the first one that is not in the range, NaN included."""
    array = np.asarray(value, dtype=np.float64)
    low, high = allowed
    good = (array >= low) & (array <= high)
    if not good.all():
        first = float(array[~good].flat[0])
        raise OutOfRange(f"{name} {first:g} {unit}".rstrip(), f"{low:g} to {high:g} {unit}".rstrip(), "check the unit")
    return array
