"""The outlook of a place from the logbook, or from marked readings; None where its log is too short or broken off."""

from collections.abc import Iterable
from datetime import datetime, timedelta

import numpy as np

from advisor.advice.outlook import Outlook, outlook
from advisor.errors import OutOfRange
from advisor.logbook.air_log import AirLog
from advisor.logbook.conditions import milliseconds
from advisor.logbook.past_air import AIR, DEW, HUMIDITY, STEADY, Curve, counted_curves, past_air
from advisor.readings.reading import Reading, Series

MEMORY = timedelta(days=101)  # what the learner looks at, and a day
_THINNED = 600_000  # [ms]


def outlook_from_log(air_log: AirLog, now: datetime, place: str) -> Outlook | None:
    """From the last hundred days of the logbook, as of the last full hour: so a daemon and a command say the same."""
    now = now.replace(minute=0, second=0, microsecond=0)
    curves: dict[Series, Curve] = {}
    start, end = milliseconds(now - MEMORY), milliseconds(now)
    for series in air_log.all_series():
        if series.place == place and series.quantity in (AIR, DEW, HUMIDITY):
            times, values = air_log.thinned(start, end, series, _THINNED, STEADY)
            if times:
                curves[series] = np.array(times) / 1000.0, np.array(values)
    return _outlook(curves, now, place)


def outlook_from_readings(readings: Iterable[Reading], now: datetime, place: str) -> Outlook | None:
    """From a file's readings, marked and up to now."""
    start = milliseconds(now - MEMORY)
    return _outlook(
        counted_curves(one for one in readings if one.at >= start and one.series.place == place), now, place
    )


def _outlook(curves: dict[Series, Curve], now: datetime, place: str) -> Outlook | None:
    try:
        return outlook(past_air(curves, place), now.timestamp())
    except OutOfRange:
        return None
