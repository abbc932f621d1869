"""Where a trace is silent, and why: what a picture leaves open and a report names."""

from collections.abc import Sequence
from dataclasses import dataclass

from advisor.advice.trace import Trace, Window

_NEAR = 900.0  # [s] after which the air is not taken to be as it was read


@dataclass(frozen=True)
class Silence:
    """A stretch without a reading that counts; reason: the commonest mark of what was read in it, empty for nothing."""

    start: float
    end: float
    reason: str


@dataclass(frozen=True)
class Marked:
    """Readings that do not count, by their mark, outside the silences; first, last [s since 1970]."""

    reason: str
    count: int
    first: float
    last: float


def silences(trace: Trace, window: Window) -> tuple[Silence, ...]:
    """Stretches longer than a quarter of an hour without a reading that counts, as far as they lie in a window."""
    times = trace.times.tolist()
    begins = [min([window.start, *times[:1]]), *times]
    ends = [*times, max([window.end, *times[-1:]])]
    found = []
    for before, after in zip(begins, ends, strict=True):
        start, end = max(before, window.start), min(after, window.end)
        if after - before > _NEAR and end > start:
            found.append(Silence(start, end, trace.fault(Window(before, after))))
    return tuple(found)


def marked(trace: Trace, window: Window, silent: Sequence[Silence]) -> tuple[Marked, ...]:
    """Readings of a window that do not count though others beside them do."""
    found: dict[str, list[float]] = {}
    for at, reason, _ in trace.faults:
        if window.start <= at <= window.end and not any(gap.start <= at <= gap.end for gap in silent):
            found.setdefault(reason, []).append(at)
    return tuple(Marked(reason, len(times), min(times), max(times)) for reason, times in sorted(found.items()))
