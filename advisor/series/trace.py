"""A stretch of time, and one quantity read over it: good readings alone, with what was not read left as gaps.

A site's own log of its air, and the same in even hours; gaps stay gaps.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from advisor.errors import OutOfRange
from advisor.physics.basics import Array, record

AIR, HUMIDITY, SURFACE, DEW = "air_temperature", "relative_humidity", "surface_temperature", "dew_point"
_EVERY = 900.0  # [s] between the samples of a series that is worked out
_NEAR = 900.0  # [s] a reading stands for the time after it
Fault = tuple[float, str, float | None]
Mask = np.ndarray[tuple[int], np.dtype[np.bool_]]


@dataclass(frozen=True)
class Window:
    """A stretch of time [s since 1970]."""

    start: float
    end: float


@dataclass(frozen=True, eq=False)
class Trace:
    """Readings that count: times [s since 1970], rising, values [SI]; uncertainty: standard.

    values: one for each time, or a row of several quantities, NaN where one is missing. faults: the others, as (time,
    mark, value), and those that count under reserve. sensor: who said it. Each reading stands for a quarter of an hour
    after it.
    """

    times: Array
    values: Array
    uncertainty: float = 0.0
    faults: tuple[Fault, ...] = ()
    sensor: str = ""

    @property
    def known(self) -> Mask:
        """Where every quantity was read."""
        return np.asarray(np.isfinite(self.values).reshape(len(self.times), -1).all(axis=1))

    def within(self, window: Window) -> Array:
        """The values read in a window."""
        return self.values[self.inside(window.start, window.end)]

    def inside(self, start: float, end: float) -> slice:
        """Where the readings from start to end lie: found by halving, for a track may hold a year."""
        return slice(int(np.searchsorted(self.times, start)), int(np.searchsorted(self.times, end, side="right")))

    def during(self, start: float, end: float) -> "Trace":
        """The readings from start to end."""
        kept = self.inside(start, end)
        return replace(self, times=self.times[kept], values=self.values[kept])

    def at(self, moment: float) -> float | None:
        """The newest value up to a moment, within a quarter of an hour."""
        index = int(np.searchsorted(self.times, moment, side="right")) - 1
        if index < 0 or moment - float(self.times[index]) > _NEAR:
            return None
        return float(self.values[index])

    def near(self, moments: Array, fresh_for: float) -> Array:
        """Values straight between readings; NaN where the nearest reading is further away than `fresh_for` [s]."""
        if not len(self.times):
            return np.full(moments.shape, np.nan)
        away = np.min([np.abs(self.times[beside] - moments) for beside in self._beside(moments)], axis=0)
        return np.where(away <= fresh_for, np.interp(moments, self.times, self.values), np.nan)

    def between(self, moments: Array, longest: float) -> Array:
        """Values straight between two readings not further apart than `longest` [s]; NaN elsewhere."""
        if not len(self.times):
            return np.full(moments.shape, np.nan)
        before, after = self._beside(moments)
        told = (moments >= self.times[0]) & (moments <= self.times[-1])
        told &= self.times[after] - self.times[before] <= longest
        return np.where(told, np.interp(moments, self.times, self.values), np.nan)

    def _beside(self, moments: Array) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
        """The readings before and after each moment; one that was read at it is both."""
        after = np.minimum(np.searchsorted(self.times, moments), len(self.times) - 1)
        return np.where(self.times[after] > moments, np.maximum(after - 1, 0), after), after

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
        reasons = [reason for at, reason, _ in self.faults if window.start <= at <= window.end]
        return max(sorted(set(reasons)), key=reasons.count) if reasons else ""

    def without(self, out: Mask, reason: str) -> "Trace":
        """The trace with readings that do not count, for a reason. out: one for each reading."""
        if not out.any():
            return self
        doubted = zip(self.times[out].tolist(), [reason] * int(out.sum()), self.values[out].tolist(), strict=True)
        faults = tuple(sorted((*self.faults, *doubted), key=lambda fault: fault[:2]))
        return replace(self, times=self.times[~out], values=self.values[~out], faults=faults)

    def changed(self, window: Window, to: Callable[[Array], Array]) -> "Trace":
        """The trace with other values in a window."""
        values, inside = self.values.copy(), self.inside(window.start, window.end)
        values[inside] = to(values[inside])
        return replace(self, values=values)

    def without_window(self, window: Window, reason: str) -> "Trace":
        """The same of a stretch."""
        return self.without((self.times >= window.start) & (self.times <= window.end), reason)

    def by_hand(self, at: float, value: float | None, uncertainty: float) -> "Trace":
        """The trace with a reading by hand at a time [s since 1970], where nothing that counts was read about then."""
        if value is None or self.at(at) is not None:
            return self
        place = int(np.searchsorted(self.times, at))
        times, values = np.insert(self.times, place, at), np.insert(self.values, place, value)
        return replace(self, times=times, values=values, uncertainty=max(self.uncertainty, uncertainty))


NOTHING = Trace(np.zeros(0), np.zeros(0))


def together(traces: Sequence[Trace]) -> Trace:
    """Several sensors' readings in one trace, in the order of time."""
    if len(traces) < 2:
        return traces[0] if traces else NOTHING
    times, values = (np.concatenate([getattr(trace, name) for trace in traces]) for name in ("times", "values"))
    order = np.argsort(times, kind="stable")
    faults = tuple(sorted((fault for trace in traces for fault in trace.faults), key=lambda fault: fault[:2]))
    sensors = ", ".join(sorted({trace.sensor for trace in traces}))
    return Trace(times[order], values[order], max(trace.uncertainty for trace in traces), faults, sensors)


