"""The past air of a place, from the traces of its sensors: what the outlook learns from."""

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from advisor.advice.air_track import AirTrack, track_from
from advisor.advice.hours import HOUR
from advisor.advice.trace import AIR, DEW, HUMIDITY, NOTHING, Mask, Trace
from advisor.physics.cure import Floats
from advisor.physics.moist_air import AIR_TEMPERATURE_RANGE, RELATIVE_HUMIDITY_RANGE, dew_point
from advisor.readings.reading import PINNED, STUCK, Series
from advisor.sources.counting import Counts, joined

_UNBELIEVED = 24 * HOUR  # [s] of both frozen, or of humidity at its end stop, are the sensor
_END_STOP = 0.99  # [fraction], as quality control's `pinned_from`
_BESIDE = 900.0  # [s] an air temperature may be away from the humidity it goes with


def places_of_air(found: Mapping[Series, Trace]) -> tuple[str, ...]:
    """Places whose air temperature and moisture are both known."""
    told = [one for one in found if len(found[one].times)]
    warm, damp = ({one.place for one in told if one.quantity in kinds} for kinds in ((AIR,), (HUMIDITY, DEW)))
    return tuple(sorted(warm & damp))


def past_air(found: Mapping[Series, Trace], place: str) -> AirTrack:
    """Air temperature and dew point of a place: the words of all its sensors, those of one moment averaged.

    Moisture is the sensor's dew point where it gives one, else that of its humidity with the air temperature beside it
    (its own, else any at the place; no more than 15 min away). What was frozen for over a day, temperature and moisture
    both, or stood at the humidity's end stop for so long, does not count.
    """
    here = {
        (one.sensor, one.quantity): trace for one, trace in found.items() if one.place == place and len(trace.times)
    }
    any_air = joined([trace for (_, quantity), trace in here.items() if quantity == AIR], Counts.MEAN)
    warm, damp = [], []
    for sensor in sorted({name for name, _ in here}):
        air, dew, humidity = (here.get((sensor, quantity), NOTHING) for quantity in (AIR, DEW, HUMIDITY))
        moist = dew if len(dew.times) else humidity
        frozen = _frozen_together(air, moist)
        warm.append(air.without(frozen[0], STUCK))
        if moist is dew:
            damp.append(dew.without(frozen[1], STUCK))
        else:
            believed = humidity.without(frozen[1] | _at_end_stop(humidity), PINNED)
            damp.append(_dew_of(believed, air if len(air.times) else any_air))
    both = {AIR: joined(warm, Counts.MEAN), DEW: joined(damp, Counts.MEAN)}
    rows = AirTrack(place, both).table(AIR, DEW)
    celsius, points = rows.values.T
    return track_from(rows.times, {AIR: celsius, DEW: np.where(celsius < points, celsius, points)}, place)


def _same_for(times: Floats, same: Mask) -> Floats:
    """Seconds since each value last differed from the one before it; `same` says where it did not."""
    begins = np.maximum.accumulate(np.where(same, 0, np.arange(len(times))))
    return np.asarray(times - times[begins])


def _frozen_together(air: Trace, moist: Trace) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """Where both of a sensor have not moved for over a day, at the times of each."""
    frozen = [
        _same_for(trace.times, np.diff(trace.values, prepend=np.nan) == 0.0) > _UNBELIEVED for trace in (air, moist)
    ]
    return (
        frozen[0] & _as_of(air.times, moist.times, frozen[1]), frozen[1] & _as_of(moist.times, air.times, frozen[0])
    )  # fmt: skip


def _as_of(asked: Floats, times: Floats, flags: Mask) -> NDArray[np.bool_]:
    """The latest flag at or before each time asked for, with a minute's grace; none is False."""
    if not len(times):
        return np.zeros(len(asked), dtype=np.bool_)
    latest = np.searchsorted(times, asked + 60.0, side="right") - 1
    return (latest >= 0) & flags[np.maximum(latest, 0)]


def _at_end_stop(humidity: Trace) -> NDArray[np.bool_]:
    high = humidity.values >= _END_STOP
    return high & (_same_for(humidity.times, high & np.concatenate([[False], high[:-1]])) > _UNBELIEVED)


def _dew_of(humidity: Trace, air: Trace) -> Trace:
    """Dew point [°C] that goes with a humidity, where an air temperature stands near enough beside it."""
    celsius = np.clip(air.near(humidity.times, _BESIDE), *AIR_TEMPERATURE_RANGE)
    beside = np.isfinite(celsius)
    damp = np.clip(humidity.values[beside], *RELATIVE_HUMIDITY_RANGE)
    return Trace(humidity.times[beside], np.asarray(dew_point(celsius[beside], damp)))
