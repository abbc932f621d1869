"""A stretch of time, and one quantity read over it: good readings alone, with what was not read left as gaps."""

from dataclasses import dataclass, replace

import numpy as np

from advisor.physics.cure import Floats

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

    faults: the others, as (time, mark, value). sensor: who said it. Each reading stands for a quarter of an hour after
    it.
    """

    times: Floats
    values: Floats
    uncertainty: float
    faults: tuple[Fault, ...] = ()
    sensor: str = ""

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
        reasons = [reason for at, reason, _ in self.faults if window.start <= at <= window.end]
        return max(sorted(set(reasons)), key=reasons.count) if reasons else ""

    def without(self, out: Mask, reason: str) -> "Trace":
        """The trace with readings that do not count, for a reason. out: one for each reading."""
        if not out.any():
            return self
        doubted = zip(self.times[out].tolist(), [reason] * int(out.sum()), self.values[out].tolist(), strict=True)
        faults = tuple(sorted((*self.faults, *doubted), key=lambda fault: fault[:2]))
        return replace(self, times=self.times[~out], values=self.values[~out], faults=faults)

    def by_hand(self, at: float, value: float | None, uncertainty: float) -> "Trace":
        """The trace with a reading by hand at a time [s since 1970], where nothing that counts was read about then."""
        if value is None or self.at(at) is not None:
            return self
        place = int(np.searchsorted(self.times, at))
        times, values = np.insert(self.times, place, at), np.insert(self.values, place, value)
        return replace(self, times=times, values=values, uncertainty=max(self.uncertainty, uncertainty))

    def without_window(self, window: Window, reason: str) -> "Trace":
        """The same of a stretch."""
        return self.without((self.times >= window.start) & (self.times <= window.end), reason)


NOTHING = Trace(np.zeros(0), np.zeros(0), 0.0)
