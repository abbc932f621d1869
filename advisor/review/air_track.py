"""The air over a coat as it was logged: good readings alone, with what was not read left as gaps."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime

import numpy as np

from advisor.advice.conditions import Conditions, Measured, outdoor_names
from advisor.advice.hours import runs
from advisor.logbook.conditions import moment_of
from advisor.physics import moist_air
from advisor.physics.cure import Floats
from advisor.physics.moist_air import saturation_pressure
from advisor.readings.reading import GOOD, PINNED, STEP, STUCK, Reading, Series
from advisor.shop.shop import Shop

AIR, HUMIDITY, SURFACE, DEW = "air_temperature", "relative_humidity", "surface_temperature", "dew_point"
_HELD = (STUCK, PINNED)  # marks that came late: what did not move before them is doubted too
_EVERY = 900.0  # [s] between the samples of a series that is worked out
_STILL_FOR, _RUN_OF = 6 * 3600.0, 12  # [s], readings: a value that stood still so long, while the other one
_AIR_SWINGS, _DAMP_SWINGS = 2.0, 0.10  # [K], [fraction] swung by so much, is a sensor that is stuck
_SATURATED, _SATURATED_FOR, _SATURATED_WARMS = 0.97, 12 * 3600.0, 1.5  # [fraction], [s], [K]
_NEAR = 900.0  # [s] a reading stands for the time after it


@dataclass(frozen=True)
class Window:
    """A stretch of time [s since 1970]."""

    start: float
    end: float


@dataclass(frozen=True, eq=False)
class Trace:
    """Readings that count: times [s since 1970], rising, values [SI]; uncertainty: standard; faults: marks of others.

    Each reading stands for a quarter of an hour after it.
    """

    times: Floats
    values: Floats
    uncertainty: float
    faults: tuple[tuple[float, str], ...] = ()

    def within(self, window: Window) -> Floats:
        """The values read in a window."""
        return self.values[self.inside(window.start, window.end)]

    def inside(self, start: float, end: float) -> slice:
        """Where the readings from start to end lie: found by halving, for a track may hold a year."""
        return slice(int(np.searchsorted(self.times, start)), int(np.searchsorted(self.times, end, side="right")))

    def at(self, moment: float) -> float | None:
        """The newest value up to a moment, within a quarter of an hour."""
        index = int(np.searchsorted(self.times, moment, side="right")) - 1
        if index < 0 or moment - float(self.times[index]) > _NEAR:
            return None
        return float(self.values[index])

    def gaps(self, window: Window) -> tuple[Window, ...]:
        """Stretches of a window that no reading stands for."""
        inside = self.times[self.inside(window.start - _NEAR, window.end)]
        ends = np.concatenate(([window.start], inside + _NEAR))
        begins = np.concatenate((inside, [window.end]))
        return tuple(
            Window(float(ends[at]), float(begins[at])) for at in np.flatnonzero(begins > ends)
        )  # fmt: skip

    def covered(self, window: Window) -> float:
        """The share of a window that was read; of a moment, 1 or 0."""
        length = window.end - window.start
        if length <= 0.0:
            return 0.0 if self.at(window.start) is None else 1.0
        return 1.0 - sum(gap.end - gap.start for gap in self.gaps(window)) / length

    def fault(self, window: Window) -> str:
        """The commonest mark of the readings in a window that do not count; empty where there are none."""
        reasons = [reason for at, reason in self.faults if window.start <= at <= window.end]
        return max(sorted(set(reasons)), key=reasons.count) if reasons else ""


NOTHING = Trace(np.zeros(0), np.zeros(0), 0.0)


@dataclass(frozen=True, eq=False)
class AirTrack:
    """Everything read at a place: traces by quantity; dust: counts or masses of one size, as they come."""

    place: str
    traces: Mapping[str, Trace] = field(default_factory=dict)
    dust: Trace = NOTHING
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


def track_of(readings: Iterable[Reading], place: str, shop: Shop) -> AirTrack:
    """The track of a place from marked readings, with the air outdoors where that was read.

    A run that was marked later as unmoved is doubted from its start.
    """
    known = list(readings)
    outside = next((name for name in outdoor_names(shop) if any(r.series.place == name for r in known)), None)
    track = _of_place(known, place, shop)
    return track if outside is None else replace(track, outdoors=_of_place(known, outside, shop))


def _of_place(readings: Sequence[Reading], place: str, shop: Shop) -> AirTrack:
    by_series: dict[Series, list[Reading]] = {}
    for reading in readings:
        if reading.series.place == place:
            by_series.setdefault(reading.series, []).append(reading)
    traces: dict[str, list[Trace]] = {}
    for series, words in by_series.items():
        words.sort(key=lambda reading: reading.at)
        traces.setdefault(series.quantity, []).append(_trace(words, shop.accuracy(series.sensor, series.quantity)))
    merged = {quantity: _merged(some) for quantity, some in traces.items()}
    dusty = [quantity for quantity in merged if quantity.startswith(("particles_", "pm"))]
    dust = max((merged[quantity] for quantity in sorted(dusty)), key=lambda trace: len(trace.times), default=NOTHING)
    known = {quantity: merged[quantity] for quantity in merged if quantity not in dusty}
    if AIR in known and HUMIDITY in known:
        air, damp = known[AIR], known[HUMIDITY]
        damp = _saturated(damp, air)
        known |= {AIR: _moved_alone(air, damp, _DAMP_SWINGS), HUMIDITY: _moved_alone(damp, air, _AIR_SWINGS)}
    if HUMIDITY not in known and AIR in known and DEW in known:
        known[HUMIDITY] = _humidity_of(known[AIR], known[DEW])
    return AirTrack(place, known, dust, float(moist_air.pressure_at_altitude(shop.altitude)))


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
            faults.append((word.at / 1000.0, doubted.get(index) or word.reason or "missing"))
    return Trace(np.array(times), np.array(values), uncertainty, tuple(faults))


def _same(before: Reading, word: Reading) -> bool:
    """Whether a reading belongs to the run of one that was marked as unmoved, or as at the end stop."""
    if before.value is None or word.value is None:
        return False
    if word.reason == PINNED:
        return before.value >= min(word.value, 0.99)
    return before.value == word.value


def _saturated(damp: Trace, air: Trace) -> Trace:
    """Humidity without the runs in which it stood near saturation for half a day while the air warmed.

    A room that warms by so much dries, unless water runs down its walls: that is a sensor that has drifted to its end.
    """
    for first, last in runs(damp.values >= _SATURATED):
        window = Window(float(damp.times[first]), float(damp.times[last]))
        beside = air.within(window)
        if window.end - window.start < _SATURATED_FOR or not len(beside):
            continue
        if float(np.max(beside - np.minimum.accumulate(beside))) >= _SATURATED_WARMS:
            return _saturated(without(damp, window, PINNED), air)
    return damp


def _moved_alone(trace: Trace, other: Trace, swing: float) -> Trace:
    """A trace without the hours in which it stood still to the last digit while the other one swung.

    Temperature and humidity of one air move together: a room cooling by 2 K gains some 7 % with the same moisture.
    """
    doubted = np.zeros(len(trace.times), dtype=np.bool_)
    starts = np.concatenate(([0], np.flatnonzero(np.diff(trace.values) != 0.0) + 1, [len(trace.values)]))
    for first, end in zip(starts[:-1].tolist(), starts[1:].tolist(), strict=True):
        if end - first < _RUN_OF or trace.times[end - 1] - trace.times[first] < _STILL_FOR:
            continue
        beside = other.within(Window(float(trace.times[first]), float(trace.times[end - 1])))
        if len(beside) and np.quantile(beside, 0.95) - np.quantile(beside, 0.05) >= swing:
            doubted[first:end] = True
    if not doubted.any():
        return trace
    faults = sorted((*trace.faults, *((float(at), STUCK) for at in trace.times[doubted])))
    return Trace(trace.times[~doubted], trace.values[~doubted], trace.uncertainty, tuple(faults))


def _merged(traces: Sequence[Trace]) -> Trace:
    """Several sensors' readings in one trace."""
    if len(traces) == 1:
        return traces[0]
    times, values = (np.concatenate([getattr(trace, name) for trace in traces]) for name in ("times", "values"))
    order = np.argsort(times, kind="stable")
    faults = tuple(sorted(fault for trace in traces for fault in trace.faults))
    return Trace(times[order], values[order], max(trace.uncertainty for trace in traces), faults)


