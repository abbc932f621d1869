"""A CSV file of readings: a header row, then one row per moment and place.

Every line gives readings or a reject with its reason; nothing is dropped silently and nothing is repaired.
"""

import csv
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime
from itertools import combinations
from pathlib import Path
from typing import TextIO
from zoneinfo import ZoneInfo

from advisor.errors import AdvisorError, FileError, UsageError, shown
from advisor.readings.columns import Columns, read_header
from advisor.readings.reading import HALF_LINE, Reading, Reject, Series
from advisor.readings.senml import read_value
from advisor.shop.shop import CsvDialect
from advisor.times import milliseconds

LONGEST_LINE = 4096  # characters
MOST_SERIES = 300  # places x sensors x quantities of one file
DEFAULT_PLACE, DEFAULT_SENSOR = "shop", "file"
_ISO = re.compile(
    r"[0-9]{4}-[0-9]{2}-[0-9]{2}[T ][0-9]{2}:[0-9]{2}(?::[0-9]{2}(?:[.,][0-9]+)?)?(?:Z|[+-][0-9]{2}(?::?[0-9]{2})?)?"
)
_LONGEST_NAME = 40  # characters of a place or sensor name
_FIRST_YEAR, _LAST_YEAR = 1970, 2100
_CLOCK_BACK = 30 * 60_000  # [ms] a sensor's local time that runs back further was set back in autumn


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
        if moment.tzinfo is None and zone is None:
            raise UsageError(
                f"time {shown(cleaned)} has no offset",
                "an offset or Z in the time, or a zone",
                "add --zone Europe/London (your zone) or zone in the configuration",
            )
        local = moment.tzinfo is None
        utc = (moment.replace(tzinfo=zone, fold=int(second)) if local else moment).astimezone(UTC)
        skipped = local and utc.astimezone(zone).replace(tzinfo=None) != moment
        # a year in which no logger can have written must not pass for a time
        return utc if not skipped and _FIRST_YEAR <= utc.year <= _LAST_YEAR else None
    except (ValueError, OverflowError, re.error):
        return None


