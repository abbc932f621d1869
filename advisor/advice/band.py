"""An honest band: how far past forecasts were off, at a level that moves with its own hits.

Errors are measured against their usual size at that time of day, for air is surer at night than in the afternoon. The
level of each tail is steered as in adaptive conformal inference (Gibbs and Candès, Adaptive conformal inference under
distribution shift, NeurIPS 2021): a miss lowers it, so the band widens; a hit raises it a little.
"""

from itertools import pairwise
from typing import NamedTuple

import numpy as np

from advisor.advice.hours import Floats, trailing_mean

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


class Band(NamedTuple):
    """What to add to a forecast for its low and its high edge [K]: (rows, leads, quantities), by the row of issue."""

    low: Floats
    high: Floats


def calibrated(errors: Floats, moves: Floats, edges: list[int]) -> Band:
    """The band as it stood at each row, from errors known by then.

    errors [K] (rows, leads, quantities): observed minus forecast, at the row at which it was OBSERVED; NaN where
    unknown. moves [K], alike: how far the quantity had moved since `lead` rows before. edges: rows at which the band
    is computed anew, rising from 0. NaN where nothing has moved yet.
    """
    rows, leads, _ = errors.shape
    low, high = np.full_like(errors, np.nan), np.full_like(errors, np.nan)
    moved = np.maximum.accumulate(np.nan_to_num(trailing_mean(np.abs(moves), WINDOW)[edges]), axis=1)
    level = np.full((2, *errors.shape[1:]), TAIL)
    each_lead = np.arange(leads)
    before = -1
    for number, (edge, end) in enumerate(pairwise([*edges, rows])):
        issued = np.arange(before + 1, edge + 1)[:, np.newaxis] - (each_lead + 1)
        found = errors[before + 1 : edge + 1]
        under, over = low[issued, each_lead], high[issued, each_lead]
        counts = (issued >= 0)[..., np.newaxis] & np.isfinite(found) & np.isfinite(under)
        misses = np.stack([counts & (found < under), counts & (found > over)])
        level = np.clip(level + STEP * np.sum(np.where(counts, TAIL, 0.0) - misses, axis=1), *LEVELS)
        by_hour = _of_days(errors[: edge + 1])
        below, above = _by_time_of_day(by_hour, level)
        days = np.sum(np.isfinite(by_hour), axis=(0, 1)) / DAY
        trust, doubt = days / (days + MOVES_WEIGH), _HALF_BAND * moved[number] * MOVES_WEIGH / (days + MOVES_WEIGH)
        hour = (np.arange(edge, end)[:, np.newaxis] + each_lead - edge) % DAY  # of the target, counted as in `by_hour`
        low[edge:end] = (trust * below - doubt)[hour, each_lead]
        high[edge:end] = (trust * above + doubt)[hour, each_lead]
        before = edge
    return Band(low, high)


def _of_days(errors: Floats) -> Floats:
    """The last 45 days of errors as (days, hours, leads, quantities), the newest hour last."""
    days = min(-(-len(errors) // DAY), WINDOW // DAY)
    recent = errors[-days * DAY :]
    padded = np.full((days * DAY, *errors.shape[1:]), np.nan)
    padded[len(padded) - len(recent) :] = recent
    return padded.reshape(days, DAY, *errors.shape[1:])


def _by_time_of_day(errors: Floats, level: Floats) -> tuple[Floats, Floats]:
    """Low and high edge (hours, leads, quantities) of errors (days, hours, leads, quantities); never past 0."""
    known = np.isfinite(errors)
    total = _near(np.sum(np.where(known, np.abs(errors), 0.0), axis=0))
    number = _near(np.sum(known, axis=0).astype(np.float64))
    all_hours = total.sum(axis=0) / np.maximum(number.sum(axis=0), 1.0)
    size = np.maximum((total + _ALL_HOURS_WEIGH * all_hours) / (number + _ALL_HOURS_WEIGH), _LEAST)
    ratios = (errors / size).reshape(-1, *errors.shape[2:])
    ordered = np.sort(ratios, axis=0)  # NaN goes to the end
    count = np.sum(known, axis=(0, 1))
    low = np.minimum(_at(ordered, level[0] * (count + 1) - 1.0, count), 0.0)
    high = np.maximum(_at(ordered, (1.0 - level[1]) * (count + 1) - 1.0, count), 0.0)
    return low * size, high * size


def _near(by_hour: Floats) -> Floats:
    """Sum over the hours to either side, round the clock."""
    turned: Floats = np.sum([np.roll(by_hour, hours, axis=0) for hours in range(-_ASIDE, _ASIDE + 1)], axis=0)
    return turned


def _at(ordered: Floats, place: Floats, count: Floats) -> Floats:
    """Ordered values at fractional places, held within the `count` that are known; 0 where none is."""
    last = np.maximum(count - 1, 0)
    held = np.clip(place, 0.0, last)
    under = np.floor(held).astype(np.int64)
    over = np.minimum(under + 1, last).astype(np.int64)
    first = np.take_along_axis(ordered, under[np.newaxis], axis=0)[0]
    second = np.take_along_axis(ordered, over[np.newaxis], axis=0)[0]
    return np.nan_to_num(first + (held - under) * (second - first))