def _humidity_of(air: Trace, dew: Trace) -> Trace:
    """The humidity that goes with a dew point, where both were read."""
    pairs = [(at, air.at(at), value) for at, value in zip(dew.times.tolist(), dew.values.tolist(), strict=True)]
    known = [(at, warm, min(value, warm)) for at, warm, value in pairs if warm is not None]
    if not known:
        return NOTHING
    times, warm, points = (np.array(column) for column in zip(*known, strict=True))
    return Trace(times, np.asarray(moist_air.relative_humidity_from_dew_point(warm, points)), 0.04, dew.faults)


def in_the_plume(track: AirTrack, spraying: Window) -> bool:
    """Whether the humidity leapt as the gun was used: the sensor stood in the spray, and tells nothing till aired."""
    near = Window(spraying.start - 60.0, spraying.end + 300.0)
    return any(reason == STEP and near.start <= at <= near.end for at, reason in track.trace(HUMIDITY).faults)


def without(trace: Trace, window: Window, reason: str) -> Trace:
    """A trace whose readings in a window do not count, for a reason."""
    out = (trace.times >= window.start) & (trace.times <= window.end)
    faults = (*trace.faults, *((float(at), reason) for at in trace.times[out]))
    return Trace(trace.times[~out], trace.values[~out], trace.uncertainty, tuple(sorted(faults)))


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
