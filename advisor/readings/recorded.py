"""A recorded file read whole, and marked as of a moment."""

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass

from advisor.readings.csv_file import CsvReadings
from advisor.readings.quality import QualityControl
from advisor.readings.reading import HALF_LINE, UNREADABLE_LINE, Reading, Reject


@dataclass(frozen=True)
class RecordedFile:
    """Every reading of a file in the order of time, unmarked, and every line that gave none.

    end_fault: why the last line could not be read; empty when it could.
    """

    readings: tuple[Reading, ...]
    rejects: tuple[Reject, ...]
    unread_columns: tuple[str, ...]
    end_fault: str

    @property
    def places(self) -> tuple[str, ...]:
        """The places in the file, in the order of first mention."""
        return tuple(dict.fromkeys(reading.series.place for reading in self.readings))

    def newest(self, place: str, until: int) -> int | None:
        """The time [ms UTC] of the newest reading at a place, up to `until`; None when there is none."""
        return max((r.at for r in self.readings if r.series.place == place and r.at <= until), default=None)


@dataclass(frozen=True)
class MarkedReadings:
    """Readings up to a moment, each with its mark; `later` counts those after it, which were not read."""

    readings: tuple[Reading, ...]
    counts: Counter[str]
    later: int


def read_recorded(source: CsvReadings) -> RecordedFile:
    """Read a whole file. Raises FileError where it is no readings file at all."""
    readings: list[Reading] = []
    rejects: list[Reject] = []
    for entry in source:
        if isinstance(entry, Reading):
            readings.append(entry)
        else:
            rejects.append(entry)
    readings.sort(key=lambda reading: reading.at)
    end_fault = ""
    if source.tail is not None:
        end_fault = HALF_LINE if source.tail.reason == HALF_LINE else UNREADABLE_LINE
    return RecordedFile(tuple(readings), tuple(rejects), source.unread_columns, end_fault)


def mark_until(
    file: RecordedFile, until: int, keep_later: bool, accuracy: Callable[[str, str], float]
) -> MarkedReadings:
    """Mark the readings up to `until` [ms UTC] as they would have been marked then.

    keep_later: `until` is the present, so what lies beyond is a wrong clock and is kept with that mark; else later
    readings are merely counted.
    """
    control = QualityControl(accuracy)
    chosen = [reading for reading in file.readings if keep_later or reading.at <= until]
    marked = tuple(control.mark(reading, until) for reading in chosen)
    return MarkedReadings(marked, control.counts, len(file.readings) - len(chosen))
