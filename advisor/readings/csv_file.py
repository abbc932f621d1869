"""A CSV file of readings: a header row, then one row per moment and place.

Every line gives readings or a reject with its reason; nothing is dropped silently and nothing is repaired.
"""

import csv
import re
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TextIO
from zoneinfo import ZoneInfo

from advisor.catalog.units import to_si
from advisor.errors import FileError, UsageError, shown
from advisor.readings.columns import Columns, read_header
from advisor.readings.number import parse_value
from advisor.readings.reading import BAD, GOOD, HALF_LINE, Reading, Reject, Series
from advisor.shop.shop import CsvDialect

LONGEST_LINE = 4096  # characters
LONGEST_NAME = 40  # characters of a place or sensor name
DEFAULT_PLACE, DEFAULT_SENSOR = "shop", "file"
_ISO = re.compile(
    r"[0-9]{4}-[0-9]{2}-[0-9]{2}[T ][0-9]{2}:[0-9]{2}(?::[0-9]{2}(?:\.[0-9]{1,6})?)?(?:Z|[+-][0-9]{2}:?[0-9]{2})?"
)
_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_NAME = re.compile(r"[^\x00-\x1f\x7f]{1,40}")


def parse_time(
    text: str, zone: ZoneInfo | None, time_format: str | None = None, second: bool = False
) -> datetime | None:
    """A moment in UTC from ISO 8601 (or a strptime form); None when it is no such text.

    Without an offset the zone decides; with neither, UsageError says so. A clock time that the zone skips in spring
    is None. In the hour that comes twice in autumn the first is meant, or the second when `second` is set.
    """
    cleaned = text.strip()
    try:
        if time_format is not None:
            moment = datetime.strptime(cleaned, time_format)  # noqa: DTZ007 - the zone is put on below
        elif _ISO.fullmatch(cleaned):
            moment = datetime.fromisoformat(cleaned)
        else:
            return None
        if moment.tzinfo is not None:
            return moment.astimezone(UTC)
        if zone is None:
            raise UsageError(
                f"time {shown(cleaned)} has no offset",
                "an offset or Z in the time, or a zone",
                "add --zone Europe/London (your zone) or zone in the configuration",
            )
        utc = moment.replace(tzinfo=zone, fold=int(second)).astimezone(UTC)
        return utc if utc.astimezone(zone).replace(tzinfo=None) == moment else None
    except (ValueError, OverflowError):
        return None


