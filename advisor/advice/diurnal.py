"""The day's usual course: the mean of the same hour over the last three weeks."""

import numpy as np

from advisor.advice.hours import BRIDGED, Floats, bridged, earlier, trailing_mean

# Three weeks did better than one at all three airports of the test year: a longer mean is a steadier usual from which
# the present air is told to be warm or cold; four weeks did no better.
SHAPE_DAYS = 21
DAY = 24  # rows
LEVEL_ROWS = 7 * DAY


def usual(values: Floats) -> Floats:
    """What each hour would be by the days before it: mean of the same hour, 1 to 21 days earlier; NaN without any."""
    return _same_hour_mean(values, 1)


def usual_ahead(values: Floats, leads: int) -> Floats:
    """What is usual at 1 to `leads` hours after each row, from what is known at that row: (leads, rows, quantities).

    Where no day before has that hour, the mean of the last seven days; NaN without any reading in these.
    """
    rows = len(values)
    with_future = np.concatenate([values, np.full((leads, *values.shape[1:]), np.nan)])
    level = trailing_mean(values, LEVEL_ROWS)
    ahead = np.empty((leads, *values.shape))
    for days in range(1, _days_back(leads) + 1):
        shape = _same_hour_mean(with_future, days)
        for lead in range(DAY * (days - 1) + 1, min(DAY * days, leads) + 1):
            ahead[lead - 1] = shape[lead : lead + rows]
    return np.where(np.isnan(ahead), level, ahead)


def day_before_ahead(values: Floats, leads: int) -> Floats:
    """The newest known value of the same hour of day as 1 to `leads` hours after each row; NaN where missing."""
    rows = len(values)
    with_future = np.concatenate([values, np.full((leads, *values.shape[1:]), np.nan)])
    by_days = [earlier(with_future, DAY * days) for days in range(1, _days_back(leads) + 1)]
    return np.stack([by_days[_days_back(lead) - 1][lead : lead + rows] for lead in range(1, leads + 1)])


def _days_back(lead: int) -> int:
    """Whole days from a target back to an hour that is known at issue."""
    return -(-lead // DAY)


def _same_hour_mean(values: Floats, first_day: int) -> Floats:
    """Mean of the same hour `first_day` to 21 days earlier.

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
