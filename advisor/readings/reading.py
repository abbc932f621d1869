"""One reading of one quantity, with its mark."""

from dataclasses import dataclass

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
