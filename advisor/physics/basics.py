"""Numbers as they may be and as they come out: outside an equation's range refused, and rounded alike everywhere.

Linear algebra differs in its last bits among processors. Array and arrays alike.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from advisor.errors import OutOfRange

Array = NDArray[np.float64]
GAS_CONSTANT = 8.314462618  # [J/(mol K)], CODATA 2018
ZERO_CELSIUS = 273.15  # [K]

DIGITS = 9  # far finer than any model here, far coarser than the last bits


@dataclass(frozen=True)
class Estimate:
    """A figure and its standard uncertainty, in the same unit."""

    value: float
    uncertainty: float


def inside(
    name: str, value: float | Array, allowed: tuple[float, float], unit: str, do: str = "check the unit"
) -> Array:
    """The value as an array. Raises OutOfRange naming the first one that is not in the range, NaN included."""
    array = np.asarray(value, dtype=np.float64)
    low, high = allowed
    good = (array >= low) & (array <= high)
    if not good.all():
        first = float(array[~good].flat[0])
        raise OutOfRange(f"{name} {first:g} {unit}".rstrip(), f"{low:g} to {high:g} {unit}".rstrip(), do)
    return array


def all_inside(*rows: tuple[str, float | Array, tuple[float, float], str], do: str = "check the unit") -> list[Array]:
    """Several rows of name, value, range and unit, each as `inside` has it. Raises OutOfRange for the first."""
    return [inside(*row, do=do) for row in rows]


def record(times: Array, *columns: Array) -> list[Array]:
    """A record's times and columns as arrays. Raises OutOfRange where lengths differ or times do not rise."""
    read = [np.asarray(column, dtype=np.float64) for column in (times, *columns)]
    if any(column.ndim != 1 or column.shape != read[0].shape for column in read):
        sizes = ", ".join(str(column.size) for column in read)
        raise OutOfRange(f"a record of unequal lengths ({sizes})", "one value to each time", "correct it")
    if not (np.isfinite(read[0]).all() and (np.diff(read[0]) > 0.0).all()):
        raise OutOfRange("times that do not rise", "rising times", "put the record in order")
    return read


def settled(values: float | Array) -> Array:
    """Values to nine significant figures; what is no number, infinite or 0 stays so."""
    array = np.asarray(values, dtype=np.float64)
    known = np.isfinite(array) & (array != 0.0)
    size = np.where(known, np.floor(np.log10(np.abs(np.where(known, array, 1.0)))), 0.0)
    scale = 10.0 ** (DIGITS - 1 - size)
    return np.where(known, np.round(array * scale) / scale, array)


def settled_number(value: float) -> float:
    """One number to nine significant figures, ten times as fast as an array of one."""
    return float(f"{value:.{DIGITS}g}")
