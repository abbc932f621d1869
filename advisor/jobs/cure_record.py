"""The temperature of the room since a coat was sprayed, gaps and all, and the clock that runs on it."""

from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np

from advisor.physics.basics import Array
from advisor.physics.paint.cure import CureLaw, crossing, segment_ages, time_below
from advisor.series.trace import Trace, Window


@dataclass(frozen=True)
class Clock:
    """What a record collects by a law: equivalent seconds at each of its points, rising."""

    record: "Record"
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
        index = int(np.searchsorted(self.ages, age - sure))
        if index == 0:
            return 0.0
        start, end = (float(self.record.seconds[at]) for at in (index - 1, index))
        missing = max(0.0, age - float(self.ages[index - 1]))
        if not self.record.known[index - 1]:
            return start + (end - start) * min(1.0, missing / float(self.ages[index] - self.ages[index - 1]))
        ends = (float(self.record.celsius[index - 1]), float(self.record.celsius[index]))
        return start + crossing(
            min(missing, float(self.ages[index] - self.ages[index - 1])), end - start, ends, self.law
        )


@dataclass(frozen=True, eq=False)
class Record:
    """A record from spraying to now: seconds since spraying, °C, and whether each stretch is known.

    present: the temperature now, None where it is not known. bridged: holes short enough to draw a line over.
    """

    start: datetime
    end: datetime
    seconds: Array
    celsius: Array
    known: np.ndarray[tuple[int], np.dtype[np.bool_]]
    present: float | None
    bridged: tuple[Window, ...] = ()

    @property
    def holes(self) -> tuple[Window, ...]:
        """Stretches that are not known [s since spraying]."""
        return tuple(Window(float(self.seconds[at]), float(self.seconds[at + 1])) for at in np.flatnonzero(~self.known))

    def clock(self, law: CureLaw, in_holes: float) -> Clock:
        """What is collected, with so much speed taken for what is not known."""
        ages = np.where(self.known, segment_ages(self.seconds, self.celsius, law), in_holes * np.diff(self.seconds))
        return Clock(self, law, np.concatenate([[0.0], np.cumsum(ages)]))

    def until(self, moment: datetime | None) -> "Record":
        """The part up to a moment; the whole where there is none, or it lies later."""
        if moment is None or moment >= self.end:
            return self
        after = (moment - self.start) / timedelta(seconds=1)
        inside = self.seconds < after
        kept = int(np.count_nonzero(inside))
        seconds = np.append(self.seconds[inside], after)
        celsius = np.append(self.celsius[inside], np.interp(after, self.seconds, self.celsius))
        return Record(self.start, moment, seconds, celsius, self.known[:kept], None)

    def below(self, limit: float) -> tuple[float, float, float] | None:
        """First second below a temperature, seconds below it in all, the lowest known; None where it never was."""
        under = np.where(self.known, time_below(self.seconds, self.celsius, limit), 0.0)
        if not np.any(under > 0):
            return None
        at = int(np.argmax(under > 0))
        start, end = float(self.seconds[at]), float(self.seconds[at + 1])
        falls = self.celsius[at] >= limit
        first = end - float(under[at]) if falls else start
        ends = np.concatenate([self.celsius[:-1][self.known], self.celsius[1:][self.known]])
        return first, float(np.sum(under)), float(np.min(ends))


def joined(read: Trace, sprayed: datetime, now: datetime, longest: float) -> Record:
    """A room [°C] cut to the time from spraying to now, with straight lines over gaps of up to `longest` [s].

    Before its first and after its last reading it stands as there, for as long. What is not known stays not known.
    """
    length = max(0.0, (now - sprayed).total_seconds())
    seconds = read.times - sprayed.timestamp()
    seconds, celsius = seconds[seconds <= length], read.values[seconds <= length]
    if not seconds.size:
        nothing = np.array([0.0, length])
        return Record(sprayed, now, nothing, np.zeros(2), np.zeros(1, dtype=np.bool_), None)
    if seconds[0] > 0:
        seconds, celsius = np.append(0.0, seconds), np.append(celsius[0], celsius)
    present = float(celsius[-1]) if length - seconds[-1] <= longest else None
    if seconds[-1] < length:
        seconds, celsius = np.append(seconds, length), np.append(celsius, celsius[-1])
    known = np.diff(seconds) <= longest
    lengths = np.diff(seconds)
    first = int(np.searchsorted(seconds, 0.0, side="right")) - 1  # the last point at or before spraying
    if seconds[first] < 0:
        here = float(np.interp(0.0, seconds, celsius)) if known[first : first + 1].all() else float(celsius[first])
        seconds, celsius = np.append(0.0, seconds[first + 1 :]), np.append(here, celsius[first + 1 :])
        known, lengths = known[first:], lengths[first:]
    else:
        seconds, celsius, known, lengths = seconds[first:], celsius[first:], known[first:], lengths[first:]
    bridged = tuple(Window(float(seconds[at]), float(seconds[at]) + float(lengths[at])) for at in np.flatnonzero(known))
    return Record(sprayed, now, seconds, celsius, known, present, bridged)
