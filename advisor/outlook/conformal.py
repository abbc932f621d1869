"""A conformal interval, the band of a forecast: how far past ones were off, at a level that moves with its own hits.

Errors are measured against their usual size at that time of day, for air is surer at night than in the afternoon. The
level of each tail is steered as in adaptive conformal inference (Gibbs and Candès, Adaptive conformal inference under
distribution shift, NeurIPS 2021): a miss lowers it, so the band widens; a hit raises it a little.
"""

from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from advisor.physics.basics import Array
from advisor.series.trace import trailing_mean

TAIL = 0.1  # share of cases meant to lie under the band, and over it: 80 % within
DAY = 24  # [rows]
WINDOW = 45 * DAY  # [rows] of past errors looked at
STEP = 0.0015  # by which a level moves an hour; a whole day of misses moves it by about a third of the tail
LEVELS = (0.01, 0.3)  # within which a level stays

_ASIDE = 3  # [rows] to either side that count as the same time of day
_ALL_HOURS_WEIGH = 4.0 * (2 * _ASIDE + 1)  # errors of one time of day that the mean of all hours weighs as much as
_LEAST = 0.01  # [K] an error is never taken to be usually smaller, so that no error is divided by nothing
# A band of few days leans on how far the air itself has moved, as if seen for so many days of errors.
MOVES_WEIGH = 2.0  # [days]
_HALF_BAND = 1.6  # half an 80 % band over the mean size of an error: ln 5 for a Laplace distribution, 1.61
# sums over the hours to either side, round the clock
_APART = np.abs(np.subtract.outer(np.arange(DAY), np.arange(DAY)))
_NEAR = (np.minimum(_APART, DAY - _APART) <= _ASIDE).astype(np.float64)


def conformal_interval(errors: Array, moves: Array, edges: list[int]) -> tuple[Array, Array]:
    """The band as it stood at each row, from errors known by then: what to add to a forecast for either edge [K].

    errors [K] (rows, leads, quantities): observed minus forecast, at the row at which it was OBSERVED; NaN where
    unknown. moves [K], alike: how far the quantity had moved since `lead` rows before. edges: rows at which the band
    is computed anew, rising from 0. Returns low and high (rows, leads, quantities), by the row of issue; NaN in the
    first day.
    """
    rows, leads, _ = errors.shape
    low, high = np.full_like(errors, np.nan), np.full_like(errors, np.nan)
    padded = np.concatenate([np.full((WINDOW, *errors.shape[1:]), np.nan), errors])
    moved = np.fmax.accumulate(trailing_mean(np.abs(moves), WINDOW)[edges], axis=1)
    level = np.full((2, *errors.shape[1:]), TAIL)
    each_lead = np.arange(leads)
    before = -1
    for number, (edge, end) in enumerate(pairwise([*edges, rows])):
        if edge < DAY:
            continue
        issued = np.arange(before + 1, edge + 1)[:, np.newaxis] - (each_lead + 1)
        found = errors[before + 1 : edge + 1]
        row = np.maximum(issued, 0)
        under, over = low[row, each_lead], high[row, each_lead]
        counts = (issued >= 0)[..., np.newaxis] & np.isfinite(found) & np.isfinite(under)
        misses = np.stack([counts & (found < under), counts & (found > over)])
        level = np.clip(level + STEP * np.sum(np.where(counts, TAIL, 0.0) - misses, axis=1), *LEVELS)
        below, above, days = _by_time_of_day(_last_days(padded, edge), level)
        trust = days / (days + MOVES_WEIGH)
        doubt = _HALF_BAND * moved[number] * (1.0 - trust)
        hour = (np.arange(edge, end)[:, np.newaxis] + each_lead - edge) % DAY  # of the target, counted from the edge
        low[edge:end] = (trust * below - doubt)[hour, each_lead]
        high[edge:end] = (trust * above + doubt)[hour, each_lead]
        before = edge
    return low, high


def _last_days(padded: Array, edge: int) -> Array:
    """The last 45 days of errors up to an edge as (days, hours, leads, quantities), the edge in the last hour."""
    days = min(edge // DAY + 1, WINDOW // DAY)
    end = WINDOW + edge + 1
    return padded[end - days * DAY : end].reshape(days, DAY, *padded.shape[1:])


def _by_time_of_day(errors: Array, level: Array) -> tuple[Array, Array, Array]:
    """Low and high edge (hours, leads, quantities), never past 0, and days of errors known (leads, quantities).

    errors (days, hours, leads, quantities); level (2, leads, quantities).
    """
    hours_to_quantities = errors.shape[1:]
    known = np.isfinite(errors)
    total = _NEAR @ np.sum(np.abs(errors), axis=0, where=known).reshape(DAY, -1)
    number = _NEAR @ np.sum(known, axis=0).reshape(DAY, -1)
    all_hours = total.sum(axis=0) / np.maximum(number.sum(axis=0), 1.0)
    size = np.maximum((total + _ALL_HOURS_WEIGH * all_hours) / (number + _ALL_HOURS_WEIGH), _LEAST)
    ratios = (errors.reshape(len(errors), DAY, -1) / size).reshape(len(errors) * DAY, -1)
    ordered = np.sort(np.ascontiguousarray(ratios.T))  # NaN goes to the end
    count = np.sum(known, axis=(0, 1)).ravel()
    below, above = level.reshape(2, -1)
    low = np.minimum(_at(ordered, below * (count + 1) - 1.0, count), 0.0) * size
    high = np.maximum(_at(ordered, (1.0 - above) * (count + 1) - 1.0, count), 0.0) * size
    return low.reshape(hours_to_quantities), high.reshape(hours_to_quantities), count.reshape(level.shape[1:]) / DAY


def _at(ordered: Array, place: Array, count: NDArray[np.int64]) -> Array:
    """Ordered values of each row at a fractional place, held within the `count` that are known; 0 where none is."""
    last = np.maximum(count - 1, 0)
    held = np.clip(place, 0.0, last)
    under = np.floor(held).astype(np.int64)
    rows = np.arange(len(ordered))
    first, second = ordered[rows, under], ordered[rows, np.minimum(under + 1, last)]
    return np.where(count > 0, first + (held - under) * (second - first), 0.0)
