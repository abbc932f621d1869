"""Linear stores that exchange with each other: exact in time, for many cases at once.

C dx/dt = source - K x with a symmetric K. Solved by its eigenvectors, so that a step of any length is exact and a
store's course is known at any moment. Heat in a room and water in its air both are of this kind.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from advisor.physics.basics import Array

_SLOWEST = 1e-18  # [1/s], stands for no loss at all: nothing is divided by 0, and 1e-11 is lost in four months
Linked = tuple[int, int, Array]  # two stores and what they exchange (C,), per unit of difference
Outer = tuple[int, Array]  # a store and a figure (C,) of it


@dataclass(frozen=True)
class Stretch:
    """A stretch of time: its span [s] (C,); what stores lose to the outside (per unit of x) and what flows in."""

    span: Array
    losses: tuple[Outer, ...]
    sources: tuple[Outer, ...]


def advanced(roots: Array, modes: tuple[Array, Array], state: Array, source: Array, seconds: Array) -> Array:
    """The stores (C, T, n) at seconds (C, T) after a state (C, n), under a steady source (C, n).

    roots (C, n): of their capacities; modes: rates [1/s] (C, n) and eigenvectors (C, n, n) of the scaled exchange.
    """
    rates, vectors = np.maximum(modes[0], _SLOWEST)[:, None, :], modes[1]
    start = np.einsum("cnk,cn->ck", vectors, state * roots)[:, None, :]
    drive = np.einsum("cnk,cn->ck", vectors, source / roots)[:, None, :]
    # start + (1 - exp(-rate t)) (drive / rate - start), in place: a search over many cases spends its time here
    amounts = np.expm1(-rates * seconds[:, :, None])
    amounts *= start - drive / rates
    amounts += start
    return np.asarray(amounts @ (vectors / roots[:, :, None]).transpose(0, 2, 1))


def stores_course(
    capacity: Array, links: Sequence[Linked], state: Array, stretches: Sequence[Stretch], seconds: Array
) -> Array:
    """The stores (C, T, n) at rising moments [s] (T,) through stretches one after the other, from a state (C, n)."""
    cases, stores = capacity.shape
    inner = np.zeros((cases, stores, stores))
    for one, other, exchange in links:
        inner[:, one, one] += exchange
        inner[:, other, other] += exchange
        inner[:, one, other] -= exchange
        inner[:, other, one] -= exchange
    course = np.empty((cases, seconds.size, stores))
    begins, roots = np.zeros(cases), np.sqrt(capacity)
    for stretch in stretches:
        matrix, source = inner.copy(), np.zeros((cases, stores))
        for store, loss in stretch.losses:
            matrix[:, store, store] += loss
        for store, flow in stretch.sources:
            source[:, store] += flow
        modes = np.linalg.eigh(matrix / (roots[:, :, None] * roots[:, None, :]))
        ends = begins + stretch.span
        here = slice(*np.searchsorted(seconds, [begins.min(), ends.max() + 1e-6]))
        since = seconds[None, here] - begins[:, None]
        moved = advanced(roots, modes, state, source, np.clip(since, 0.0, stretch.span[:, None]))
        np.copyto(course[:, here], moved, where=(since >= 0.0)[:, :, None])
        state = advanced(roots, modes, state, source, stretch.span[:, None])[:, 0]
        begins = ends
    return course
