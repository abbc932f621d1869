"""A log walked through hour by hour: what would have been forecast at each, how far off it was, and the band then.

The forecast is the usual course of the day (`diurnal`) plus a ridge regression on what departs from it (`ridge`), from
air temperature and dew point alone; nothing is learned from an hour later than the one forecast from.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from advisor.advice.band import calibrated
from advisor.advice.diurnal import day_before_ahead, usual, usual_ahead
from advisor.advice.hours import BRIDGED, HOUR, Floats, earlier, last_known, later, trailing_mean
from advisor.advice.ridge import RidgeLaw, learned
from advisor.advice.trace import Trace

AIR, DEW, SPREAD = 0, 1, 2  # columns of a quantity
DAY = 24  # [rows]; it learns anew once a day
# The prior weighs as much as twelve days of hours; what is a season old counts half. Chosen on three airports at once,
# where half or twice as much moved the mean error by less than 1 %.
LAW = RidgeLaw(penalty=300.0, half_life=90.0 * DAY)
MEMORY_HOURS = 24.0  # prior: what departs from the usual course fades to 1/e in a day
_KELVIN = 5.0  # what departs from the usual course is measured in this, so that features are about 1


@dataclass(frozen=True, eq=False)
class Foresight:
    """What would have been forecast at every hour of a log; the last axis is air temperature, dew point [°C].

    forecasts, errors: (hours, leads, 2), by the hour of issue; errors are observed minus forecast, NaN where not (yet)
    known. low, high: (hours, leads, 3), what to add to a forecast of air temperature, dew point and spread (air minus
    dew point) [K] for the edges of its 80 % band, as it stood at issue.
    """

    hours: Trace
    forecasts: Floats
    errors: Floats
    low: Floats
    high: Floats


def foresee(hours: Trace, leads: int) -> Foresight:
    """Walks through a log of air temperature and dew point [°C], and forecasts 1 to `leads` hours ahead at each row."""
    rows = len(hours.times)
    edges = sorted({0, *range((rows - 1) % DAY, rows, DAY)})
    ahead = usual_ahead(hours.values, leads)
    observed = np.stack([later(hours.values, lead) for lead in range(1, leads + 1)])
    design = _design(hours, ahead)
    departed = np.where(_first_day(rows, leads), np.nan, observed - ahead)
    # to a ten-thousandth of a kelvin, so that no processor's last bits reach a window
    forecasts = ahead + np.round(learned(design, departed, _prior(leads, design.shape[2]), edges, LAW), 4)
    forecasts[..., DEW] = np.minimum(forecasts[..., DEW], forecasts[..., AIR])
    errors = np.where(_first_day(rows, leads), np.nan, observed - forecasts)
    moves = hours.values - np.stack([earlier(hours.values, lead) for lead in range(1, leads + 1)])
    came = np.stack([earlier(errors[lead], lead + 1) for lead in range(leads)])
    band = calibrated(with_spread(came).swapaxes(0, 1), with_spread(moves).swapaxes(0, 1), edges)
    return Foresight(hours, forecasts.swapaxes(0, 1), errors.swapaxes(0, 1), band.low, band.high)


def _first_day(rows: int, leads: int) -> NDArray[np.bool_]:
    """Targets in the log's first day (leads, rows, 1), of which no usual course was known."""
    targets = np.arange(rows) + np.arange(1, leads + 1)[:, np.newaxis]
    return (targets < DAY)[..., np.newaxis]


def with_spread(values: Floats) -> Floats:
    """Air temperature and dew point on the last axis, joined by the spread, air minus dew point."""
    return np.concatenate([values, values[..., :1] - values[..., 1:]], axis=-1)


def _design(hours: Trace, ahead: Floats) -> Floats:
    """Features (leads, rows, features), about 1 in size; what is unknown is 0, which says "as usual"."""
    present = last_known(hours.values, BRIDGED)
    level = trailing_mean(hours.values, 7 * DAY)
    departs = (present - usual(hours.values)) / _KELVIN
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
    design[:, :, width:] = (day_before_ahead(hours.values, len(ahead)) - ahead) / _KELVIN
    return np.nan_to_num(design, copy=False)


def _prior(leads: int, features: int) -> Floats:
    """Before anything is learned: what departs from the usual course stays, and fades with time."""
    prior = np.zeros((leads, features, 2))
    fading = np.exp(-np.arange(1, leads + 1) / MEMORY_HOURS)
    for quantity in (AIR, DEW):
        prior[:, quantity, quantity] = _KELVIN * fading
    return prior
