"""Quality control: each reading gets a mark, from what came before it alone; none is dropped or changed.

Limits are data: catalog/quality_limits.csv. A mark never depends on later readings, so a file judged "as of" a
moment is marked as it would have been then.
"""

import statistics
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from math import hypot

from advisor.catalog.limits import quality_limits
from advisor.catalog.quantities import kind_of
from advisor.readings.reading import (
    BAD,
    CONFLICT,
    DISAGREES,
    FUTURE,
    GOOD,
    OUT_OF_RANGE,
    PINNED,
    STEP,
    STUCK,
    SUSPECT,
    WRONG_UNIT,
    Reading,
    Series,
)

MINUTE = 60_000  # [ms]
_LONGEST_GAP = 6 * 60 * MINUTE  # a longer silence ends a run of readings at the end stop
_RUN_OF = 4  # readings at least that make a run
_SISTER_FRESH = 20 * MINUTE  # a sister's reading is compared while younger than this
_UNIT_TOLERANCE = 3.0  # [K] a Fahrenheit reading taken as Celsius, turned back, meets its sister within this
_TOGETHER = {
    "air_temperature": ("relative_humidity", "dew_point"),
    "relative_humidity": ("air_temperature",),
    "dew_point": ("air_temperature",),
}


@dataclass
class _History:
    """What is remembered of one series."""

    last_good: Reading | None = None
    candidate: Reading | None = None  # a jump that the next reading may confirm
    previous: Reading | None = None
    same_since: int = 0
    same_count: int = 0
    pinned_since: int | None = None
    pinned_count: int = 0
    word: Reading | None = None  # whatever it said last, readable or not
    conflict_at: int | None = None


