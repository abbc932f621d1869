"""The next 24 h of air temperature and dew point, from a site's own log alone, with how far off that may be.

No forecast is bought in: a shop knows its own air and nothing else. What is said is the usual course of the day, plus
what a regression learned from this log about how air that departs from it returns. It is a likelihood, never a GO.
"""

from dataclasses import dataclass
from math import inf

import numpy as np

from advisor.errors import OutOfRange
from advisor.outlook.hindcast import AIR, DEW, SPREAD, Hindcast, hindcast, with_spread
from advisor.physics.basics import Array
from advisor.series.air_track import AirTrack
from advisor.series.trace import AIR as AIR_TEMPERATURE
from advisor.series.trace import DEW as DEW_POINT
from advisor.series.trace import HOUR, Trace, hourly, later

QUARTER = 900.0  # [s]
POINTS = 96  # quarter hours of a day
DAY = 24  # [h]
LEAST_DAYS = 2.0  # of known hours, before anything is said
LEAST_WEEK = 12  # known hours in the last week: an old log with a long gap does not know today's air
LONGEST = 48  # [h] ahead that may be scored
STALE = 3 * HOUR  # [s] a last reading may be old
MEMORY_DAYS = 100  # of log that are looked at; the band looks at 45 days, and a year would take over a second
PATH_DAYS = 45  # of past errors that serve as paths
SAME_TIME = 3  # [h] by which a path's time of day may differ from now
ENOUGH_PATHS = 20  # with fewer paths of this time of day, those of any hour serve; with fewer of these, none


@dataclass(frozen=True, eq=False)
class Edges:
    """Low or high edge of the 80 % band at each time: air temperature, dew point [°C]; spread, air minus dew [K]."""

    air_temperature: Array
    dew_point: Array
    spread: Array


@dataclass(frozen=True, eq=False)
class Outlook:
    """The air to come at each quarter hour for 24 h: what is likeliest, and the band that held in the past.

    times [s since 1970, UTC], on the quarter hours from now on; air_temperature, dew_point [°C], the dew point never
    above the air. low, high: edges within which the air lay 4 times out of 5 when this was said before, at each time by
    itself. days_known [days]: known hours of the last 100 days, over 24; the band is wide while they are few.
    error_paths [K] (members, times, 2): what came minus what was said, for air temperature and dew point, whole days
    as they were about this time of day. Added to the forecast (the dew point then held at the air), each is one course
    the air may take; the share of them that fits a window is its chance. They are not brought to the band, so a chance
    near 1 is somewhat too sure (0.96 came true in 0.88 of the cases of the test years). None while there are fewer than
    20, in the third day of a log. path_starts [s since 1970, UTC] (members,): when each was forecast, so that the
    errors of two places at the same moments can be taken together.
    """

    times: Array
    air_temperature: Array
    dew_point: Array
    low: Edges
    high: Edges
    days_known: float
    error_paths: Array | None
    path_starts: Array | None

    @property
    def spread(self) -> Array:
        """Air temperature minus dew point [K], 0 or more."""
        return self.air_temperature - self.dew_point


@dataclass(frozen=True)
class LeadSkill:
    """How far off forecasts a number of hours ahead were, over a whole log.

    hours; cases: forecasts scored. Mean absolute errors [K] of air temperature and of the spread (air minus dew point),
    and those of persistence ("it stays as it is now"), over the same cases. Coverages [fraction]: how often the 80 %
    band held.
    """

    hours: int
    cases: int
    air_temperature_error: float
    air_temperature_persistence: float
    spread_error: float
    spread_persistence: float
    air_temperature_coverage: float
    dew_point_coverage: float
    spread_coverage: float


def outlook(log: AirTrack, now_seconds: float) -> Outlook:
    """The next 24 h from a log, as of a moment [s since 1970, UTC]; later readings are not looked at.

    Raises OutOfRange when fewer than two days of hours are known, fewer than 12 hours of the last week, or when the
    last reading is over 3 h old.
    """
    if not np.isfinite(now_seconds):
        raise OutOfRange("a moment that is no number", "seconds since 1970", "check the clock")
    hours = _hours(log.during(-inf, now_seconds), MEMORY_DAYS)
    known = hours.known
    days = float(np.sum(known)) / DAY
    age = now_seconds - float(hours.times[-1])
    if not days >= LEAST_DAYS:
        raise OutOfRange(f"a log of {days:.1f} days of hours", f"{LEAST_DAYS:g} days or more", "let it collect")
    if not age <= STALE:
        raise OutOfRange(f"a last reading {age / HOUR:.1f} h ago", f"{STALE / HOUR:g} h at most", "see to the sensor")
    if not np.sum(known[-7 * DAY :]) >= LEAST_WEEK:
        raise OutOfRange("a log with next to nothing of the last week", f"{LEAST_WEEK} hours of it", "let it collect")
    times = (np.ceil(now_seconds / QUARTER) + np.arange(POINTS)) * QUARTER
    ahead = (times - hours.times[-1]) / HOUR
    past = hindcast(hours, int(np.ceil(ahead[-1])))
    air, dew = (_forecast(past, ahead, quantity) for quantity in (AIR, DEW))
    dew = np.minimum(dew, air)
    low, high = (
        [_between(ahead, edge[-1, :, quantity]) for quantity in (AIR, DEW, SPREAD)] for edge in (past.low, past.high)
    )
    spread = air - dew
    return Outlook(
        times,
        air,
        dew,
        Edges(air + low[AIR], dew + low[DEW], np.maximum(spread + low[SPREAD], 0.0)),
        Edges(air + high[AIR], dew + high[DEW], spread + high[SPREAD]),
        days,
        *_paths(past, ahead),
    )


