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
from advisor.physics.air import moist_air
from advisor.readings.reading import (
    BAD,
    CONFLICT,
    DISAGREES,
    FUTURE,
    GOOD,
    OUT_OF_RANGE,
    PINNED,
    STEP,
    STILL,
    STUCK,
    SUSPECT,
    WRONG_UNIT,
    Reading,
    Series,
)  # fmt: skip

MINUTE = 60_000  # [ms]
_LONGEST_GAP = 6 * 60 * MINUTE  # a longer silence ends a run of readings that are alike, or at the end stop
_RUN_OF = 4  # readings at least that make a run
_SISTER_FRESH = 20 * MINUTE  # a sister's reading is compared while younger than this
_UNIT_TOLERANCE = 3.0  # [K] a Fahrenheit reading taken as Celsius, turned back, meets its sister within this
_MOVES_NO_HUMIDITY = 1.0  # [K] moves none by a sister's distance: a quick look before the equation
_MOISTURE = ("relative_humidity", "dew_point")
_TOGETHER = {"air_temperature": _MOISTURE, **dict.fromkeys(_MOISTURE, ("air_temperature",))}


@dataclass
class _Witness:
    """A reading beside one that stands still. first: its value when that run began; held: it stayed away."""

    first: float
    away_since: int | None = None
    held: bool = False


@dataclass
class _History:
    """What is remembered of one series."""

    last_good: Reading | None = None
    candidate: Reading | None = None  # a jump that the next reading may confirm
    previous: Reading | None = None
    same_since: int = 0
    same_count: int = 0
    witnesses: dict[Series, _Witness] = field(default_factory=dict)
    pinned_since: int | None = None
    pinned_count: int = 0
    word: Reading | None = None  # whatever it said last, readable or not
    conflict_at: int | None = None


