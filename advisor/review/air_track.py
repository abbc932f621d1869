"""The air over a coat as it was logged: good readings alone, with what was not read left as gaps."""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import datetime
from math import inf

import numpy as np

from advisor.judge.conditions import outdoor_names
from advisor.physics.air import moist_air
from advisor.readings.reading import GOOD, PINNED, STUCK, Reading, Series
from advisor.review.coat import SprayedCoat
from advisor.review.doubts import believed, frozen
from advisor.series.air_track import AirTrack
from advisor.series.trace import AIR, DEW, HUMIDITY, NOTHING, SURFACE, Trace
from advisor.shop.shop import Shop
from advisor.sources.air_source import AirSource
from advisor.sources.counting import Counts, joined
from advisor.times import milliseconds

_HELD = (STUCK, PINNED)  # marks that came late: what did not move before them is doubted too
_HOUR = 3_600_000  # [ms]
BEFORE, AFTER = 30 * _HOUR, 36 * _HOUR  # a day that stood still, the shop's clean hours; the night, and what came late
_BELOW = (4 * _HOUR, _HOUR)  # about the coat below: what its piece followed, and its spraying


def track_about(
    air: AirSource, place: str, coats: Iterable[SprayedCoat], now: datetime | None, before: int = BEFORE,
    after: int = AFTER,
) -> AirTrack:  # fmt: skip
    """The track of a place about some coats, from so long before each to so long after [ms], and of no more.

    A year of readings is not read for one coat. now: the present; None where it cuts nothing off.
    """
    readings = air.about(spans_of(coats, before, after), (place, *outdoor_names(air.shop)), now)
    return track_of(readings, place, air.shop, now)


def spans_of(coats: Iterable[SprayedCoat], before: int = BEFORE, after: int = AFTER) -> list[tuple[int, int]]:
    """Stretches [ms UTC] to be read, those that meet joined, in the order of time."""
    spans = []
    for coat in coats:
        at = milliseconds(coat.sprayed)
        spans.append((at - before, at + after))
        if coat.below is not None and coat.below.sprayed is not None:
            under = milliseconds(coat.below.sprayed)
            spans.append((under - _BELOW[0], under + _BELOW[1]))
    joined: list[tuple[int, int]] = []
    for start, end in sorted(spans):
        if joined and start <= joined[-1][1]:
            joined[-1] = (joined[-1][0], max(end, joined[-1][1]))
        else:
            joined.append((start, end))
    return joined


def track_of(readings: Iterable[Reading], place: str, shop: Shop, now: datetime | None = None) -> AirTrack:
    """The track of a place from marked readings, with the air outdoors where that was read. now: the present.

    A run that was marked later as unmoved is doubted from its start.
    """
    known = list(readings)
    outside = next((name for name in outdoor_names(shop) if any(r.series.place == name for r in known)), None)
    until = inf if now is None else now.timestamp()
    track = _of_place(known, place, shop, until)
    return track if outside is None else replace(track, outdoors=_of_place(known, outside, shop, until))


def _of_place(readings: Sequence[Reading], place: str, shop: Shop, until: float) -> AirTrack:
    by_series: dict[Series, list[Reading]] = {}
    for reading in readings:
        if reading.series.place == place:
            by_series.setdefault(reading.series, []).append(reading)
    sensors: dict[str, dict[str, Trace]] = {}
    for series, words in by_series.items():
        trace = _trace(sorted(words, key=lambda reading: reading.at), shop.accuracy(series.sensor, series.quantity))
        (sensors.setdefault(series.sensor, {})[series.quantity],) = frozen(trace)
    for own in sensors.values():
        if AIR in own and HUMIDITY in own:
            own[AIR], own[HUMIDITY] = frozen(own[AIR], own[HUMIDITY])
    merged = {
        quantity: joined([own[quantity] for own in sensors.values() if quantity in own], Counts.EVERY)
        for quantity in dict.fromkeys(quantity for own in sensors.values() for quantity in own)
    }
    dusty = [quantity for quantity in merged if quantity.startswith(("particles_", "pm"))]
    kind = max(sorted(dusty), key=lambda quantity: len(merged[quantity].times), default="")
    dust = merged.get(kind, NOTHING)
    known = {quantity: merged[quantity] for quantity in merged if quantity not in dusty}
    if AIR in known:
        air, damp = believed(known[AIR], known.get(HUMIDITY, NOTHING), known.get(SURFACE, NOTHING))
        known |= {AIR: air, **({HUMIDITY: damp} if HUMIDITY in known else {})}
    if HUMIDITY not in known and AIR in known and DEW in known:
        known[HUMIDITY] = _humidity_of(known[AIR], known[DEW])
    pressure = float(moist_air.pressure_at_altitude(shop.altitude))
    return AirTrack(place, known, dust, kind, until, pressure)


def _trace(words: Sequence[Reading], uncertainty: float) -> Trace:
    doubted: dict[int, str] = {}
    for index, word in enumerate(words):
        if word.reason in _HELD:
            back = index
            while back >= 0 and back not in doubted and _same(words[back], word):
                doubted[back] = word.reason
                back -= 1
    good = [
        word.level == GOOD and word.value is not None and index not in doubted for index, word in enumerate(words)
    ]  # fmt: skip
    kept = [word for word, counts in zip(words, good, strict=True) if counts]
    faults = tuple(
        (word.at / 1000.0, doubted.get(index) or word.reason or "missing", word.value)
        for index, word in enumerate(words)
        if not good[index]
    )
    times, values = np.array([word.at / 1000.0 for word in kept]), np.array([word.value for word in kept])
    return Trace(times, values, uncertainty, faults, words[0].series.sensor)


def _same(before: Reading, word: Reading) -> bool:
    """Whether a reading belongs to the run of one that was marked as unmoved, or as at the end stop."""
    if before.value is None or word.value is None:
        return False
    if word.reason == PINNED:
        return before.value >= min(word.value, 0.99)
    return before.value == word.value


def _humidity_of(air: Trace, dew: Trace) -> Trace:
    """The humidity that goes with a dew point, where both were read."""
    times, points, warm = dew.beside(air)
    if not len(times):
        return NOTHING
    humidity = moist_air.relative_humidity_from_dew_point(warm, np.minimum(points, warm))
    return Trace(times, np.asarray(humidity), 0.04, dew.faults)
