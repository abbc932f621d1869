"""Hindcast: a log walked through hour by hour, what would have been forecast at each, how far off, and the band then.

The forecast is the climatology of the day (mean of the same hour over the last three weeks) plus a ridge regression on
what departs from it, from air temperature and dew point alone: one for each lead, that learns on the way; nothing is
learned from an hour later than the one forecast from.
"""

from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from advisor.outlook.conformal import conformal_interval
from advisor.physics.basics import Array
from advisor.series.trace import BRIDGED, HOUR, Trace, bridged, earlier, last_known, later, trailing_mean


def recursive_ridge(
    design: Array, targets: Array, prior: Array, edges: list[int], penalty: float, half_life: float
) -> Array:
    """Forecasts of every row, each by coefficients learned from targets known at the edge at or before it.

    design (leads, rows, features): what is known at each row. targets (leads, rows, quantities): what came `lead` rows
    after each row; NaN is left out. prior (leads, features, quantities): coefficients before anything is learned; the
    ridge shrinks towards them. edges: rows at which it is fitted anew, rising from 0. penalty: how many hours of data
    the prior weighs as much as (features being about 1); half_life [rows]: after so many what was learned counts half.
    Returns (leads, rows, quantities). At an edge e only rows r with r + lead <= e are learned from.
    """
    leads, rows, features = design.shape
    gram = np.zeros((leads, features, features))
    moments = np.zeros_like(prior)
    ridge = penalty * np.eye(features)
    forecasts = np.empty(targets.shape)
    each_lead = np.arange(leads)[:, np.newaxis]
    before = -1
    for edge, end in pairwise([*edges, rows]):
        issued = np.arange(before + 1, edge + 1) - (each_lead + 1)
        row = np.maximum(issued, 0)
        seen, came = design[each_lead, row], targets[each_lead, row]
        counts = (issued >= 0) & np.isfinite(came).all(axis=2)
        seen = np.where(counts[..., np.newaxis], seen, 0.0)
        came = np.where(counts[..., np.newaxis], came, 0.0) - seen @ prior
        kept = 0.5 ** ((edge - before) / half_life)
        gram = kept * gram + seen.swapaxes(1, 2) @ seen
        moments = kept * moments + seen.swapaxes(1, 2) @ came
        coefficients = prior + np.linalg.solve(gram + ridge, moments)
        forecasts[:, edge:end] = design[:, edge:end] @ coefficients
        before = edge
    return forecasts


# Three weeks did better than one at all three airports of the test year: a longer mean is a steadier usual from which
# the present air is told to be warm or cold; four weeks did no better.
SHAPE_DAYS = 21
DAY = 24  # rows
LEVEL_ROWS = 7 * DAY


def climatology(values: Array, first_day: int = 1) -> Array:
    """What each hour would be by the days before it: mean of the same hour, `first_day` to 21 days earlier; else NaN.

    Hours missing at random would make neighbouring hours means of different days, and the course jagged. So a gap of
    up to three hours is bridged here, but not on the newest day, where its end may not have come yet.
    """
    whole = bridged(values, BRIDGED)
    total, number = np.zeros_like(values), np.zeros(values.shape)
    for days in range(first_day, SHAPE_DAYS + 1):
        if DAY * days >= len(values):
            break
        there = (values if days == first_day else whole)[: len(values) - DAY * days]
        known = np.isfinite(there)
        total[DAY * days :] += np.where(known, there, 0.0)
        number[DAY * days :] += known
    return np.where(number > 0, total / np.maximum(number, 1), np.nan)


def climatology_ahead(values: Array, leads: int) -> Array:
    """What is usual at 1 to `leads` hours after each row, from what is known at that row: (leads, rows, quantities).

    Where no day before has that hour, the mean of the last seven days; NaN without any reading in these.
    """
    ahead = _ahead(values, leads, climatology)
    return np.where(np.isnan(ahead), trailing_mean(values, LEVEL_ROWS), ahead)


def day_persistence_ahead(values: Array, leads: int) -> Array:
    """The newest known value of the same hour of day as 1 to `leads` hours after each row; NaN where missing."""
    return _ahead(values, leads, lambda with_future, days: earlier(with_future, DAY * days))