@dataclass
class QualityControl:
    """Marks readings one by one, in the order of their time; counts the marks by reason.

    accuracy(sensor, quantity) gives a sensor's standard uncertainty in SI.
    """

    accuracy: Callable[[str, str], float]
    counts: Counter[str] = field(default_factory=Counter)
    _histories: dict[Series, _History] = field(default_factory=dict)
    _sisters: dict[tuple[str, str], dict[str, Reading]] = field(default_factory=dict)
    _apart_since: dict[tuple[str, str, frozenset[str]], int] = field(default_factory=dict)

    def mark(self, reading: Reading, now: int) -> Reading:
        """The reading with its mark. `now` [ms UTC] is the moment it is looked at."""
        level, reason = self._judge(reading, now)
        if not reason and reading.reason:
            level, reason = reading.level, reading.reason  # a mark it came with, such as not-live
        if reason:
            self.counts[reason] += 1
        return reading if reason == reading.reason else replace(reading, level=level, reason=reason)

    def remember(self, reading: Reading) -> None:
        """Take a reading of the past into memory, as after a restart; its own mark stays what it is."""
        self._judge(replace(reading, level=GOOD, reason=reading.reason if reading.value is None else ""), reading.at)

    def forget(self) -> None:
        """Start anew, as after a clock that was set: the times remembered belong to another clock."""
        self._histories.clear()
        self._sisters.clear()
        self._apart_since.clear()

    def _judge(self, reading: Reading, now: int) -> tuple[str, str]:
        history = self._histories.setdefault(reading.series, _History())
        if _contradicts_itself(history, reading):
            return BAD, CONFLICT
        if reading.value is None:
            return BAD, reading.reason
        limits = quality_limits()
        kind = kind_of(reading.series.quantity).kind
        if reading.at > now:
            return BAD, FUTURE
        if not limits[kind, "range_low"].value <= reading.value <= limits[kind, "range_high"].value:
            return BAD, OUT_OF_RANGE
        if history.previous is not None and reading.at < history.previous.at:
            return GOOD, ""  # it came late: what came before it is no longer remembered
        self._remember_run(history, reading)
        if self._pinned(history, reading, kind):
            return BAD, PINNED
        if self._stuck(history, reading, kind):
            return BAD, STUCK
        if self._jumped(history, reading, kind):
            return SUSPECT, STEP
        history.last_good = reading
        apart = self._apart(history, reading, kind)
        return (SUSPECT, apart) if apart else (GOOD, "")

    def _remember_run(self, history: _History, reading: Reading) -> None:
        previous = history.previous
        if previous is None or previous.value != reading.value:
            history.same_since, history.same_count = reading.at, 0
        history.same_count += 1
        if previous is not None and reading.at - previous.at > _LONGEST_GAP:
            history.pinned_since = None
        history.previous = reading

    def _pinned(self, history: _History, reading: Reading, kind: str) -> bool:
        """Humidity at its end stop for hours is the sensor, not the air."""
        start = quality_limits().get((kind, "pinned_from"))
        if start is None or reading.value is None or reading.value < start.value:
            history.pinned_since, history.pinned_count = None, 0
            return False
        if history.pinned_since is None:
            history.pinned_since, history.pinned_count = reading.at, 0
        history.pinned_count += 1
        held = reading.at - history.pinned_since >= quality_limits()[kind, "pinned_for"].value * 1000
        return held and history.pinned_count >= _RUN_OF

    def _stuck(self, history: _History, reading: Reading, kind: str) -> bool:
        """One value unchanged for a day, or temperature and moisture of one sensor both for six hours."""
        alone = quality_limits().get((kind, "stuck_alone"))
        if alone is None or history.same_count < _RUN_OF:
            return False
        run = reading.at - history.same_since
        if run >= alone.value * 1000:
            return True
        together = quality_limits().get((kind, "stuck_together"))
        if together is None or run < together.value * 1000:
            return False
        for quantity in _TOGETHER.get(kind, ()):
            partner = self._histories.get(replace(reading.series, quantity=quantity))
            if partner is None or partner.previous is None or partner.same_count < _RUN_OF:
                continue
            if partner.previous.at - partner.same_since >= together.value * 1000 - 2 * _SISTER_FRESH:
                return True
        return False

    def _jumped(self, history: _History, reading: Reading, kind: str) -> bool:
        """A jump faster than air can turn is held until the next reading confirms it."""
        step = quality_limits().get((kind, "step_per_minute"))
        if step is None or history.last_good is None:
            return False
        if _within_step(history.last_good, reading, step.value):
            history.candidate = None
            return False
        candidate = history.candidate
        if candidate is not None and reading.at > candidate.at and _within_step(candidate, reading, step.value):
            history.candidate = None
            return False
        if candidate is None or reading.at > candidate.at:
            history.candidate = reading
        return True

    def _apart(self, history: _History, reading: Reading, kind: str) -> str:
        """A reason when sister sensors at the same place say something else for too long.

        Two sensors that contradict each other are both doubted; of three or more, the one away from the middle.
        """
        place, quantity, sensor = reading.series.place, reading.series.quantity, reading.series.sensor
        told = self._sisters.setdefault((place, quantity), {})
        told[sensor] = reading
        floor = quality_limits().get((kind, "sister_floor"))
        fresh = {
            name: other.value
            for name, other in told.items()
            if reading.at - other.at <= _SISTER_FRESH and other.value is not None
        }
        if floor is None or reading.value is None or len(fresh) < 2:
            return ""
        others = {name: value for name, value in fresh.items() if name != sensor}
        reference = statistics.median(fresh.values()) if len(fresh) > 2 else next(iter(others.values()))
        if kind == "air_temperature" and _fahrenheit_for(reading.value, reference):
            return WRONG_UNIT
        key = (place, quantity, frozenset(fresh if len(fresh) == 2 else (sensor,)))
        allowed = max(floor.value, self._joint_accuracy(reading.series, others))
        if abs(reading.value - reference) <= allowed:
            self._apart_since.pop(key, None)
            return ""
        since = self._apart_since.setdefault(key, reading.at)
        held = reading.at - since >= quality_limits()[kind, "sister_for"].value * 1000
        return DISAGREES if held else ""

    def _joint_accuracy(self, series: Series, others: dict[str, float]) -> float:
        """Twice the joint standard uncertainty of this sensor and its least sure sister."""
        own = self.accuracy(series.sensor, series.quantity)
        return 2.0 * hypot(own, max(self.accuracy(name, series.quantity) for name in others))


def _contradicts_itself(history: _History, reading: Reading) -> bool:
    """Whether a sensor said two different things for one moment; then nothing it said for it counts."""
    word, history.word = history.word, reading
    if word is not None and word.at == reading.at and word.value != reading.value:
        history.conflict_at = reading.at
    return history.conflict_at == reading.at


def _within_step(earlier: Reading, later: Reading, step_per_minute: float) -> bool:
    if earlier.value is None or later.value is None:
        return False
    minutes = max(1.0, (later.at - earlier.at) / MINUTE)
    return abs(later.value - earlier.value) <= step_per_minute * minutes


def _fahrenheit_for(value: float, sister: float) -> bool:
    """Whether a value far from its sister's [°C] would meet it if it were Fahrenheit."""
    return abs(value - sister) > 2 * _UNIT_TOLERANCE and abs((value - 32.0) / 1.8 - sister) <= _UNIT_TOLERANCE
