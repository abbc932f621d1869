"""An honest band: how far past forecasts were off, at a level that moves with its own hits.

Errors are measured against their usual size at that time of day, for air is surer at night than in the afternoon. The
level of each tail is steered as in adaptive conformal inference (Gibbs and Candès, Adaptive conformal inference under
distribution shift, NeurIPS 2021): a miss lowers it, so the band widens; a hit raises it a little.
"""

from itertools import pairwise
from typing import NamedTuple

import numpy as np

from advisor.advice.hours import Floats, earlier, trailing_mean

TAIL = 0.1  # share of cases meant to lie under the band, and over it: 80 % within
WINDOW = 45 * 24  # [rows] of past errors looked at
STEP = 0.0015  # by which a level moves an hour; a whole day of misses moves it by about a third of the tail
LEVELS = (0.01, 0.3)  # within which a level stays

DAY = 24  # [rows]
_ASIDE = 3  # [rows] to either side that count as the same time of day
_ALL_HOURS_WEIGH = 4.0  # days of the same hour that the mean of all hours weighs as much as
_LEAST = 0.01  # [K] an error is never taken to be usually smaller


class Band(NamedTuple):
    """What to add to a forecast for its low and its high edge [K]: (rows, leads, quantities), by the row of issue."""

    low: Floats
    high: Floats


def calibrated(errors: Floats, edges: list[int]) -> Band:
    """The band as it stood at each row, from errors known by then.

    errors [K] (rows, leads, quantities): observed minus forecast, at the row at which it was OBSERVED; NaN where
    unknown. edges: rows at which it is computed anew, rising from 0. NaN where no error is known yet.
    """
    rows, leads, quantities = errors.shape
    sizes = usual_sizes(errors)
    used = np.repeat(np.arange(len(edges)), np.diff([*edges, rows]))  # the edge whose band was in use at each row
    each_lead = np.arange(leads)
    issued = np.arange(rows)[:, np.newaxis] - (each_lead + 1)
    ratios = np.where((issued >= 0)[..., np.newaxis], errors / sizes[issued, each_lead], np.nan)
    low = np.full((len(edges), leads, quantities), np.nan)
    high = np.full_like(low, np.nan)
    level = np.full((2, leads, quantities), TAIL)
    before = -1
    for number, edge in enumerate(edges):
        new = slice(before + 1, edge + 1)
        then, found = used[issued[new]], ratios[new]
        under, over = low[then, each_lead], high[then, each_lead]
        counts = np.isfinite(found) & np.isfinite(under)
        misses = np.stack([counts & (found < under), counts & (found > over)])
        level = np.clip(level + STEP * np.sum(np.where(counts, TAIL, 0.0) - misses, axis=1), *LEVELS)
        low[number], high[number] = _edges(ratios[max(0, edge + 1 - WINDOW) : edge + 1], level)
        before = edge
    return Band(low[used] * sizes, high[used] * sizes)


def usual_sizes(errors: Floats) -> Floats:
    """Usual size [K] of the error that a forecast issued at each row will have: (rows, leads, quantities).

    errors as in `calibrated`. Mean size at that time of day, three hours to either side, over the last 45 days; on a
    few days it leans on the mean of all hours. NaN where no error is known yet.
    """
    rows, leads, _ = errors.shape
    size = np.abs(errors)
    all_hours = trailing_mean(size, WINDOW)
    near = trailing_mean(size, 2 * _ASIDE + 1)  # a row's hours to either side end three rows after it
    near = np.concatenate([near, np.full((leads + _ASIDE, *near.shape[1:]), np.nan)])
    sizes = np.empty_like(errors)
    first_days = -(-(np.arange(1, leads + 1) + _ASIDE) // DAY)
    for first in np.unique(first_days):
        group = np.flatnonzero(first_days == first)
        total, number = np.zeros((len(near), len(group), errors.shape[2])), 0.0
        for days in range(first, WINDOW // DAY + 1):
            if DAY * days >= len(near):
                break
            there = earlier(near[:, group], DAY * days)
            known = np.isfinite(there)
            total += np.where(known, there, 0.0)
            number = number + known
        for column, lead in enumerate(group):
            target = slice(lead + 1 + _ASIDE, lead + 1 + _ASIDE + rows)
            some = number[target, column] if isinstance(number, np.ndarray) else 0.0
            pooled = total[target, column] + _ALL_HOURS_WEIGH * all_hours[:, lead]
            sizes[:, lead] = pooled / (some + _ALL_HOURS_WEIGH)
    return np.maximum(sizes, _LEAST)


def _edges(ratios: Floats, level: Floats) -> tuple[Floats, Floats]:
    """Low and high quantile of ratios (rows, leads, quantities) at levels (2, leads, quantities), never past 0."""
    ordered = np.sort(ratios, axis=0)  # NaN goes to the end
    number = np.sum(np.isfinite(ratios), axis=0)
    widened = few_days_factor(number / DAY)
    low = _at(ordered, level[0] * (number + 1) - 1.0, number) * widened
    high = _at(ordered, (1.0 - level[1]) * (number + 1) - 1.0, number) * widened
    return np.minimum(low, 0.0), np.maximum(high, 0.0)


def _at(ordered: Floats, place: Floats, number: Floats) -> Floats:
    """Ordered values at fractional places, held within the `number` that are known; NaN where none is."""
    last = np.maximum(number - 1, 0)
    held = np.clip(place, 0.0, last)
    under = np.floor(held).astype(np.int64)
    over = np.minimum(under + 1, last).astype(np.int64)
    first = np.take_along_axis(ordered, under[np.newaxis], axis=0)[0]
    second = np.take_along_axis(ordered, over[np.newaxis], axis=0)[0]
    return first + (held - under) * (second - first)


def few_days_factor(days: Floats) -> Floats:
    """How much wider a band must be that rests on few days of errors; the errors of one day hang together.

    Student's t over the normal deviate, both at 90 %, with days - 1 degrees of freedom (1 at least): the expansion of
    Abramowitz and Stegun 26.7.5 to its second term (from memory; tested against scipy).
    """
    freedom = np.maximum(days - 1.0, 1.0)
    return 1.0 + 0.6607 / freedom + 0.4456 / freedom**2
