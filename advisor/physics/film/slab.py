"""Heat conduction into what is sprayed on, in one dimension, exact in time.

The slab is cut into cells that grow away from the face; their equations are linear with constant figures, so they are
solved once by their eigenvectors, and a step of any length under a constant heat flow is then exact.
"""

from dataclasses import dataclass

import numpy as np

from advisor.errors import OutOfRange
from advisor.physics.basics import Array


@dataclass(frozen=True)
class Slab:
    """A slab: thickness [m], conductivity [W/(m K)], density [kg/m3], heat_capacity [J/(kg K)].

    back: heat transfer from its back face to the air [W/(m2 K)]; 0 where it lies on a bench.
    """

    thickness: float
    conductivity: float
    density: float
    heat_capacity: float
    back: float

    def __post_init__(self) -> None:
        """Refuse what cannot be a slab."""
        solid = (self.thickness, self.conductivity, self.density, self.heat_capacity)
        if not (all(np.isfinite(value) and value > 0 for value in solid) and 0 <= self.back < 1e6):
            raise OutOfRange(f"a slab of {solid}, back {self.back}", "numbers over 0", "check the substrate")


@dataclass(frozen=True)
class SlabModes:
    """The eigenvectors of U slabs with K modes each.

    rates [1/s] (U, K); drive (U, K): what a unit heat flow into the front face adds to each mode [K m2/J];
    back_drive (U, K): the same for the air's temperature at the back face [1/s]; front (U, K): each mode's share in
    the first cell's temperature; conductance (U,): from the film to the first cell's middle [W/(m2 K)].
    """

    rates: Array
    drive: Array
    back_drive: Array
    front: Array
    conductance: Array
    heat_content: Array  # (U, K): each mode's share in the heat stored [J/(m2 K)]


CELLS = 16
_FINEST = 80e-6  # [m], the first cell of a thick slab


def slab_modes(slabs: tuple[Slab, ...], cells: int = CELLS) -> SlabModes:
    """The modes of several slabs, each cut into the same number of cells."""
    parts = [_modes_of(slab, cells) for slab in slabs]
    return SlabModes(*(np.stack([part[n] for part in parts]) for n in range(6)))


def cell_widths(thickness: float, cells: int) -> Array:
    """Cell widths [m] in geometric growth from the front; equal ones where the slab is thin."""
    if thickness <= _FINEST * cells:
        return np.full(cells, thickness / cells)
    low, high = 1.0, 1e3
    for _ in range(60):
        growth = np.sqrt(low * high)
        total = _FINEST * (growth**cells - 1) / (growth - 1)
        low, high = (growth, high) if total < thickness else (low, growth)
    widths = _FINEST * low ** np.arange(cells)
    return np.asarray(widths * thickness / widths.sum())


def _modes_of(slab: Slab, cells: int) -> tuple[Array, ...]:
    widths = cell_widths(slab.thickness, cells)
    capacity = widths * slab.density * slab.heat_capacity
    between = slab.conductivity / (0.5 * (widths[:-1] + widths[1:]))
    back = 1.0 / (1.0 / slab.back + 0.5 * widths[-1] / slab.conductivity) if slab.back > 0 else 0.0
    matrix = np.zeros((cells, cells))
    for n, conductance in enumerate(between):
        matrix[n, n] += conductance
        matrix[n + 1, n + 1] += conductance
        matrix[n, n + 1] -= conductance
        matrix[n + 1, n] -= conductance
    matrix[-1, -1] += back
    root = np.sqrt(capacity)
    rates, vectors = np.linalg.eigh(matrix / np.outer(root, root))
    return (
        np.maximum(rates, 0.0),
        vectors[0] / root[0],
        vectors[-1] / root[-1] * back,
        vectors[0] / root[0],
        np.asarray(slab.conductivity / (0.5 * widths[0])),
        vectors.T @ root,
    )
