"""A weather forecast somebody else made, from a file: CSV as readings are written, or a JSON array."""

from pathlib import Path
from zoneinfo import ZoneInfo

from advisor.catalog.quantities import find_column
from advisor.catalog.units import to_si
from advisor.errors import FileError, shown
from advisor.readings.csv_file import CsvReadings, parse_time
from advisor.readings.number import parse_value
from advisor.readings.reading import BAD, GOOD, Reading, Series
from advisor.readings.recorded import RecordedFile, mark_until, read_recorded
from advisor.readings.strict_json import BadPayload, parse_json
from advisor.shop.shop import CsvDialect
from advisor.times import milliseconds

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
            if column is None:
                continue
            quantity, unit = column
            parsed = parse_value(str(value), unit=unit)
            si = None if parsed.value is None else to_si(parsed.value, unit)
            level = BAD if si is None else GOOD
            series = Series(SENSOR, PLACE, quantity)
            readings.append(Reading(series, si, milliseconds(moment), source, level, parsed.reason))
    return readings
