"""A recorded file read whole, and marked as of a moment."""

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass

from advisor.readings.csv_file import CsvReadings
from advisor.readings.quality import QualityControl
from advisor.readings.reading import Reading, Reject


@dataclass(frozen=True)
class RecordedFile:
    """Every reading of a file in the order of time, unmarked, and every line that gave none."""

    readings: tuple[Reading, ...]
    rejects: tuple[Reject, ...]
    unread_columns: tuple[str, ...]

    @property
    def places(self) -> tuple[str, ...]:
        """The places in the file, in the order of first mention."""
        return tuple(dict.fromkeys(reading.series.place for reading in self.readings))

    def newest(self, place: str, until: int) -> int | None:
        """The time [ms UTC], up to `until`, of the newest reading at a place or of a line that may have been one."""
        read = [reading.at for reading in self.readings if reading.series.place == place]
        unread = [reject.at for reject in self.rejects if reject.at is not None]
        return max((at for at in (*read, *unread) if at <= until), default=None)


@dataclass(frozen=True)
class MarkedReadings:
    """Readings and rejects up to a moment, each reading with its mark; `later` counts readings that were not read."""

    readings: tuple[Reading, ...]
    rejects: tuple[Reject, ...]
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
    return RecordedFile(tuple(readings), tuple(rejects), source.unread_columns)


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
    # a reject without a time of its own counts as just after the line before it
    rejects = tuple(reject for reject in file.rejects if keep_later or reject.at is None or reject.at <= until + 1)
    return MarkedReadings(marked, rejects, control.counts, len(file.readings) - len(chosen))
