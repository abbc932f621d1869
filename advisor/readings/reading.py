"""One reading of one quantity, with its mark.

A humidity sensor against saturated salts: offset and gain with their uncertainty, applied to new readings.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from math import hypot

from advisor.errors import OutOfRange

GOOD, SUSPECT, BAD = "good", "suspect", "bad"

# Why a reading is not good. Each has its words in catalog/marks.csv.
MISSING = "missing"  # the sensor said it has no value
NOT_A_NUMBER = "not-a-number"
OUT_OF_RANGE = "out-of-range"
STEP = "step"
STUCK = "stuck"
PINNED = "pinned"
DISAGREES = "disagrees"
WRONG_UNIT = "wrong-unit"
FUTURE = "future"
STILL = "still"  # good, and told: it and its partner have not changed by a digit for an hour
OFFLINE = "offline"  # the sensor's last will
NOT_LIVE = "not-live"  # a stored or delayed message: kept, and never fresh
CONFLICT = "conflict"  # another value at the same moment
HALF_LINE = "half-line"
UNREADABLE_LINE = "unreadable-line"


@dataclass(frozen=True, slots=True)
class Series:
    """What a reading belongs to."""

    sensor: str
    place: str
    quantity: str


@dataclass(frozen=True, slots=True)
class Reading:
    """A value in SI (°C, fraction) at a moment; `at` is milliseconds UTC since 1970.

    `value` is None when the sensor gave none that can be read. `level` is good, suspect or bad; `reason` says why
    it is not good and is empty when it is; a good one may be `still`.
    """

    series: Series
    value: float | None
    at: int
    source: str
    level: str = GOOD
    reason: str = ""


@dataclass(frozen=True, slots=True)
class Reject:
    """A line or message that gave no reading: where, why, and a cut of what stood there.

    at [ms UTC]: its own time where that could be read, else just after the line before it; None outside a file.
    """

    source: str
    reason: str
    text: str
    at: int | None = None


READING_REPEATS_TO = 0.005  # [fraction] a shown humidity after a night in the box; common practice, no source
CLOSEST_POINTS = 0.2  # [fraction] two points nearer than this tell no slope
_SPAN = (0.35, 0.80)  # [fraction] where a sprayer reads; the uncertainty is the largest within it
_GAINS = (0.7, 1.4)
_OFFSETS = (-0.2, 0.2)


@dataclass(frozen=True)
class Point:
    """One salt check: humidity shown by the sensor and true humidity [fraction], and the latter's uncertainty."""

    shown: float
    true: float
    uncertainty: float


@dataclass(frozen=True)
class Calibration:
    """true = gain * shown + offset [fraction], with its standard uncertainty [fraction]."""

    gain: float
    offset: float
    uncertainty: float


def calibrate(points: Sequence[Point], stated_accuracy: float) -> Calibration:
    """Offset from one salt, offset and gain from two.

    One point says nothing of the slope: half the sensor's stated accuracy is kept for it. Raises OutOfRange when the
    points are too close or the sensor is so far off that it is broken.
    """
    if len(points) == 1:
        point = points[0]
        sure = hypot(point.uncertainty, READING_REPEATS_TO)
        return _believable(Calibration(1.0, point.true - point.shown, hypot(sure, stated_accuracy / 2.0)))
    if len(points) != 2:
        raise OutOfRange(f"{len(points)} salt readings", "one or two", "repeat with one or two salts")
    low, high = sorted(points, key=lambda point: point.true)
    if not high.true - low.true >= CLOSEST_POINTS or not high.shown > low.shown:
        raise OutOfRange("two salts that tell no slope", "20 % RH apart and in order", "take NaCl and MgCl2")
    gain = (high.true - low.true) / (high.shown - low.shown)
    offset = low.true - gain * low.shown
    sure = max(_interpolated(low, high, humidity) for humidity in _SPAN)
    return _believable(Calibration(gain, offset, sure))


def _interpolated(low: Point, high: Point, humidity: float) -> float:
    """Standard uncertainty on the line through two uncertain points."""
    share = (humidity - low.true) / (high.true - low.true)
    at_low = hypot(low.uncertainty, READING_REPEATS_TO) * (1.0 - share)
    at_high = hypot(high.uncertainty, READING_REPEATS_TO) * share
    return hypot(at_low, at_high)


def _believable(found: Calibration) -> Calibration:
    if not (_GAINS[0] <= found.gain <= _GAINS[1] and _OFFSETS[0] <= found.offset <= _OFFSETS[1]):
        raise OutOfRange(
            f"a sensor off by {found.offset * 100:+.1f} % with a slope of {found.gain:.2f}",
            "up to 20 % off, slope 0.7 to 1.4",
            "repeat the check; if it stays, replace the sensor",
        )
    return found


@dataclass(frozen=True)
class Calibrator:
    """Applies calibrations by sensor; ids are the logbook's, kept beside each corrected reading."""

    calibrations: Mapping[str, Calibration] = field(default_factory=dict)
    ids: Mapping[str, int] = field(default_factory=dict)

    def corrected(self, reading: Reading) -> Reading:
        """A humidity reading as the calibration says it is; others as they are.

        A corrected value may pass 100 % a little, as a raw one may: quality control judges it afterwards.
        """
        found = self.calibrations.get(reading.series.sensor)
        if found is None or reading.value is None or reading.series.quantity != "relative_humidity":
            return reading
        return replace(reading, value=found.gain * reading.value + found.offset)