@dataclass
class QualityControl:
    """Marks readings one by one, in the order of their time; counts the marks of what is not good.

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
        if reason in ("", STILL) and reading.reason:
            level, reason = reading.level, reading.reason  # a mark it came with, such as not-live
        if reason not in ("", STILL):
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
        if reading.at > now:
            return BAD, FUTURE  # before all else, and never remembered: nothing said later may be held against it
        history = self._histories.setdefault(reading.series, _History())
        if _contradicts_itself(history, reading):
            return BAD, CONFLICT
        if reading.value is None:
            return BAD, reading.reason
        limits = quality_limits()
        kind = kind_of(reading.series.quantity).kind
        if not limits[kind, "range_low"].value <= reading.value <= limits[kind, "range_high"].value:
            return BAD, OUT_OF_RANGE
        if history.previous is not None and reading.at < history.previous.at:
            return GOOD, ""  # it came late: what came before it is no longer remembered
        self._remember_run(history, reading)
        for found, level, reason in (
            (self._pinned, BAD, PINNED),
            (self._stuck, BAD, STUCK),
            (self._jumped, SUSPECT, STEP),
        ):
            if found(history, reading, kind):
                return level, reason
        history.last_good = reading
        apart = self._apart(history, reading, kind)
        self._witness(reading, kind)
        if self._shown_frozen(history, reading, kind):
            return BAD, STUCK
        if apart:
            return SUSPECT, apart
        return GOOD, STILL if self._both_still(history, reading, kind, "still_together") else ""

    def _remember_run(self, history: _History, reading: Reading) -> None:
        previous = history.previous
        gap = previous is not None and reading.at - previous.at > _LONGEST_GAP
        if previous is None or previous.value != reading.value or gap:
            history.same_since, history.same_count = reading.at, 0
            history.witnesses.clear()
        history.same_count += 1
        if gap:
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
        held = reading.at - history.same_since >= alone.value * 1000
        return held or self._both_still(history, reading, kind, "stuck_together")

    def _both_still(self, history: _History, reading: Reading, kind: str, check: str) -> bool:
        """Whether temperature and moisture of one sensor have not changed by a digit for the time of this check."""
        asked = quality_limits().get((kind, check))
        if asked is None or history.same_count < _RUN_OF:
            return False
        span = asked.value * 1000
        slack = min(2 * _SISTER_FRESH, span / 3)
        return reading.at - history.same_since >= span and any(
            partner.previous.at - partner.same_since >= span - slack
            for partner in self._partners(reading.series, kind)
            if partner.previous is not None and partner.same_count >= _RUN_OF
        )

    def _partners(self, series: Series, kind: str) -> list[_History]:
        beside = (Series(series.sensor, series.place, quantity) for quantity in _TOGETHER.get(kind, ()))
        return [self._histories[one] for one in beside if one in self._histories]

    def _shown_frozen(self, history: _History, reading: Reading, kind: str) -> bool:
        """Whether what is beside it shows that it should have moved; a sister shows it of a still pair as a whole.

        It stays in the comparison with its sisters, and theirs with it: one in the sun must not win by moving.
        """
        alone = any(witness.held for witness in history.witnesses.values())
        return history.same_count >= _RUN_OF and (
            alone
            or (
                self._both_still(history, reading, kind, "sister_for")
                and any(
                    witness.held and by.sensor != reading.series.sensor
                    for partner in self._partners(reading.series, kind)
                    for by, witness in partner.witnesses.items()
                )
            )
        )

    def _witness(self, reading: Reading, kind: str) -> None:
        """Tell those that may stand still beside this reading how far it has gone since their runs began.

        A sister at the same place by its own value; the temperature of a sensor to its humidity by what the same water
        in the air would show now.
        """
        place, quantity, sensor = reading.series.place, reading.series.quantity, reading.series.sensor
        for name in self._sisters.get((place, quantity), {}):
            if name != sensor:
                self._note(Series(name, place, quantity), reading, kind)
        if kind == "air_temperature":
            self._note(Series(sensor, place, "relative_humidity"), reading, "relative_humidity")

    def _note(self, still: Series, reading: Reading, kind: str) -> None:
        history, floor = self._histories.get(still), quality_limits().get((kind, "sister_floor"))
        if history is None or history.previous is None or floor is None or reading.value is None:
            return
        witness = history.witnesses.get(reading.series)
        if witness is None:
            history.witnesses[reading.series] = _Witness(reading.value)
            return
        gone = abs(reading.value - witness.first)
        if still.quantity != reading.series.quantity:
            gone = _moisture_moved(history.previous.value, witness.first, reading.value)
        if gone < floor.value:
            witness.away_since = None
        elif witness.away_since is None:
            witness.away_since = reading.at
        elif reading.at - witness.away_since >= quality_limits()[kind, "sister_for"].value * 1000:
            witness.held = True

    def _jumped(self, history: _History, reading: Reading, kind: str) -> bool:
        """A jump faster than air can turn is held until the next reading confirms it."""
        step = quality_limits().get((kind, "step_per_minute"))
        if step is None or history.last_good is None:
            return False
        candidate = history.candidate
        later = candidate is None or reading.at > candidate.at
        known = (history.last_good, *((candidate,) if candidate is not None and later else ()))
        confirmed = any(_within_step(each, reading, step.value) for each in known)
        if confirmed or later:
            history.candidate = None if confirmed else reading
        return not confirmed

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
        # twice the joint standard uncertainty of this sensor and its least sure sister
        joint = hypot(self.accuracy(sensor, quantity), max(self.accuracy(name, quantity) for name in others))
        allowed = max(floor.value, 2.0 * joint)
        if abs(reading.value - reference) <= allowed:
            self._apart_since.pop(key, None)
            return ""
        since = self._apart_since.setdefault(key, reading.at)
        held = reading.at - since >= quality_limits()[kind, "sister_for"].value * 1000
        return DISAGREES if held else ""


def _contradicts_itself(history: _History, reading: Reading) -> bool:
    """Whether a sensor said two different things for one moment; then nothing it said for it counts."""
    word, history.word = history.word, reading
    if word is not None and word.at == reading.at and word.value != reading.value:
        history.conflict_at = reading.at
    return history.conflict_at == reading.at


def _moisture_moved(humidity: float | None, before: float, after: float) -> float:
    """How far a humidity [fraction] goes when air with the same water in it turns from `before` to `after` [°C]."""
    if humidity is None or abs(after - before) < _MOVES_NO_HUMIDITY:
        return 0.0
    pressures = [float(moist_air.saturation_pressure(value)) for value in (before, after)]
    return abs(min(1.0, humidity * pressures[0] / pressures[1]) - humidity)


def _within_step(earlier: Reading, later: Reading, step_per_minute: float) -> bool:
    if earlier.value is None or later.value is None:
        return False
    minutes = max(1.0, (later.at - earlier.at) / MINUTE)
    return abs(later.value - earlier.value) <= step_per_minute * minutes


def _fahrenheit_for(value: float, sister: float) -> bool:
    """Whether a value far from its sister's [°C] would meet it if it were Fahrenheit."""
    return abs(value - sister) > 2 * _UNIT_TOLERANCE and abs((value - 32.0) / 1.8 - sister) <= _UNIT_TOLERANCE
