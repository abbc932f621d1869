"""The past air of a place, from marked readings: what the outlook learns from."""

from collections.abc import Iterable, Mapping

import numpy as np
from numpy.typing import NDArray

from advisor.advice.hours import HOUR, Floats, Log
from advisor.physics.moist_air import AIR_TEMPERATURE_RANGE, RELATIVE_HUMIDITY_RANGE, dew_point
from advisor.readings.reading import GOOD, PINNED, STUCK, Reading, Series

AIR, HUMIDITY, DEW = "air_temperature", "relative_humidity", "dew_point"
STEADY = (STUCK, PINNED)  # marks of what may be still air or fog: they count for the first day
_UNBELIEVED = 24 * HOUR  # [s] of both frozen, or of humidity at its end stop, are the sensor
_END_STOP = 0.99  # [fraction], as quality control's `pinned_from`
_BESIDE = 900.0  # [s] an air temperature may be away from the humidity it goes with

Curve = tuple[Floats, Floats]  # times [s since 1970, UTC], rising; values in SI


def counted_curves(readings: Iterable[Reading]) -> dict[Series, Curve]:
    """The curves of the air's series, from readings in the order of time: good ones, and steady ones."""
    points: dict[Series, dict[float, float]] = {}
    for reading in readings:
        if reading.series.quantity in (AIR, HUMIDITY, DEW) and reading.value is not None and counts(reading):
            points.setdefault(reading.series, {}).setdefault(reading.at / 1000.0, reading.value)
    curves = {}
    for series, by_time in points.items():
        times = np.array(sorted(by_time))
        curves[series] = times, np.array([by_time[time] for time in times.tolist()])
    return curves


def counts(reading: Reading) -> bool:
    """Whether a reading may teach anything: good, or marked only for being steady."""
    return reading.level == GOOD or reading.reason in STEADY


def places_of_air(curves: Mapping[Series, Curve]) -> tuple[str, ...]:
    """Places whose air temperature and moisture are both known."""
    warm, damp = ({one.place for one in curves if one.quantity in kinds} for kinds in ((AIR,), (HUMIDITY, DEW)))
    return tuple(sorted(warm & damp))


def past_air(curves: Mapping[Series, Curve], place: str) -> Log:
    """The log of a place: the words of all its sensors, those of one moment averaged.

    Moisture is the sensor's dew point where it gives one, else that of its humidity with the air temperature beside it
    (its own, else any at the place; no more than 15 min away). What was frozen for over a day, temperature and moisture
    both, or stood at the humidity's end stop for so long, does not count.
    """
    here = {(one.sensor, one.quantity): curve for one, curve in curves.items() if one.place == place}
    warm: list[Curve] = []
    damp: list[Curve] = []
    for sensor in sorted({name for name, _ in here}):
        air = here.get((sensor, AIR))
        beside = air or _together([curve for (_, quantity), curve in here.items() if quantity == AIR])
        moist = here.get((sensor, DEW)) or here.get((sensor, HUMIDITY))
        frozen = _frozen_together(air, moist) if air and moist else None
        if air is not None:
            warm.append(air if frozen is None else _but(air, frozen[0]))
        if moist is not None:
            believed = moist if frozen is None else _but(moist, frozen[1])
            if (sensor, DEW) not in here:
                believed = _dew_curve(
                    _but(moist, _at_end_stop(moist) | (False if frozen is None else frozen[1])), beside
                )
            damp.append(believed)
    air_times, air_values = _together(warm)
    dew_times, dew_values = _together(damp)
    times = np.union1d(air_times, dew_times)
    columns = []
    for own, values in ((air_times, air_values), (dew_times, dew_values)):
        column = np.full(len(times), np.nan)
        column[np.searchsorted(times, own)] = values
        columns.append(column)
    return Log(times, columns[0], np.minimum(columns[1], np.where(np.isnan(columns[0]), np.inf, columns[0])))


def _together(curves: list[Curve]) -> Curve:
    """Curves in one, the words of one moment averaged."""
    if not curves:
        return np.empty(0), np.empty(0)
    times, place = np.unique(np.concatenate([times for times, _ in curves]), return_inverse=True)
    values = np.concatenate([values for _, values in curves])
    return times, np.bincount(place, weights=values, minlength=len(times)) / np.maximum(np.bincount(place), 1)


def _but(curve: Curve, left_out: NDArray[np.bool_]) -> Curve:
    return curve[0][~left_out], curve[1][~left_out]


def _same_for(times: Floats, same: NDArray[np.bool_]) -> Floats:
    """Seconds since each value last differed from the one before it; `same` says where it did not."""
    begins = np.maximum.accumulate(np.where(same, 0, np.arange(len(times))))
    return np.asarray(times - times[begins])


def _frozen_together(air: Curve, moist: Curve) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """Where both of a sensor have not moved for over a day, at the times of each."""
    frozen = [_same_for(times, np.diff(values, prepend=np.nan) == 0.0) > _UNBELIEVED for times, values in (air, moist)]
    return frozen[0] & _as_of(air[0], moist[0], frozen[1]), frozen[1] & _as_of(moist[0], air[0], frozen[0])


def _as_of(asked: Floats, times: Floats, flags: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """The latest flag at or before each time asked for, with a minute's grace; none is False."""
    latest = np.searchsorted(times, asked + 60.0, side="right") - 1
    return (latest >= 0) & flags[np.maximum(latest, 0)]


def _at_end_stop(humidity: Curve) -> NDArray[np.bool_]:
    times, values = humidity
    high = values >= _END_STOP
    return high & (_same_for(times, high & np.concatenate([[False], high[:-1]])) > _UNBELIEVED)


def _dew_curve(humidity: Curve, air: Curve) -> Curve:
    """Dew point [°C] of a humidity curve, where an air temperature stands near enough beside it."""
    times, values = humidity
    if not len(times) or not len(air[0]):
        return np.empty(0), np.empty(0)
    after = np.clip(np.searchsorted(air[0], times), 0, len(air[0]) - 1)
    before = np.maximum(after - 1, 0)
    near = np.minimum(np.abs(air[0][after] - times), np.abs(air[0][before] - times)) <= _BESIDE
    celsius = np.clip(np.interp(times, *air), *AIR_TEMPERATURE_RANGE)
    dew = np.asarray(dew_point(celsius, np.clip(values, *RELATIVE_HUMIDITY_RANGE)))
    return times[near], dew[near]
