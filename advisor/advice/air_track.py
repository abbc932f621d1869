"""The air of a place over time: everything read there, a trace for each quantity."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from math import inf

import numpy as np

from advisor.advice.conditions import Conditions, Measured
from advisor.advice.trace import AIR, HUMIDITY, NOTHING, SURFACE, Trace, Window, rising
from advisor.physics.cure import Floats
from advisor.physics.moist_air import saturation_pressure
from advisor.shop.shop import Shop


@dataclass(frozen=True, eq=False)
class AirTrack:
    """Everything read at a place, by quantity: each at its own moments, or several at the same.

    dust: counts or masses of one size, as they come; dust_kind: which, such as `particles_5um`. until [s since 1970]:
    the present; what comes after it is no gap. pressure [Pa]. outdoors: the air there, where it was read.
    """

    place: str = ""
    traces: Mapping[str, Trace] = field(default_factory=dict)
    dust: Trace = NOTHING
    dust_kind: str = ""
    until: float = inf
    pressure: float = 101_325.0
    outdoors: "AirTrack | None" = None

    def trace(self, quantity: str) -> Trace:
        """The trace of a quantity, or one without readings."""
        return self.traces.get(quantity, NOTHING)

    def during(self, start: float, end: float) -> "AirTrack":
        """The part with start <= moment <= end [s since 1970]."""
        return replace(self, traces={name: trace.during(start, end) for name, trace in self.traces.items()})

    def table(self, *quantities: str) -> Trace:
        """Quantities in rows of one moment each, NaN where one was not read then."""
        traces = [self.trace(quantity) for quantity in quantities]
        times = np.unique(np.concatenate([trace.times for trace in traces]))
        rows = np.full((len(times), len(traces)), np.nan)
        for column, trace in enumerate(traces):
            rows[np.searchsorted(times, trace.times), column] = trace.values
        return Trace(times, rows)

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


def track_from(times: Floats, columns: Mapping[str, Floats], place: str = "") -> AirTrack:
    """A track from columns read at the same moments [s since 1970], rising; NaN is a missing value.

    Raises OutOfRange when the times do not rise or the lengths differ.
    """
    rising(times, columns.values())
    traces = {}
    for name, values in columns.items():
        read = np.isfinite(values)
        traces[name] = Trace(times[read], values[read])
    return AirTrack(place, traces)
