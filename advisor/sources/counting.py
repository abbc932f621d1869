"""Which of several sensors counts: each rule with its reason, and what it makes of their readings over time."""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import replace
from enum import Enum

import numpy as np

from advisor.advice.air_track import AirTrack
from advisor.advice.trace import AIR, DEW, HUMIDITY, NOTHING, Trace, together
from advisor.catalog.quantities import size_of
from advisor.physics.moist_air import RELATIVE_HUMIDITY_RANGE
from advisor.readings.reading import FUTURE, GOOD, PINNED, STUCK, Reading, Series
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
