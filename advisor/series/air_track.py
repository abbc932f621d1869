"""The air of a place over time: everything read there, a trace for each quantity."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import partial
from math import inf

import numpy as np

from advisor.judge.conditions import Conditions, Measured
from advisor.physics.air.moist_air import saturation_pressure
from advisor.physics.basics import Array, record
from advisor.series.trace import AIR, HUMIDITY, NOTHING, SURFACE, Trace, Window
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
        air, damp = self.trace(AIR), self.trace(HUMIDITY)
        warm, piece = (
            self.trace(name).changed(window, lambda values: np.maximum(values, least)) for name in (AIR, SURFACE)
        )
        before, after = (
            np.interp(damp.times, each.times, each.values) if len(air.times) else damp.values for each in (air, warm)
        )
        fall = saturation_pressure(before) / saturation_pressure(after)
        dried = replace(damp, values=np.asarray(damp.values * fall))
        return self._with({AIR: warm, SURFACE: piece, HUMIDITY: dried})

    def brought_to(self, temperature: float, humidity: float, window: Window) -> "AirTrack":
        """The same track with room and piece at one temperature [°C] and humidity [fraction] through a window."""
        given = {AIR: temperature, HUMIDITY: humidity, SURFACE: temperature}
        return self._with({
            name: self.trace(name).changed(window, partial(np.full_like, fill_value=value))
            for name, value in given.items()
        })  # fmt: skip

    def _with(self, changed: Mapping[str, Trace]) -> "AirTrack":
        """With other traces of what was read at all."""
        return replace(self, traces={**self.traces, **{name: changed[name] for name in changed if name in self.traces}})

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


def track_from(times: Array, columns: Mapping[str, Array], place: str = "") -> AirTrack:
    """A track from columns read at the same moments [s since 1970], rising; NaN is a missing value.

    Raises OutOfRange when the times do not rise or the lengths differ.
    """
    record(times, *columns.values())
    read = {name: np.isfinite(values) for name, values in columns.items()}
    return AirTrack(place, {name: Trace(times[read[name]], values[read[name]]) for name, values in columns.items()})