def _ahead(values: Array, leads: int, by_day: Callable[[Array, int], Array]) -> Array:
    """What a function of the same hour so many whole days back says of 1 to `leads` hours after each row."""
    with_future = np.concatenate([values, np.full((leads, *values.shape[1:]), np.nan)])
    by_days = [by_day(with_future, days) for days in range(1, (leads - 1) // DAY + 2)]
    return np.stack([by_days[(lead - 1) // DAY][lead : lead + len(values)] for lead in range(1, leads + 1)])


AIR, DEW, SPREAD = 0, 1, 2  # columns of a quantity
# The prior weighs as much as twelve days of hours; what is a season old counts half. Chosen on three airports at once,
# where half or twice as much moved the mean error by less than 1 %.
PENALTY, HALF_LIFE = 300.0, 90.0 * DAY
MEMORY_HOURS = 24.0  # prior: what departs from the usual course fades to 1/e in a day
_KELVIN = 5.0  # what departs from the usual course is measured in this, so that features are about 1


@dataclass(frozen=True, eq=False)
class Hindcast:
    """What would have been forecast at every hour of a log; the last axis is air temperature, dew point [°C].

    forecasts, errors: (hours, leads, 2), by the hour of issue; errors are observed minus forecast, NaN where not (yet)
    known. low, high: (hours, leads, 3), what to add to a forecast of air temperature, dew point and spread (air minus
    dew point) [K] for the edges of its 80 % band, as it stood at issue.
    """

    hours: Trace
    forecasts: Array
    errors: Array
    low: Array
    high: Array


def hindcast(hours: Trace, leads: int) -> Hindcast:
    """Walks through a log of air temperature and dew point [°C], and forecasts 1 to `leads` hours ahead at each row."""
    rows = len(hours.times)
    edges = sorted({0, *range((rows - 1) % DAY, rows, DAY)})
    ahead = climatology_ahead(hours.values, leads)
    observed = np.stack([later(hours.values, lead) for lead in range(1, leads + 1)])
    design = _design(hours, ahead)
    departed = np.where(_first_day(rows, leads), np.nan, observed - ahead)
    # to a ten-thousandth of a kelvin, so that no processor's last bits reach a window
    prior = _prior(leads, design.shape[2])
    forecasts = ahead + np.round(recursive_ridge(design, departed, prior, edges, PENALTY, HALF_LIFE), 4)
    forecasts[..., DEW] = np.minimum(forecasts[..., DEW], forecasts[..., AIR])
    errors = np.where(_first_day(rows, leads), np.nan, observed - forecasts)
    moves = hours.values - np.stack([earlier(hours.values, lead) for lead in range(1, leads + 1)])
    came = np.stack([earlier(errors[lead], lead + 1) for lead in range(leads)])
    low, high = conformal_interval(with_spread(came).swapaxes(0, 1), with_spread(moves).swapaxes(0, 1), edges)
    return Hindcast(hours, forecasts.swapaxes(0, 1), errors.swapaxes(0, 1), low, high)


def _first_day(rows: int, leads: int) -> NDArray[np.bool_]:
    """Targets in the log's first day (leads, rows, 1), of which no usual course was known."""
    targets = np.arange(rows) + np.arange(1, leads + 1)[:, np.newaxis]
    return (targets < DAY)[..., np.newaxis]


def with_spread(values: Array) -> Array:
    """Air temperature and dew point on the last axis, joined by the spread, air minus dew point."""
    return np.concatenate([values, values[..., :1] - values[..., 1:]], axis=-1)


def _design(hours: Trace, ahead: Array) -> Array:
    """Features (leads, rows, features), about 1 in size; what is unknown is 0, which says "as usual"."""
    present = last_known(hours.values, BRIDGED)
    level = trailing_mean(hours.values, 7 * DAY)
    departs = (present - climatology(hours.values)) / _KELVIN
    spread = (present[:, AIR] - present[:, DEW]) / 6.0 - 1.0
    turn = 2.0 * np.pi * (hours.times / HOUR % DAY) / DAY
    once, twice = (np.stack([np.cos(times * turn), np.sin(times * turn)], axis=1) for times in (1, 2))
    state = np.column_stack([departs, spread])
    shared = [
        departs,  # first: the prior speaks of these two
        np.ones((len(turn), 1)),
        spread[:, np.newaxis],
        (departs - earlier(departs, 1)) * _KELVIN / 2.0,
        (departs - earlier(departs, 3)) * _KELVIN / 3.0,
        once,
        twice,
        # the same departure means another thing at dawn and in the afternoon
        *(state * wave[:, np.newaxis] for wave in (*once.T, *twice.T)),
        trailing_mean(departs, DAY),
        # the season: how warm and how moist the week was
        (level[:, :1] - 12.0) / 10.0,
        (level[:, :1] - level[:, 1:] - 6.0) / 5.0,
    ]
    width = sum(part.shape[1] for part in shared)
    design = np.empty((*ahead.shape[:2], width + 2))
    design[:, :, :width] = np.concatenate(shared, axis=1)
    design[:, :, width:] = (day_persistence_ahead(hours.values, len(ahead)) - ahead) / _KELVIN
    return np.nan_to_num(design, copy=False)


def _prior(leads: int, features: int) -> Array:
    """Before anything is learned: what departs from the usual course stays, and fades with time."""
    prior = np.zeros((leads, features, 2))
    fading = np.exp(-np.arange(1, leads + 1) / MEMORY_HOURS)
    for quantity in (AIR, DEW):
        prior[:, quantity, quantity] = _KELVIN * fading
    return prior