def samples(window: Window, most: int) -> tuple[float, ...]:
    """Evenly spaced moments of a window, its ends among them; one for a moment."""
    if window.end <= window.start:
        return (window.start,)
    return tuple(np.linspace(window.start, window.end, most).tolist())


def every(window: Window) -> tuple[float, ...]:
    """Moments of a window a quarter of an hour apart."""
    return tuple(np.arange(window.start, window.end + 1.0, _EVERY).tolist())


HOUR = 3600.0  # [s]
# [s] a reading may come this much after its hour (loggers drift); the row counts as known only then
LATE = 300.0
BRIDGED = 3  # [rows] a gap may last for its neighbours to stand in


def hourly(times: Array, *values: Array) -> Trace:
    """A log of any cadence in even hours, counted back from its last reading: a row of all quantities each.

    times [s since 1970, UTC], rising; values: arrays of the same length, NaN where missing. An hour holds the readings
    from 55 min before its mark to 5 min after. Its value is the mean of those within 5 min of the mark; where there
    are none, the latest in the hour; where there is none at all, NaN. So a row is known 5 min after its mark, looks no
    further forward, and a log that has one reading an hour comes back as it is. Raises OutOfRange where times do not
    rise, where lengths differ, and for an empty log.
    """
    record(times, *values)
    some = np.isfinite(values).any(axis=0)
    if not some.any():
        raise OutOfRange("a log without any reading", "at least one", "let it collect")
    first, last = times[some][0], times[some][-1]
    count = int(np.ceil((last - first - LATE) / HOUR)) + 1 if last - first > LATE else 1
    marks = last - HOUR * np.arange(count - 1, -1, -1)
    rows = np.clip(np.ceil((times - last - LATE) / HOUR).astype(np.int64) + count - 1, 0, count - 1)
    near = np.abs(times - marks[rows]) <= LATE
    table = np.full((count, len(values)), np.nan)
    for column, series in enumerate(values):
        finite = np.isfinite(series)
        table[rows[finite], column] = series[finite]  # rising times: the latest of the hour stays
        close = finite & near
        number = np.bincount(rows[close], minlength=count)
        total = np.bincount(rows[close], weights=series[close], minlength=count)
        table[number > 0, column] = total[number > 0] / number[number > 0]
    return Trace(marks, table)


def earlier(values: Array, rows: int) -> Array:
    """The value so many rows before each row; NaN where the log had not begun."""
    moved = np.full_like(values, np.nan)
    moved[rows:] = values[: max(len(values) - rows, 0)]
    return moved


def later(values: Array, rows: int) -> Array:
    """The value so many rows after each row; NaN where the log has ended."""
    moved = np.full_like(values, np.nan)
    moved[: max(len(values) - rows, 0)] = values[rows:]
    return moved


def last_known(values: Array, rows: int) -> Array:
    """Each value, or where it is missing the latest one of the `rows` before it."""
    filled = values
    for back in range(1, rows + 1):
        filled = np.where(np.isnan(filled), earlier(values, back), filled)
    return filled


def bridged(values: Array, rows: int) -> Array:
    """Values (rows, quantities) with a straight line over each gap of up to `rows` rows between two that are known."""
    filled = values.copy()
    for column in range(values.shape[1]):
        known = np.flatnonzero(np.isfinite(values[:, column]))
        for before in np.flatnonzero((np.diff(known) > 1) & (np.diff(known) <= rows + 1)):
            start, end = known[before], known[before + 1]
            filled[start : end + 1, column] = np.linspace(values[start, column], values[end, column], end - start + 1)
    return filled


def trailing_mean(values: Array, rows: int) -> Array:
    """Mean of what is known of the last `rows` rows, each row itself included; NaN where nothing is."""
    known = np.isfinite(values)
    total = np.cumsum(np.where(known, values, 0.0), axis=0)
    number = np.cumsum(known, axis=0)
    total[rows:], number[rows:] = total[rows:] - total[:-rows], number[rows:] - number[:-rows]
    return np.where(number > 0, total / np.maximum(number, 1), np.nan)


def runs(there: NDArray[np.bool_]) -> list[tuple[int, int]]:
    """First and last place of each run of True."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], there, [False]]).astype(np.int8)))
    return [(int(first), int(after) - 1) for first, after in zip(edges[::2], edges[1::2], strict=True)]
