"""The rows of a logbook that a review needs, and no more: a year of readings is not read for one coat."""

from collections.abc import Collection, Iterable

from advisor.logbook.air_log import AirLog
from advisor.logbook.conditions import milliseconds
from advisor.readings.reading import Reading
from advisor.review.coat import SprayedCoat

_HOUR = 3_600_000  # [ms]
BEFORE, AFTER = 30 * _HOUR, 36 * _HOUR  # a day that stood still, the shop's clean hours; the night, and what came late
_BELOW = (4 * _HOUR, _HOUR)  # about the coat below: what its piece followed, and its spraying


def spans_of(coats: Iterable[SprayedCoat], before: int = BEFORE, after: int = AFTER) -> list[tuple[int, int]]:
    """Stretches [ms UTC] to be read, those that meet joined, in the order of time."""
    spans = []
    for coat in coats:
        at = milliseconds(coat.sprayed)
        spans.append((at - before, at + after))
        if coat.below is not None and coat.below.sprayed is not None:
            under = milliseconds(coat.below.sprayed)
            spans.append((under - _BELOW[0], under + _BELOW[1]))
    joined: list[tuple[int, int]] = []
    for start, end in sorted(spans):
        if joined and start <= joined[-1][1]:
            joined[-1] = (joined[-1][0], max(end, joined[-1][1]))
        else:
            joined.append((start, end))
    return joined


def logged(
    air_log: AirLog, places: Collection[str], coats: Iterable[SprayedCoat], before: int = BEFORE, after: int = AFTER
) -> list[Reading]:
    """The readings of some places about some coats, from so long before each to so long after [ms]."""
    series = [one for one in air_log.all_series() if one.place in places]
    return [reading for start, end in spans_of(coats, before, after) for reading in air_log.between(start, end, series)]


def recorded(readings: Iterable[Reading], places: Collection[str], coats: Iterable[SprayedCoat]) -> list[Reading]:
    """The same out of a file's readings."""
    spans = spans_of(coats)
    return [
        reading for reading in readings
        if reading.series.place in places and any(start <= reading.at <= end for start, end in spans)
    ]  # fmt: skip
