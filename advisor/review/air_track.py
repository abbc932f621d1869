"""The air over a coat as it was logged: good readings alone, with what was not read left as gaps."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from math import inf

import numpy as np

from advisor.advice.conditions import Conditions, Measured, outdoor_names
from advisor.logbook.conditions import moment_of
from advisor.physics import moist_air
from advisor.physics.cure import Floats
from advisor.physics.moist_air import saturation_pressure
from advisor.readings.reading import GOOD, PINNED, STUCK, Reading, Series
from advisor.review.doubts import believed, frozen
from advisor.review.trace import NOTHING, Trace, Window
from advisor.shop.shop import Shop

AIR, HUMIDITY, SURFACE, DEW = "air_temperature", "relative_humidity", "surface_temperature", "dew_point"
_HELD = (STUCK, PINNED)  # marks that came late: what did not move before them is doubted too
_EVERY = 900.0  # [s] between the samples of a series that is worked out


@dataclass(frozen=True, eq=False)
class AirTrack:
    """Everything read at a place: traces by quantity; dust: counts or masses of one size, as they come.

    dust_kind: which, such as `particles_5um`. until [s since 1970]: the present; what comes after it is no gap.
    """

    place: str
    traces: Mapping[str, Trace] = field(default_factory=dict)
    dust: Trace = NOTHING
    dust_kind: str = ""
    until: float = inf
    pressure: float = 101_325.0
    outdoors: "AirTrack | None" = None

    def trace(self, quantity: str) -> Trace:
        """The trace of a quantity, or one without readings."""
        return self.traces.get(quantity, NOTHING)

    def held_at(self, least: float, window: Window) -> "AirTrack":
        """The same track with the room kept at a temperature at least [°C], its moisture as it was."""
        air, damp, piece = (self.trace(quantity) for quantity in (AIR, HUMIDITY, SURFACE))
        warm = replace(air, values=_at_least(air, least, window))
        held = {AIR: warm, SURFACE: replace(piece, values=_at_least(piece, least, window))}
        before = np.interp(damp.times, air.times, air.values) if len(air.times) else damp.values
        after = np.interp(damp.times, air.times, warm.values) if len(air.times) else damp.values
        fall = saturation_pressure(before) / saturation_pressure(after)
        held[HUMIDITY] = replace(damp, values=np.asarray(damp.values * fall))
        return replace(self, traces={**self.traces, **{name: held[name] for name in held if name in self.traces}})

    def brought_to(self, temperature: float, humidity: float, window: Window) -> "AirTrack":
        """The same track with room and piece at one temperature [°C] and humidity [fraction] through a window."""
        given = {AIR: temperature, HUMIDITY: humidity, SURFACE: temperature}
        changed = {name: _at(self.traces[name], value, window) for name, value in given.items() if name in self.traces}
        return replace(self, traces={**self.traces, **changed})

    def piece_follows(self, moment: float, shop: Shop) -> float | None:
        """The running mean of the air that a piece follows [°C]; None where the hours before were not read."""
        needed, over = shop.limit("surface_log_needed").value, shop.limit("surface_mean_over").value
        air, window = self.trace(AIR), Window(moment - needed, moment)
        if air.covered(window) < 0.8:
            return None
        inside = air.inside(window.start, moment)
        weights = np.exp((air.times[inside] - moment) / over)
        return float(weights @ air.values[inside] / weights.sum())

    def conditions(self, moment: float, shop: Shop, surface: float | None = None) -> Conditions:
        """What was read about a moment, as the judge takes it. surface: as measured by hand [°C]."""
        values = {}
        for quantity, trace in self.traces.items():
            value = trace.at(moment)
            if value is not None:
                values[self.place, quantity] = Measured(value, trace.uncertainty, 0.0)
        if surface is not None:
            values[self.place, SURFACE] = Measured(surface, shop.accuracy(None, SURFACE), 0.0)
        return Conditions(
            self.place, values, self.pressure, logged_air=self.piece_follows(moment, shop)
        )  # fmt: skip


def _at_least(trace: Trace, least: float, window: Window) -> Floats:
    values, inside = trace.values.copy(), trace.inside(window.start, window.end)
    values[inside] = np.maximum(values[inside], least)
    return values


def _at(trace: Trace, value: float, window: Window) -> Trace:
    values = trace.values.copy()
    values[trace.inside(window.start, window.end)] = value
    return replace(trace, values=values)


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
        words.sort(key=lambda reading: reading.at)
        accuracy = shop.accuracy(series.sensor, series.quantity)
        (moving,) = frozen(_trace(words, accuracy))
        sensors.setdefault(series.sensor, {})[series.quantity] = moving
    traces: dict[str, list[Trace]] = {}
    for own in sensors.values():
        if AIR in own and HUMIDITY in own:
            own[AIR], own[HUMIDITY] = frozen(own[AIR], own[HUMIDITY])
        for quantity, trace in own.items():
            traces.setdefault(quantity, []).append(trace)
    merged = {quantity: _merged(some) for quantity, some in traces.items()}
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
    times, values, faults = [], [], []
    for index, word in enumerate(words):
        if word.level == GOOD and word.value is not None and index not in doubted:
            times.append(word.at / 1000.0)
            values.append(word.value)
        else:
            faults.append((word.at / 1000.0, doubted.get(index) or word.reason or "missing", word.value))
    return Trace(np.array(times), np.array(values), uncertainty, tuple(faults), words[0].series.sensor)


def _same(before: Reading, word: Reading) -> bool:
    """Whether a reading belongs to the run of one that was marked as unmoved, or as at the end stop."""
    if before.value is None or word.value is None:
        return False
    if word.reason == PINNED:
        return before.value >= min(word.value, 0.99)
    return before.value == word.value


def _merged(traces: Sequence[Trace]) -> Trace:
    """Several sensors' readings in one trace."""
    if len(traces) == 1:
        return traces[0]
    times, values = (np.concatenate([getattr(trace, name) for trace in traces]) for name in ("times", "values"))
    order = np.argsort(times, kind="stable")
    faults = tuple(sorted((fault for trace in traces for fault in trace.faults), key=lambda fault: fault[:2]))
    sensors = ", ".join(sorted({trace.sensor for trace in traces}))
    return Trace(times[order], values[order], max(trace.uncertainty for trace in traces), faults, sensors)


def _humidity_of(air: Trace, dew: Trace) -> Trace:
    """The humidity that goes with a dew point, where both were read."""
    pairs = [(at, air.at(at), value) for at, value in zip(dew.times.tolist(), dew.values.tolist(), strict=True)]
    known = [(at, warm, min(value, warm)) for at, warm, value in pairs if warm is not None]
    if not known:
        return NOTHING
    times, warm, points = (np.array(column) for column in zip(*known, strict=True))
    return Trace(times, np.asarray(moist_air.relative_humidity_from_dew_point(warm, points)), 0.04, dew.faults)


def moment_at(seconds: float) -> datetime:
    """The moment of seconds since 1970."""
    return moment_of(round(seconds * 1000.0))


def samples(window: Window, most: int) -> tuple[float, ...]:
    """Evenly spaced moments of a window, its ends among them; one for a moment."""
    if window.end <= window.start:
        return (window.start,)
    return tuple(np.linspace(window.start, window.end, most).tolist())


def every(window: Window) -> tuple[float, ...]:
    """Moments of a window a quarter of an hour apart."""
    return tuple(np.arange(window.start, window.end + 1.0, _EVERY).tolist())
