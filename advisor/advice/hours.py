"""A site's own log of its air, and the same in even hours; gaps stay gaps."""

import numpy as np
from numpy.typing import NDArray

from advisor.advice.trace import Trace, rising
from advisor.errors import OutOfRange

Floats = NDArray[np.float64]

HOUR = 3600.0  # [s]
# [s] a reading may come this much after its hour (loggers drift); the row counts as known only then
LATE = 300.0
BRIDGED = 3  # [rows] a gap may last for its neighbours to stand in


def hourly(times: Floats, *values: Floats) -> Trace:
    """A log of any cadence in even hours, counted back from its last reading: a row of all quantities each.

    times [s since 1970, UTC], rising; values: arrays of the same length, NaN where missing. An hour holds the readings
    from 55 min before its mark to 5 min after. Its value is the mean of those within 5 min of the mark; where there
    are none, the latest in the hour; where there is none at all, NaN. So a row is known 5 min after its mark, looks no
    further forward, and a log that has one reading an hour comes back as it is. Raises OutOfRange as `rising`, and for
    an empty log.
    """
    rising(times, values)
    some = np.zeros(times.shape, dtype=bool)
    for series in values:
        some |= np.isfinite(series)
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


def earlier(values: Floats, rows: int) -> Floats:
    """The value so many rows before each row; NaN where the log had not begun."""
    moved = np.full_like(values, np.nan)
    moved[rows:] = values[: max(len(values) - rows, 0)]
    return moved


def later(values: Floats, rows: int) -> Floats:
    """The value so many rows after each row; NaN where the log has ended."""
    moved = np.full_like(values, np.nan)
    moved[: max(len(values) - rows, 0)] = values[rows:]
    return moved


def last_known(values: Floats, rows: int) -> Floats:
    """Each value, or where it is missing the latest one of the `rows` before it."""
    filled = values
    for back in range(1, rows + 1):
        filled = np.where(np.isnan(filled), earlier(values, back), filled)
    return filled


def bridged(values: Floats, rows: int) -> Floats:
    """Values (rows, quantities) with a straight line over each gap of up to `rows` rows between two that are known."""
    filled = values.copy()
    for column in range(values.shape[1]):
        known = np.flatnonzero(np.isfinite(values[:, column]))
        for before in np.flatnonzero((np.diff(known) > 1) & (np.diff(known) <= rows + 1)):
            start, end = known[before], known[before + 1]
            filled[start : end + 1, column] = np.linspace(values[start, column], values[end, column], end - start + 1)
    return filled


def trailing_mean(values: Floats, rows: int) -> Floats:
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