def hindcast_skill(log: AirTrack, leads_hours: tuple[int, ...] = (1, 3, 6, 12, 24)) -> tuple[LeadSkill, ...]:
    """How the outlook would have done over a log: a backtest, from every hour with a reading from the third day on.

    leads_hours: 1 to 48 each. Nothing that came later than an hour is used for its forecast or its band. Raises
    OutOfRange when the log holds no such case at one of the leads.
    """
    if not leads_hours or not 1 <= min(leads_hours) <= max(leads_hours) <= LONGEST:
        raise OutOfRange("hours ahead", f"1 to {LONGEST} each", "correct them")
    past = hindcast(_hours(log), max(leads_hours))
    return tuple(_skill(past, lead) for lead in leads_hours)


def _skill(past: Hindcast, lead: int) -> LeadSkill:
    values, errors = past.hours.values, past.errors[:, lead - 1]
    moved = later(values, lead) - values
    scored = np.isfinite(errors).all(axis=1) & np.isfinite(moved).all(axis=1)
    scored &= np.arange(len(values)) >= LEAST_DAYS * DAY
    if not scored.any():
        raise OutOfRange(f"a log without a forecast {lead} h ahead", "more than two days and that", "let it collect")
    errors, moved = (with_spread(each[scored]) for each in (errors, moved))
    low, high = past.low[scored, lead - 1], past.high[scored, lead - 1]
    coverage = np.mean((low <= errors) & (errors <= high), axis=0)
    mean, persistence = np.mean(np.abs(errors), axis=0), np.mean(np.abs(moved), axis=0)
    return LeadSkill(
        lead,
        int(np.sum(scored)),
        *(float(each) for each in (mean[AIR], persistence[AIR], mean[SPREAD], persistence[SPREAD], *coverage)),
    )


def _hours(log: AirTrack, days: float = inf) -> Trace:
    """Even hours of the log's last days."""
    rows = log.table(AIR_TEMPERATURE, DEW_POINT)
    if len(rows.times):
        rows = rows.during(float(rows.times[-1]) - days * DAY * HOUR, inf)
    return hourly(rows.times, *rows.values.T)


def _forecast(past: Hindcast, ahead: Array, quantity: int) -> Array:
    """One quantity [°C] at hours ahead of the last row, on straight lines from its reading through each hour."""
    path = past.forecasts[-1, :, quantity]
    now = past.hours.values[-1, quantity]
    start = now if np.isfinite(now) else path[0]
    return np.asarray(np.interp(ahead, np.arange(len(path) + 1), [start, *path]))


def _between(ahead: Array, by_lead: Array) -> Array:
    """Errors (..., leads) at 1 h, 2 h ... brought to other hours ahead; within the first they grow as its root."""
    place = np.clip(ahead - 1.0, 0.0, by_lead.shape[-1] - 1)
    under = np.floor(place).astype(np.int64)
    over = np.minimum(under + 1, by_lead.shape[-1] - 1)
    between = by_lead[..., under] + (place - under) * (by_lead[..., over] - by_lead[..., under])
    # a reading itself is not exact: no surer than a quarter of an hour ahead
    return np.asarray(between * np.sqrt(np.clip(ahead, QUARTER / HOUR, 1.0)))


def _paths(past: Hindcast, ahead: Array) -> tuple[Array, Array] | tuple[None, None]:
    """Whole days of past errors (members, times, 2), of about this time of day or any while few; and their starts."""
    errors = past.errors[-(PATH_DAYS + 1) * DAY :]
    whole = np.asarray(np.isfinite(errors).all(axis=(1, 2)))
    back = np.arange(len(errors))[::-1] % DAY
    same = whole & (np.minimum(back, DAY - back) <= SAME_TIME)
    kept = same if np.sum(same) >= ENOUGH_PATHS else whole
    if np.sum(kept) < ENOUGH_PATHS:
        return None, None
    starts = past.hours.times[-len(errors) :][kept]
    return np.moveaxis(_between(ahead, errors[kept].swapaxes(1, 2)), 1, 2), starts
