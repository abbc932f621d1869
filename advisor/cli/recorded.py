"""A recorded file for `advisor check`: which moment, which place, and what is said of its readings."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from advisor.advice.conditions import Conditions
from advisor.catalog.marks import in_short
from advisor.errors import UsageError, did_you_mean, shown
from advisor.logbook.conditions import conditions_as_of, milliseconds, moment_of
from advisor.readings.csv_file import CsvReadings, parse_time
from advisor.readings.recorded import MarkedReadings, RecordedFile, mark_until, read_recorded
from advisor.shop.shop import Shop


@dataclass(frozen=True)
class Recorded:
    """A file judged as of a moment."""

    as_of: datetime
    conditions: Conditions
    file: RecordedFile
    marked: MarkedReadings
    stale: bool
    ahead: int  # readings stamped after the present, seen when asked for the last ones

    def counted(self) -> dict[str, Any]:
        """Counts for the JSON record: read, later, rejected lines, marks by reason, columns nobody reads."""
        return counted(self.file, self.marked)

    def told(self) -> str:
        """What a person should know of the file: marks by reason, lines and columns not read."""
        faults = [f"{count} {in_short(reason)}" for reason, count in self.marked.counts.most_common(4)]
        if len(self.marked.counts) > 4:
            faults.append("more in --json")
        if self.ahead:
            faults.append(f"{self.ahead} stamped after now and not read")
        if self.marked.rejects:
            first, count = self.marked.rejects[0], len(self.marked.rejects)
            faults.append(f"{count} line{'s' if count > 1 else ''} not read (first: {first.source}, {first.reason})")
        if self.file.unread_columns:
            faults.append(f"columns not read: {', '.join(shown(name) for name in self.file.unread_columns[:5])}")
        return f"Of {len(self.marked.readings):,} readings: {'; '.join(faults)}." if faults else ""


def counted(file: RecordedFile, marked: MarkedReadings) -> dict[str, Any]:
    """What became of a file's readings."""
    return {
        "read": len(marked.readings),
        "later": marked.later,
        "rejected_lines": len(marked.rejects),
        "marks": dict(sorted(marked.counts.items())),
        "unread_columns": list(file.unread_columns),
    }


def judge_file(
    path: Path,
    at: str,
    zone_name: str | None,
    place: str | None,
    shop: Shop,
    now: datetime,
    ages: tuple[float | None, float | None],
) -> Recorded:
    """Read a CSV file and take its readings as of `at`: now, last, or an ISO time. Raises UsageError or FileError."""
    zone = zone_of(zone_name or shop.zone)
    tolerance = timedelta(seconds=shop.limit("clock_tolerance").value)
    file = read_recorded(
        CsvReadings(path, shop.csv, zone, shop.spray_place or "shop", milliseconds(now + tolerance)),
    )
    where = place_in(file, place, shop)
    newest = file.newest(where, milliseconds(now + tolerance)) if at == "last" else None
    as_of = moment_asked(at, zone, now, newest, tolerance)
    present = at == "now"
    until = milliseconds(as_of + tolerance if present else as_of)
    marked = mark_until(file, until, present, shop.accuracy)
    conditions = conditions_as_of(marked.readings, as_of, where, shop, *ages, rejects=marked.rejects)
    fresh_for = shop.limit("fresh_for").value
    ages_read = [conditions.at_work(quantity).age for quantity in ("air_temperature", "relative_humidity")]
    stale = present and any(age is not None and age > fresh_for for age in ages_read)
    ahead = sum(reading.at > milliseconds(now + tolerance) for reading in file.readings) if at == "last" else 0
    return Recorded(as_of, conditions, file, marked, stale, ahead)


def moment_asked(at: str, zone: ZoneInfo | None, now: datetime, newest: int | None, tolerance: timedelta) -> datetime:
    """The moment that --at names: now, last (the newest reading, ms UTC), or an ISO time. Raises UsageError."""
    if at == "now" or (at == "last" and newest is None):
        return now
    if at == "last" and newest is not None:
        return min(now, moment_of(newest))
    moment = parse_time(at, zone)
    if moment is None:
        raise UsageError(f"--at {shown(at)} is no time", "now, last, or like 2025-10-14T14:05Z", "correct it")
    if moment > now + tolerance:
        raise UsageError(f"--at {shown(at)} lies in the future", "a time up to now", "correct it")
    return moment


def zone_of(name: str | None) -> ZoneInfo | None:
    """A zone by name; None for none. Raises UsageError for an unknown one."""
    if name is None:
        return None
    try:
        return ZoneInfo(name)
    except (KeyError, ValueError, OSError) as error:
        raise UsageError(f"no zone {shown(name)}", "a name like Europe/London", "correct it") from error


def place_in(file: RecordedFile, asked: str | None, shop: Shop) -> str:
    """The place whose air is judged: the one asked for, the shop's, or the only indoor one in the file."""
    places = file.places
    if not places:
        return asked or shop.spray_place or "shop"
    wanted = asked or shop.spray_place
    if wanted is not None:
        if wanted not in places:
            raise UsageError(
                f"no readings at place {shown(wanted)}",
                "",
                did_you_mean(wanted, [shown(place).strip("'") for place in places[:8]]),
            )
        return wanted
    indoors = [place for place in places if shop.places.get(place) != "outdoors" and place != "outdoors"]
    for usual in ("booth", "shop"):
        if usual in indoors:
            return usual
    if len(indoors) == 1:
        return indoors[0]
    raise UsageError(
        f"the file has several places: {', '.join(shown(place) for place in places[:8])}", "", "add --place"
    )