class CsvReadings:
    """The readings of one file, in the order of its lines.

    Iterate once; then `tail` is the last line's reject when the file ends in a line that cannot be read, and
    `unread_columns` are headers that hold no quantity of ours.
    """

    def __init__(self, path: Path, dialect: CsvDialect, zone: ZoneInfo | None, place: str = DEFAULT_PLACE) -> None:
        self.path = path
        self.dialect = dialect
        self.zone = zone
        self.place = place
        self.tail: Reject | None = None
        self.unread_columns: tuple[str, ...] = ()
        self._time_text = ""
        self._time = 0
        self._decimals: int | None = None
        self._series: dict[tuple[str, str, str], Series] = {}
        self._seen: set[Series] = set()
        self._consumed = 0

    def take_consumed(self) -> int:
        """About how many bytes were read since this was last asked, for a progress bar."""
        consumed, self._consumed = self._consumed, 0
        return consumed

    def __iter__(self) -> Iterator[Reading | Reject]:
        try:
            with self.path.open(encoding=self.dialect.encoding, errors="backslashreplace") as stream:
                columns = self._header(stream)
                self.unread_columns = columns.unread
                yield from self._rows(stream, columns)
        except (OSError, UnicodeError) as error:
            what = error.strerror if isinstance(error, OSError) else "not text in this encoding"
            raise FileError(
                f"cannot read {self.path}: {what}", "a CSV text file", "check the path and the encoding"
            ) from error

    def _header(self, stream: TextIO) -> Columns:
        line = ""
        while not line.strip():
            line = stream.readline(LONGEST_LINE + 1)
            if not line:
                raise FileError(f"{self.path} is empty", "a header row, then one row per reading", "check the file")
        if len(line) > LONGEST_LINE or any(sign < " " and sign not in "\t\r\n" for sign in line) or "\\x" in line:
            raise FileError(f"{self.path} is not a text file in {self.dialect.encoding}", "CSV", "check the file")
        headers = self._fields(line.rstrip("\n"))
        if len(headers) == 1:
            for sign in ",;\t|":
                if sign != self.dialect.delimiter and sign in line:
                    raise FileError(
                        f"{self.path} seems to be separated by {sign!r}",
                        f"{self.dialect.delimiter!r}",
                        f"write [csv] delimiter = {sign!r} in the configuration",
                    )
        return read_header(headers, self.dialect.columns, str(self.path))

    def _fields(self, line: str) -> list[str]:
        return next(csv.reader([line], delimiter=self.dialect.delimiter), [])

    def _rows(self, stream: TextIO, columns: Columns) -> Iterator[Reading | Reject]:
        number = 1
        while line := stream.readline(LONGEST_LINE + 1):
            number += 1
            self._consumed += len(line)
            complete = line.endswith("\n")
            if not complete and len(line) > LONGEST_LINE:
                while rest := stream.readline(LONGEST_LINE):
                    if rest.endswith("\n"):
                        break
                self.tail = self._reject(number, f"longer than {LONGEST_LINE} characters", line)
                yield self.tail
                continue
            text = line.rstrip("\r\n")
            if not text.strip():
                continue
            result = self._row(number, text, complete, columns)
            self.tail = result if isinstance(result, Reject) else None
            if isinstance(result, Reject):
                yield result
            else:
                yield from result

    def _reject(self, number: int, reason: str, text: str) -> Reject:
        return Reject(f"line {number}", reason, shown(text))

    def _row(self, number: int, text: str, complete: bool, columns: Columns) -> list[Reading] | Reject:
        try:
            fields = self._fields(text)
        except csv.Error as error:
            return self._reject(number, f"not CSV ({error})", text)
        if len(fields) != columns.count:
            if not complete and len(fields) < columns.count:
                return self._reject(number, HALF_LINE, text)
            return self._reject(number, self._count_fault(fields, columns.count), text)
        stamp = fields[columns.time]
        if stamp != self._time_text:
            moment = self._moment(stamp)
            if moment is None:
                return self._reject(number, f"no time in {shown(stamp)}", text)
            self._time_text, self._time = stamp, moment
        place = fields[columns.place].strip() if columns.place is not None else self.place
        sensor = fields[columns.sensor].strip() if columns.sensor is not None else DEFAULT_SENSOR
        if not (_NAME.fullmatch(place) and _NAME.fullmatch(sensor)):
            return self._reject(number, "a place or sensor name that is empty or too long", text)
        cut = not complete and self._seems_cut(fields[-1])
        self._decimals = self._count_decimals(fields[-1])
        readings = []
        for column in columns.values:
            series = self._one_series(sensor, place, column.quantity)
            if cut and column.position == columns.count - 1:
                readings.append(Reading(series, None, self._time, f"line {number}", BAD, HALF_LINE))
                continue
            field = fields[column.position]
            if not field.strip() and series not in self._seen:
                continue  # an empty field of a sensor that never gave this quantity: it does not have it
            parsed = parse_value(field, self.dialect.decimal)
            self._seen.add(series)
            value = None if parsed.value is None else to_si(parsed.value, column.unit)
            level = BAD if value is None else GOOD
            readings.append(Reading(series, value, self._time, f"line {number}", level, parsed.reason))
        return readings

    def _moment(self, stamp: str) -> int | None:
        """Milliseconds UTC; in the autumn hour that comes twice, the second one when time would run backwards."""
        moment = parse_time(stamp, self.zone, self.dialect.time_format)
        if moment is None:
            return None
        at = (moment - _EPOCH) // timedelta(milliseconds=1)
        if at < self._time:
            later = parse_time(stamp, self.zone, self.dialect.time_format, second=True)
            second = at if later is None else (later - _EPOCH) // timedelta(milliseconds=1)
            at = second if second >= self._time else at
        return at

    def _one_series(self, sensor: str, place: str, quantity: str) -> Series:
        key = (sensor, place, quantity)
        if key not in self._series:
            self._series[key] = Series(sensor, place, quantity)
        return self._series[key]

    def _count_decimals(self, field: str) -> int:
        return len(field.partition(self.dialect.decimal)[2])

    def _seems_cut(self, field: str) -> bool:
        """Whether a last field without a line end has fewer decimals than the row before: cut off while written."""
        return self._decimals is not None and self._count_decimals(field) < self._decimals

    def _count_fault(self, fields: list[str], wanted: int) -> str:
        fault = f"{len(fields)} fields where the header has {wanted}"
        if len(fields) > wanted and self.dialect.delimiter == "," and self.dialect.decimal == ".":
            fault += ": decimal commas? Write [csv] decimal and delimiter in the configuration"
        return fault