@dataclass
class CsvReadings:
    """The readings of one file, in the order of its lines.

    Iterate once; then `unread_columns` are headers that hold no quantity of ours. A reject carries the time of its
    line, or of just after the lines before it, so that what it may have said is not taken for silence. until [ms UTC]:
    the present; a line ahead of it puts none after itself.
    """

    path: Path
    dialect: CsvDialect
    zone: ZoneInfo | None
    place: str = DEFAULT_PLACE
    until: int | None = None
    unread_columns: tuple[str, ...] = ()
    _newest: int = 0  # [ms UTC] of any line so far that is not ahead of `until`
    _times: dict[tuple[str, str], int] = field(default_factory=dict)  # newest by place and sensor
    _last_length: int = 2  # signs of the last field of the row before; the only row of a file is whole from two on
    _together: set[frozenset[Series]] = field(default_factory=set)  # quantities that one row gave side by side
    _series: dict[tuple[str, str], list[Series]] = field(default_factory=dict)  # of each value column
    _seen: set[Series] = field(default_factory=set)
    _consumed: int = 0

    def take_consumed(self) -> int:
        """About how many bytes were read since this was last asked, for a progress bar."""
        consumed, self._consumed = self._consumed, 0
        return consumed

    def __iter__(self) -> Iterator[Reading | Reject]:
        if self.path.exists() and not self.path.is_file():
            raise FileError(
                f"cannot read {self.path}: not a regular file", "a CSV text file", "save it to a file first"
            )
        try:
            with self.path.open(encoding=self.dialect.encoding, errors="surrogateescape") as stream:
                columns = self._header(stream)
                self.unread_columns = columns.unread
                yield from self._rows(stream, columns)
        except (OSError, UnicodeError, ValueError) as error:
            if isinstance(error, AdvisorError):
                raise
            what = error.strerror if isinstance(error, OSError) else "not text in this encoding"
            raise FileError(
                f"cannot read {shown(str(self.path))}: {what}", "a CSV text file", "check the path and the encoding"
            ) from error

    def _header(self, stream: TextIO) -> Columns:
        line = ""
        while not line.strip():
            line = stream.readline(LONGEST_LINE + 1)
            if not line:
                raise FileError(f"{self.path} is empty", "a header row, then one row per reading", "check the file")
        if len(line) > LONGEST_LINE or not _is_text(line):
            raise FileError(f"{self.path} is not a text file in {self.dialect.encoding}", "CSV", "check the file")
        headers = self._fields(line.rstrip("\n"))
        signs = [sign for sign in ",;\t|" if sign != self.dialect.delimiter and sign in line]
        if len(headers) == 1 and signs:
            raise FileError(
                f"{self.path} seems to be separated by {signs[0]!r}",
                f"{self.dialect.delimiter!r}",
                f"write [csv] delimiter = {signs[0]!r} in the configuration",
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
                yield self._reject(number, f"longer than {LONGEST_LINE} characters", line, columns)
                continue
            text = line.rstrip("\r\n")
            if not text.strip():
                continue
            told = self._row(number, text, complete, columns)
            if isinstance(told, str):
                yield self._reject(number, told, text, columns)
            else:
                yield from told

    def _reject(self, number: int, reason: str, text: str, columns: Columns) -> Reject:
        """A reject with its own time where that can be read, else just after everything before it."""
        fields = text.split(self.dialect.delimiter)
        stands = columns.time < len(fields) and len(text) <= LONGEST_LINE
        own = self._moment(fields[columns.time], ("", "")) if stands else None
        if own is None:
            at = self._newest + 1
        else:
            at = own if own < self._newest else max(own, self._newest + 1)
            self._pass(own)
        return Reject(f"line {number}", reason, shown(text), at)

    def _pass(self, at: int) -> None:
        if self.until is None or at <= self.until:
            self._newest = max(self._newest, at)

    def _row(self, number: int, text: str, complete: bool, columns: Columns) -> list[Reading] | str:
        """The readings of a row, or why it gives none."""
        if not _is_text(text):
            return f"not text in {self.dialect.encoding}"
        try:
            fields = self._fields(text)
        except csv.Error as error:
            return f"not CSV ({error})"
        short = columns.count - len(fields)
        # a last field without a line end may have been cut off while it was written
        if not complete and (short > 0 or (short == 0 and len(fields[-1]) < self._last_length)):
            return HALF_LINE
        if short:
            return self._count_fault(fields, columns.count)
        place = fields[columns.place].strip() if columns.place is not None else self.place
        sensor = fields[columns.sensor].strip() if columns.sensor is not None else DEFAULT_SENSOR
        if not all(0 < len(name) <= _LONGEST_NAME and name.isprintable() for name in (place, sensor)):
            return "a place or sensor name that is empty or too long"
        at = self._moment(fields[columns.time], (place, sensor))
        if at is None:
            return f"no time in {shown(fields[columns.time])}"
        if (sensor, place) not in self._series and len(self._series) * len(columns.values) >= MOST_SERIES:
            return f"more than {MOST_SERIES} sensors and quantities"
        self._pass(at)
        self._times[place, sensor] = max(at, self._times.get((place, sensor), at))
        self._last_length = len(fields[-1])
        return self._values(number, fields, columns, at, place, sensor)

    def _values(
        self, number: int, fields: list[str], columns: Columns, at: int, place: str, sensor: str
    ) -> list[Reading]:
        """The readings of a row's fields. An empty field is a missing reading only where this row's other quantities
        used to come together with it; else the row never was to hold it.
        """
        if (sensor, place) not in self._series:
            self._series[sensor, place] = [Series(sensor, place, column.quantity) for column in columns.values]
        series, source = self._series[sensor, place], f"line {number}"
        cells = [
            (one, fields[column.position], column.unit) for one, column in zip(series, columns.values, strict=True)
        ]
        given = [one for one, cell, _ in cells if cell.strip()]
        readings = [
            read_value(one, cell, unit, at, source, self.dialect.decimal)
            for one, cell, unit in cells
            if cell.strip() or self._is_missing(one, given)
        ]
        self._seen.update(given)
        if len(given) > 1 and len(self._together) < MOST_SERIES * MOST_SERIES:
            self._together.update(frozenset(pair) for pair in combinations(given, 2))
        return readings

    def _is_missing(self, one: Series, given: list[Series]) -> bool:
        beside = not given or any(frozenset((one, other)) in self._together for other in given)
        return one in self._seen and beside

    def _moment(self, stamp: str, key: tuple[str, str]) -> int | None:
        """Milliseconds UTC. Where a local hour comes twice, the second one when this sensor's time ran back."""
        moment = parse_time(stamp, self.zone, self.dialect.time_format)
        if moment is None:
            return None
        at = milliseconds(moment)
        before = self._times.get(key)
        if before is not None and at <= before - _CLOCK_BACK:
            later = parse_time(stamp, self.zone, self.dialect.time_format, second=True)
            second = at if later is None else milliseconds(later)
            if before <= second <= before + _CLOCK_BACK:
                return second
        return at

    def _count_fault(self, fields: list[str], wanted: int) -> str:
        fault = f"{len(fields)} fields where the header has {wanted}"
        if len(fields) > wanted and not any(field.strip() for field in fields[wanted:]):
            return f"{fault}: an empty field too many"
        if len(fields) > wanted and self.dialect.delimiter == "," and self.dialect.decimal == ".":
            fault += ": decimal commas? Write [csv] decimal and delimiter in the configuration"
        return fault


def _is_text(line: str) -> bool:
    """Printable signs and tabs only; bytes that did not fit the encoding came in as lone surrogates."""
    return line.isprintable() or all(
        (sign >= " " and not "\ud800" <= sign <= "\udfff") or sign in "\t\r\n" for sign in line
    )
