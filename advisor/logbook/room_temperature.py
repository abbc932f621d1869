"""The room's temperature over time, from marked readings: what the cure clock runs on."""

from collections.abc import Iterable
from datetime import datetime, timedelta

import numpy as np

from advisor.advice.cure_record import MissingWord, TemperatureRecord
from advisor.logbook.air_log import AirLog
from advisor.logbook.conditions import milliseconds, moment_of
from advisor.physics.cure import Floats
from advisor.readings.reading import FUTURE, GOOD, STUCK, Reading

QUANTITY = "air_temperature"


def room_temperature(
    readings: Iterable[Reading], place: str, longest: float
) -> tuple[TemperatureRecord, tuple[MissingWord, ...]]:
    """The record of a place, and its readings that do not count, or only under reserve.

    A value that has not moved for long counts as read, for a heated room may stand still, and is told besides.
    Of several sensors the coldest counts, each where it speaks: between two of its readings not further apart than
    `longest` [s].
    """
    by_sensor: dict[str, dict[float, float]] = {}
    missing = []
    for reading in readings:
        if reading.series.place != place or reading.series.quantity != QUANTITY:
            continue
        stands = reading.reason == STUCK
        if (reading.level == GOOD or stands) and reading.value is not None:
            by_sensor.setdefault(reading.series.sensor, {})[reading.at / 1000.0] = reading.value
        if stands or not (reading.level == GOOD or reading.reason == FUTURE):
            missing.append(MissingWord(moment_of(reading.at), reading.reason or reading.level))
    curves = [_curve(words) for words in by_sensor.values()]
    if not curves:
        return TemperatureRecord((), ()), tuple(missing)
    seconds, celsius = curves[0]
    if len(curves) > 1:
        seconds = np.unique(np.concatenate([times for times, _ in curves]))
        celsius = np.min([_where_it_speaks(seconds, curve, longest) for curve in curves], axis=0)
    return TemperatureRecord(seconds.tolist(), celsius.tolist()), tuple(missing)


def _curve(words: dict[float, float]) -> tuple[Floats, Floats]:
    times = sorted(words)
    return np.array(times), np.array([words[time] for time in times])


def _where_it_speaks(seconds: Floats, curve: tuple[Floats, Floats], longest: float) -> Floats:
    """A sensor's values at these times, plus infinity where it does not speak."""
    times, values = curve
    after = np.minimum(np.searchsorted(times, seconds), len(times) - 1)
    before = np.where(times[after] > seconds, np.maximum(after - 1, 0), after)
    speaks = (seconds >= times[0]) & (seconds <= times[-1]) & (times[after] - times[before] <= longest)
    return np.where(speaks, np.interp(seconds, times, values), np.inf)


def logged_temperature(
    air_log: AirLog, place: str, start: datetime, end: datetime, longest: float
) -> tuple[TemperatureRecord, tuple[MissingWord, ...]]:
    """The record of a place from the logbook, from start to end and `longest` [s] before, as `room_temperature`."""
    series = [one for one in air_log.all_series() if one.place == place and one.quantity == QUANTITY]
    first = milliseconds(start - timedelta(seconds=longest))
    return room_temperature(air_log.between(first, milliseconds(end), series), place, longest)
