"""Figures rounded so that every processor gives the same: linear algebra differs in its last bits among them."""

import numpy as np

from advisor.physics.liquids import Array

DIGITS = 9  # far finer than any model here, far coarser than the last bits


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
