"""Which of several sensors counts: each rule with its reason, and what it makes of their readings over time.

The past air of a place, from the traces of its sensors: what the outlook learns from.
"""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import replace
from enum import Enum

import numpy as np
from numpy.typing import NDArray

from advisor.catalog.quantities import size_of
from advisor.physics.air.moist_air import AIR_TEMPERATURE_RANGE, RELATIVE_HUMIDITY_RANGE, dew_point
from advisor.physics.basics import Array
from advisor.readings.reading import FUTURE, GOOD, PINNED, STUCK, Reading, Series
from advisor.series.air_track import AirTrack, track_from
from advisor.series.trace import AIR, DEW, HOUR, HUMIDITY, NOTHING, Mask, Trace, together
from advisor.shop.shop import Shop


class Counts(Enum):
    """Which of several sensors counts, and why."""

    WORSE = "sensors that disagree by more than they are sure: nobody knows which is right, so both are kept"
    MEAN = "sensors that agree, or spoke at one moment: their own errors are less in the mean"
    COLDEST = "the cure of a piece: it may stand at the coldest spot, and a coat is not called cured too soon"
    FULLEST = "a door that was opened, or weeks of a room: two sensors in one curve would look like a change of the air"
    EVERY = "a coat read back: each reading bears witness, and what was doubted of one sensor is out before"
    LARGEST = "dust: nibs are made by large grains, so of a counter's sizes the largest that spoke more than once"


# what a reading may be marked with and still count: a heated room may stand still, and its humidity not
STEADY = (STUCK, PINNED)  # marks of what may be still air or fog
OF_THE_CURE: Mapping[str, Collection[str]] = {AIR: (STUCK,)}
OF_THE_AIR: Mapping[str, Collection[str]] = {AIR: (STUCK,), HUMIDITY: ()}
OF_THE_OUTLOOK: Mapping[str, Collection[str]] = dict.fromkeys((AIR, HUMIDITY, DEW), STEADY)


def traces(
    readings: Iterable[Reading], places: Collection[str] | None, wanted: Mapping[str, Collection[str]], shop: Shop
) -> dict[Series, Trace]:
    """A trace of each series at some places (None: all), in the order they were read first.

    wanted: the quantities, each with the marks under which its readings count too; those are kept as faults besides.
    What is ahead of the clock tells nothing.
    """
    by_series: dict[Series, list[Reading]] = {}
    for reading in readings:
        series = reading.series
        if series.quantity in wanted and (places is None or series.place in places):
            by_series.setdefault(series, []).append(reading)
    found = {}
    for series, words in by_series.items():
        words.sort(key=lambda word: word.at)
        also = wanted[series.quantity]
        read = [word for word in words if word.value is not None and (word.level == GOOD or word.reason in also)]
        faults = tuple(
            (word.at / 1000.0, word.reason or word.level, word.value)
            for word in words
            if word.level != GOOD and word.reason != FUTURE
        )
        times, values = np.array([word.at for word in read]) / 1000.0, np.array([word.value for word in read], float)
        found[series] = Trace(times, values, shop.accuracy(series.sensor, series.quantity), faults, series.sensor)
    return found


def joined(several: Sequence[Trace], rule: Counts, longest: float = 0.0) -> Trace:
    """Several sensors' traces of one quantity in one, by a rule for what is read over time.

    COLDEST: each speaks between two of its readings not further apart than `longest` [s]. MEAN: of the same moment.
    """
    every = together(several)
    told = [trace for trace in several if len(trace.times)]
    if rule is Counts.EVERY or not told:
        return every
    times, place = np.unique(every.times, return_inverse=True)
    if rule is Counts.MEAN:
        values = np.bincount(place, weights=every.values) / np.bincount(place)
        return replace(every, times=times, values=values)
    if len(told) == 1:
        return replace(told[0], faults=every.faults)
    lines = [trace.between(times, longest) for trace in told]
    return replace(every, times=times, values=np.nanmin(lines, axis=0))


def chosen(found: Mapping[Series, Trace], rule: Counts) -> Series | None:
    """The one series that counts alone, FULLEST or LARGEST; None where none was read."""
    told = [series for series in found if len(found[series].times)]
    if rule is Counts.LARGEST:
        spoke_twice = {one: len(found[one].times) > 1 for one in told}
        return max(told, key=lambda one: (spoke_twice[one], size_of(one.quantity), one.sensor), default=None)
    return max(told, key=lambda one: len(found[one].times), default=None)


def paired(found: Mapping[Series, Trace], places: Sequence[str], longest: float, shop: Shop) -> AirTrack:
    """Temperature and humidity of the same moments, those of humidity, at the first of these places that was read.

    The fullest sensor counts of those that tell both; where none does, all together. The temperature lies straight
    between two readings not further apart than `longest` [s].
    """
    place = next((name for name in places if any(one.place == name and len(found[one].times) for one in found)), "")
    here = {(one.sensor, one.quantity): trace for one, trace in found.items() if one.place == place}
    sensors = sorted({sensor for sensor, _ in here})
    pairs = {
        Series(one, place, HUMIDITY): _pair(here.get((one, AIR), NOTHING), here.get((one, HUMIDITY), NOTHING), longest)
        for one in sensors
    }
    fullest = chosen({one: damp for one, (_, damp) in pairs.items()}, Counts.FULLEST)
    if fullest is not None:
        air, damp = pairs[fullest]
        return AirTrack(place, {AIR: air, HUMIDITY: damp})
    air, damp = (
        replace(
            joined([here[key] for key in sorted(here) if key[1] == name], Counts.MEAN),
            uncertainty=shop.accuracy(None, name),
        )
        for name in (AIR, HUMIDITY)
    )
    air, damp = _pair(air, damp, longest)
    return AirTrack(place, {AIR: air, HUMIDITY: damp})


def _pair(air: Trace, damp: Trace, longest: float) -> tuple[Trace, Trace]:
    celsius = air.between(damp.times, longest)
    told = np.isfinite(celsius)
    capped, times = np.clip(damp.values[told], *RELATIVE_HUMIDITY_RANGE), damp.times[told]
    return replace(air, times=times, values=celsius[told]), replace(damp, times=times, values=capped)


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


def _same_for(times: Array, same: Mask) -> Array:
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


def _as_of(asked: Array, times: Array, flags: Mask) -> NDArray[np.bool_]:
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
