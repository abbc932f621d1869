"""A recorded file read whole, and marked as of a moment.

A weather forecast somebody else made, from a file: CSV as readings are written, or a JSON array.
"""

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from zoneinfo import ZoneInfo

from advisor.catalog.quantities import find_column
from advisor.errors import FileError, shown
from advisor.readings.csv_file import CsvReadings, parse_time
from advisor.readings.quality import QualityControl
from advisor.readings.reading import BAD, Reading, Reject, Series
from advisor.readings.senml import BadPayload, parse_json, read_value
from advisor.shop.shop import CsvDialect
from advisor.times import milliseconds


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
    entries = list(source)
    readings = sorted((each for each in entries if isinstance(each, Reading)), key=lambda reading: reading.at)
    rejects = tuple(each for each in entries if isinstance(each, Reject))
    return RecordedFile(tuple(readings), rejects, source.unread_columns)


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


PLACE, SENSOR = "outdoors", "forecast"
LARGEST_FILE = 1_000_000  # bytes; a fortnight of hours has 50,000
MOST_ENTRIES = 2_000


def read_forecast(path: Path, dialect: CsvDialect, zone: ZoneInfo | None) -> tuple[Reading, ...]:
    """Its values as readings of the place `outdoors`, in the order of time.

    CSV: `time`, `air_temperature_c`, and `dew_point_c` or `relative_humidity_pct` (or other units, as for readings).
    JSON: an array of objects with the same keys. Raises FileError where a line cannot be read or a value cannot be air:
    a forecast with holes that nobody sees is worse than none.
    """
    try:
        if path.exists() and not path.is_file():
            raise FileError(f"cannot read {shown(str(path))}: not a regular file", "CSV or JSON", "save it to a file")
        with path.open("rb") as stream:
            head = stream.read(LARGEST_FILE + 1)
    except (OSError, ValueError) as error:
        what = getattr(error, "strerror", None) or "no such path"
        raise FileError(f"cannot read {shown(str(path))}: {what}", "CSV or JSON", "check the path") from error
    if len(head) > LARGEST_FILE:
        raise FileError(f"{shown(str(path))} is larger than {LARGEST_FILE:,} bytes", "the next days", "cut it")
    if head.lstrip()[:1] in (b"[", b"{"):
        return forecast_of(head, str(path), zone)
    return _checked(str(path), read_recorded(CsvReadings(path, dialect, zone, PLACE)))


def forecast_of(text: bytes, where: str, zone: ZoneInfo | None) -> tuple[Reading, ...]:
    """The JSON form, from a file or a message: an array of objects with `time` and values. Raises FileError."""
    entries = sorted(_entries(where, text, zone), key=lambda reading: reading.at)
    return _checked(where, RecordedFile(tuple(entries), (), ()))


def _checked(where: str, file: RecordedFile) -> tuple[Reading, ...]:
    if file.rejects:
        first = file.rejects[0]
        raise FileError(f"{shown(where)}: {first.source}: {first.reason}", "whole lines", "mend the forecast")
    if len(file.places) > 1:
        raise FileError(f"{shown(where)}: {len(file.places)} places", "one", "give the shop's forecast alone")
    end = max((reading.at for reading in file.readings), default=0)
    marked = mark_until(file, end, False, lambda sensor, quantity: 0.0)
    for reading in marked.readings:
        if reading.level == BAD and reading.reason not in ("stuck", "pinned"):
            what = f"{reading.source}: {reading.series.quantity} is {reading.reason}"
            raise FileError(f"{shown(where)}: {what}", "a value of air", "mend the forecast")
    return marked.readings


def _entries(where: str, text: bytes, zone: ZoneInfo | None) -> list[Reading]:
    try:
        table = parse_json(text, LARGEST_FILE)
    except BadPayload as error:
        raise FileError(f"{shown(where)}: {error}", "a JSON array of objects", "check the file") from error
    if not isinstance(table, list) or len(table) > MOST_ENTRIES or not all(isinstance(each, dict) for each in table):
        raise FileError(
            f"{shown(where)}: no array of objects", f"up to {MOST_ENTRIES} of time and values",
            "check the file",
        )  # fmt: skip
    readings = []
    for number, entry in enumerate(table, start=1):
        source = f"entry {number}"
        moment = parse_time(str(entry.get("time", "")), zone)
        if moment is None:
            raise FileError(f"{shown(where)}: {source}: no time", "like 2025-10-14T14:00Z", "mend the forecast")
        for key, value in entry.items():
            column = find_column(key.casefold())
            if column is not None:
                series = Series(SENSOR, PLACE, column[0])
                readings.append(read_value(series, str(value), column[1], milliseconds(moment), source))
    return readings
