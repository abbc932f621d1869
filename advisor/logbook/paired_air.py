"""Temperature and humidity of the same moments at a place, out of marked readings."""

from collections.abc import Iterable, Sequence

import numpy as np

from advisor.advice.air_record import AirRecord
from advisor.advice.conditions import AIR_QUANTITIES, humidity_capped
from advisor.physics.liquids import Array
from advisor.readings.reading import GOOD, STUCK, Reading
from advisor.shop.shop import Shop

_TEMPERATURE, _HUMIDITY = AIR_QUANTITIES
_Words = dict[tuple[str, str], dict[float, float]]  # by sensor and quantity: moment to value


def paired_air(readings: Iterable[Reading], places: Sequence[str], longest: float, shop: Shop) -> AirRecord:
    """The record of the first of these places that was read; its moments are those of humidity.

    Of several sensors that tell both, the one that told more counts; where none does, all count together. The
    temperature lies straight between two readings not further apart than `longest` [s]. A temperature that has not
    moved for long counts as read, for a heated room may stand still; no other reading with a mark does.
    """
    words: dict[str, _Words] = {}
    for reading in readings:
        series = reading.series
        fit = reading.level == GOOD or (reading.reason == STUCK and series.quantity == _TEMPERATURE)
        if series.place in places and series.quantity in AIR_QUANTITIES and fit and reading.value is not None:
            of_place = words.setdefault(series.place, {})
            of_place.setdefault((series.sensor, series.quantity), {})[reading.at / 1000.0] = reading.value
    for place in places:
        if place in words:
            return _record(words[place], longest, shop)
    return _record({}, longest, shop)


def _record(words: _Words, longest: float, shop: Shop) -> AirRecord:
    pairs = {
        sensor: _paired(words.get((sensor, _TEMPERATURE), {}), words.get((sensor, _HUMIDITY), {}), longest)
        for sensor in sorted({sensor for sensor, _ in words})
    }
    best = max(pairs, key=lambda sensor: pairs[sensor][0].size, default=None)
    if best is None or pairs[best][0].size == 0:
        best = None
        together = [
            {at: value for (_, name), one in sorted(words.items()) if name == quantity for at, value in one.items()}
            for quantity in AIR_QUANTITIES
        ]
        found = _paired(together[0], together[1], longest)
    else:
        found = pairs[best]
    return AirRecord(*found, shop.accuracy(best, _TEMPERATURE), shop.accuracy(best, _HUMIDITY))


def _paired(warm: dict[float, float], damp: dict[float, float], longest: float) -> tuple[Array, Array, Array]:
    times, moments = np.array(sorted(warm)), np.array(sorted(damp))
    if times.size == 0 or moments.size == 0:
        return np.empty(0), np.empty(0), np.empty(0)
    after = np.minimum(np.searchsorted(times, moments), times.size - 1)
    before = np.where(times[after] > moments, np.maximum(after - 1, 0), after)
    told = (moments >= times[0]) & (moments <= times[-1]) & (times[after] - times[before] <= longest)
    moments = moments[told]
    celsius = np.interp(moments, times, [warm[at] for at in times.tolist()])
    return moments, celsius, np.array([humidity_capped(damp[at]) for at in moments.tolist()])
