"""The temperature of the room since a coat was sprayed, gaps and all, and the clock that runs on it."""

from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np

from advisor.physics.basics import Array
from advisor.physics.paint.cure import CureLaw, crossing, segment_ages, time_below
from advisor.series.trace import Mask, Trace, Window


@dataclass(frozen=True)
class EquivalentAge:
    """What a history collects by a law: equivalent seconds at each of its points, rising."""

    history: "ThermalHistory"
    law: CureLaw
    ages: Array

    @property
    def collected(self) -> float:
        """In all."""
        return float(self.ages[-1])

    def moment(self, age: float) -> float | None:
        """Seconds since spraying at which an age was collected; None where it was not yet."""
        sure = 1e-9 * max(age, 1.0)
        if self.collected < age - sure:
            return None
        after = int(np.searchsorted(self.ages, age - sure))
        if after == 0:
            return 0.0
        before, history = after - 1, self.history
        start, length = float(history.seconds[before]), float(history.seconds[after] - history.seconds[before])
        missing = max(0.0, age - float(self.ages[before]))
        own = float(self.ages[after] - self.ages[before])
        if not history.known[before]:
            return start + length * min(1.0, missing / own)
        ends = (float(history.celsius[before]), float(history.celsius[after]))
        return start + crossing(min(missing, own), length, ends, self.law)


@dataclass(frozen=True, eq=False)
class ThermalHistory:
    """The temperature from spraying to now: seconds since spraying, °C, and whether each stretch is known.

    present: the temperature now, None where it is not known. bridged: holes short enough to draw a line over.
    """

    start: datetime
    end: datetime
    seconds: Array
    celsius: Array
    known: Mask
    present: float | None
    bridged: tuple[Window, ...] = ()

    @property
    def holes(self) -> tuple[Window, ...]:
        """Stretches that are not known [s since spraying]."""
        return tuple(Window(float(self.seconds[at]), float(self.seconds[at + 1])) for at in np.flatnonzero(~self.known))

    def age(self, law: CureLaw, in_holes: float = 0.0) -> EquivalentAge:
        """What is collected, with so much speed taken for what is not known."""
        ages = np.where(self.known, segment_ages(self.seconds, self.celsius, law), in_holes * np.diff(self.seconds))
        return EquivalentAge(self, law, np.concatenate([[0.0], np.cumsum(ages)]))

    def until(self, moment: datetime | None) -> "ThermalHistory":
        """The part up to a moment; the whole where there is none, or it lies later."""
        if moment is None or moment >= self.end:
            return self
        after = (moment - self.start) / timedelta(seconds=1)
        inside = self.seconds < after
        kept = int(np.count_nonzero(inside))
        seconds = np.append(self.seconds[inside], after)
        celsius = np.append(self.celsius[inside], np.interp(after, self.seconds, self.celsius))
        return ThermalHistory(self.start, moment, seconds, celsius, self.known[:kept], None)

    def below(self, limit: float) -> tuple[float, float, float] | None:
        """First second below a temperature, seconds below it in all, the lowest known; None where it never was."""
        under = np.where(self.known, time_below(self.seconds, self.celsius, limit), 0.0)
        if not np.any(under > 0):
            return None
        at = int(np.argmax(under > 0))
        # where it falls under within the stretch, the end of that is under
        falls = self.celsius[at] >= limit
        first = float(self.seconds[at + 1]) - float(under[at]) if falls else float(self.seconds[at])
        ends = np.concatenate([self.celsius[:-1][self.known], self.celsius[1:][self.known]])
        return first, float(np.sum(under)), float(np.min(ends))


def joined(read: Trace, sprayed: datetime, now: datetime, longest: float) -> ThermalHistory:
    """A room [°C] cut to the time from spraying to now, with straight lines over gaps of up to `longest` [s].

    Before its first and after its last reading it stands as there, for as long. What is not known stays not known.
    """
    length = max(0.0, (now - sprayed).total_seconds())
    seconds = read.times - sprayed.timestamp()
    seconds, celsius = seconds[seconds <= length], read.values[seconds <= length]
    if not seconds.size:
        nothing = np.array([0.0, length])
        return ThermalHistory(sprayed, now, nothing, np.zeros(2), np.zeros(1, dtype=np.bool_), None)
    if seconds[0] > 0:
        seconds, celsius = np.append(0.0, seconds), np.append(celsius[0], celsius)
    present = float(celsius[-1]) if length - seconds[-1] <= longest else None
    if seconds[-1] < length:
        seconds, celsius = np.append(seconds, length), np.append(celsius, celsius[-1])
    first = int(np.searchsorted(seconds, 0.0, side="right")) - 1  # the last point at or before spraying
    seconds, celsius = seconds[first:].copy(), celsius[first:].copy()
    lengths = np.diff(seconds)
    known = lengths <= longest
    if known[:1].all():
        celsius[0] = np.interp(0.0, seconds, celsius)
    seconds[0] = 0.0
    bridged = tuple(Window(float(seconds[at]), float(seconds[at]) + float(lengths[at])) for at in np.flatnonzero(known))
    return ThermalHistory(sprayed, now, seconds, celsius, known, present, bridged)
