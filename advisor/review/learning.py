"""What the shop's own coats say of a limit: how often they failed under it and over it. Shown, never applied by itself.

Shares by the Beta posterior of a coin whose bias nobody knew (uniform prior, Bayes and Laplace): with n coats of which
k failed, Beta(k + 1, n - k + 1).
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import lgamma

import numpy as np

from advisor.catalog.mechanisms import ABOVE, AIR, Mechanism
from advisor.review.causes import Cause

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
class Point:
    """One coat for one mechanism: what was measured, the limit it was held against, and whether it failed so."""

    measured: float
    limit: float
    failed: bool


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
    points: dict[tuple[str, str], list[Point]] = {}
    kinds: dict[tuple[str, str], Cause] = {}
    for causes, defect in coats:
        for cause in causes:
            if cause.mechanism.kind != AIR or cause.measured is None or cause.limit is None:
                continue
            key = (cause.mechanism.id, cause.exposure)
            kinds[key] = cause
            failed = defect is not None and defect in cause.mechanism.defects
            points.setdefault(key, []).append(Point(cause.measured, cause.limit, failed))
    return [_learned(kinds[key], some) for key, some in points.items() if any(point.failed for point in some)]


def _learned(cause: Cause, points: list[Point]) -> Learned:
    above = _direction(cause) == ABOVE
    limit = float(np.median([point.limit for point in points]))
    within, over = _sides(points, limit, above)
    proposed = _own_limit(points, above)
    sides = None if proposed is None else _sides(points, proposed, above)
    return Learned(
        cause.mechanism, cause.exposure, cause.unit, limit, within, over, worse_over(within, over), proposed,
        None if sides is None else sides[0], None if sides is None else sides[1],
    )  # fmt: skip


def _direction(cause: Cause) -> str:
    return next(probe.direction for probe in cause.mechanism.probes if probe.exposure == cause.exposure)


def _sides(points: Sequence[Point], limit: float, above: bool) -> tuple[Share, Share]:
    over = [point.failed for point in points if (point.measured > limit if above else point.measured < limit)]
    within = [point.failed for point in points if not (point.measured > limit if above else point.measured < limit)]
    return share_of(len(within), sum(within)), share_of(len(over), sum(over))


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


def _own_limit(points: Sequence[Point], above: bool) -> float | None:
    """The limit at which the shop's own coats part best, where they carry one: enough coats, enough failed, surely."""
    failed = sum(point.failed for point in points)
    if len(points) < FEWEST or failed < FEWEST_FAILED:
        return None
    ordered = sorted({point.measured for point in points})
    best: tuple[float, float] | None = None
    for low, high in pairwise(ordered):
        limit = 0.5 * (low + high)
        within, over = _sides(points, limit, above)
        if min(within.coats, over.coats) < _LEAST_EACH_SIDE:
            continue
        evidence = _evidence(within) + _evidence(over)
        if worse_over(within, over) >= SURELY and (best is None or evidence > best[0]):
            best = (evidence, limit)
    return None if best is None else best[1]


def _evidence(share: Share) -> float:
    """Logarithm of how probable the coats of one side are under any bias: the Beta function."""
    return lgamma(share.failed + 1) + lgamma(share.coats - share.failed + 1) - lgamma(share.coats + 2)
