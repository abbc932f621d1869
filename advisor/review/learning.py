"""What the shop's own coats say of a limit: how often they failed under it and over it. Shown, never applied by itself.

Shares by the Beta posterior of a coin whose bias nobody knew (uniform prior, Bayes and Laplace): with n coats of which
k failed, Beta(k + 1, n - k + 1).
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import lgamma

import numpy as np

from advisor.catalog.mechanisms import ABOVE, AIR, Mechanism
from advisor.physics.basics import Array
from advisor.review.causes import Cause
from advisor.series.trace import Mask

FEWEST, FEWEST_FAILED = 20, 5  # coats, and failed ones, before a limit of the shop's own is spoken of
SURELY = 0.95  # chance that the share over a limit is the higher one
_LEAST_EACH_SIDE = 5
_GRID = np.linspace(0.0, 1.0, 2001)


@dataclass(frozen=True)
class Share:
    """Coats on one side of a limit: how many, how many failed, and the share with its 90 % interval [fraction]."""

    coats: int
    failed: int
    mean: float
    low: float
    high: float


@dataclass(frozen=True)
class Learned:
    """A mechanism over the shop's coats of one coating: shares within and over its limit [SI unit].

    worse: chance that coats over it fail more often. proposed: the shop's own limit, where its coats carry one; then
    the shares are told for it as well.
    """

    mechanism: Mechanism
    exposure: str
    unit: str
    limit: float
    within: Share
    over: Share
    worse: float
    proposed: float | None
    proposed_within: Share | None
    proposed_over: Share | None


def learn(coats: Iterable[tuple[Sequence[Cause], str | None]]) -> list[Learned]:
    """What a shop's coats of one coating say of each mechanism of the air: each coat with its judged causes and defect.

    A coat counts for a mechanism where its exposure was measured; it failed so where its defect is one the mechanism
    makes. Mechanisms with no failed coat on either side are left out.
    """
    known: dict[tuple[str, str], list[tuple[Cause, bool]]] = {}
    for causes, defect in coats:
        for cause in causes:
            if cause.mechanism.kind == AIR and cause.measured is not None and cause.limit is not None:
                key = (cause.mechanism.id, cause.exposure)
                known.setdefault(key, []).append((cause, defect in cause.mechanism.defects))
    return [_learned(some) for some in known.values() if any(failed for _, failed in some)]


def _learned(coats: Sequence[tuple[Cause, bool]]) -> Learned:
    """Of coats that were measured by one mechanism's exposure, and whether each failed so."""
    mechanism, exposure, unit = coats[-1][0].mechanism, coats[-1][0].exposure, coats[-1][0].unit
    direction = next(probe.direction for probe in mechanism.probes if probe.exposure == exposure)
    past = np.greater if direction == ABOVE else np.less
    measured, failed = np.array([cause.measured for cause, _ in coats]), np.array([failed for _, failed in coats])
    limit = float(np.median([cause.limit for cause, _ in coats if cause.limit is not None]))
    within, over = _sides(past(measured, limit), failed)
    own = _own_limit(measured, failed, past)
    return Learned(mechanism, exposure, unit, limit, within, over, worse_over(within, over), *own)


def _sides(over: Mask, failed: Mask) -> tuple[Share, Share]:
    """The coats within a limit and those over it."""
    within, beyond = (share_of(int(np.sum(side)), int(np.sum(failed[side]))) for side in (~over, over))
    return within, beyond


def share_of(coats: int, failed: int) -> Share:
    """The share that fails, of so many coats of which so many failed."""
    weights = _posterior(coats, failed)
    cumulated = np.cumsum(weights)
    low, high = (float(_GRID[int(np.searchsorted(cumulated, edge))]) for edge in (0.05, 0.95))
    return Share(coats, failed, (failed + 1) / (coats + 2), low, high)


def _posterior(coats: int, failed: int) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    """Weights on the grid, summing to 1."""
    with np.errstate(divide="ignore", invalid="ignore"):
        logs = np.where(failed > 0, failed * np.log(_GRID), 0.0) + np.where(
            coats > failed, (coats - failed) * np.log1p(-_GRID), 0.0
        )
    weights = np.exp(logs - np.nanmax(logs))
    return np.asarray(weights / weights.sum())


def worse_over(within: Share, over: Share) -> float:
    """Chance that the share over the limit is higher than that within it."""
    here, there = _posterior(within.coats, within.failed), _posterior(over.coats, over.failed)
    below = np.concatenate([[0.0], np.cumsum(here)[:-1]]) + 0.5 * here
    return float(np.sum(there * below))


def _own_limit(
    measured: Array, failed: Mask, past: Callable[[Array, float], Mask]
) -> tuple[float, Share, Share] | tuple[None, None, None]:
    """The limit at which the shop's own coats part best, where they carry one: enough coats, enough failed, surely."""
    if len(measured) < FEWEST or np.sum(failed) < FEWEST_FAILED:
        return None, None, None
    limits = [0.5 * (low + high) for low, high in pairwise(np.unique(measured).tolist())]
    tried = [(limit, *_sides(past(measured, limit), failed)) for limit in limits]
    sure = [
        (limit, within, over) for limit, within, over in tried
        if min(within.coats, over.coats) >= _LEAST_EACH_SIDE and worse_over(within, over) >= SURELY
    ]  # fmt: skip
    return max(sure, key=lambda one: _evidence(one[1]) + _evidence(one[2]), default=(None, None, None))


def _evidence(share: Share) -> float:
    """Logarithm of how probable the coats of one side are under any bias: the Beta function."""
    return lgamma(share.failed + 1) + lgamma(share.coats - share.failed + 1) - lgamma(share.coats + 2)
