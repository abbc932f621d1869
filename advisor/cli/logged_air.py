"""The air of a place and outdoors over a stretch of time, from a CSV file or the logbook."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from advisor.advice.air_record import AirRecord
from advisor.advice.conditions import AIR_QUANTITIES, outdoor_names
from advisor.cli.recorded import counted, place_in, zone_of
from advisor.errors import UsageError, did_you_mean, shown
from advisor.logbook.air_log import AirLog
from advisor.logbook.calibration_log import calibrations_in_force, with_calibrations
from advisor.logbook.conditions import milliseconds, moment_of
from advisor.logbook.paired_air import paired_air
from advisor.logbook.present import place_to_spray
from advisor.logbook.store import logbook, logbook_path
from advisor.readings.csv_file import CsvReadings
from advisor.readings.reading import Reading, Series
from advisor.readings.recorded import mark_until, read_recorded
from advisor.shop.shop import Shop

_OUTDOORS_PAIRED = 15 * 60.0  # [s] between two outdoor temperatures


@dataclass(frozen=True)
class AskedAir:
    """Where readings come from and which count. start None: so far back from the newest; end None: up to now.

    paired [s]: how far apart two temperatures indoors may be.
    """

    csv: Path | None
    place: str | None
    zone: ZoneInfo | None
    back: timedelta
    paired: float
    start: datetime | None = None
    end: datetime | None = None


@dataclass(frozen=True)
class LoggedAir:
    """What was read: the shop with its calibrations, the place, the air there and outdoors, counts of a file."""

    shop: Shop
    place: str
    indoors: AirRecord
    outdoors: AirRecord
    counts: dict[str, Any] | None = None


def shop_in_zone(shop: Shop, zone: str | None) -> Shop:
    """The shop, its clocks in the zone asked for. Raises UsageError for an unknown one."""
    asked = zone_of(zone)
    return shop if asked is None else replace(shop, zone=asked.key)


def logged_air(asked: AskedAir, shop: Shop, now: datetime) -> LoggedAir:
    """Read it. Raises UsageError, FileError or LogbookError."""
    if asked.place == "":
        raise UsageError("--place is empty", "a name", "leave it out or name one")
    return _of_file(asked.csv, asked, shop, now) if asked.csv is not None else _of_logbook(asked, shop, now)


def _of_file(path: Path, asked: AskedAir, shop: Shop, now: datetime) -> LoggedAir:
    file = read_recorded(CsvReadings(path, shop.csv, asked.zone, shop.spray_place or "shop"))
    place = place_in(file, asked.place, shop)
    newest = file.newest(place, milliseconds(now))
    end = asked.end or (now if newest is None else moment_of(newest))
    marked = mark_until(file, milliseconds(end), False, shop.accuracy)
    start = milliseconds(asked.start or end - asked.back)
    kept = [reading for reading in marked.readings if reading.at >= start]
    return _air(kept, place, asked, shop, counted(file, marked))


def _of_logbook(asked: AskedAir, shop: Shop, now: datetime) -> LoggedAir:
    path = logbook_path(shop.logbook)
    with logbook(path) as connection:
        log = AirLog(connection)
        shop = with_calibrations(shop, calibrations_in_force(connection))
        every = log.all_series()
        places = sorted({series.place for series in every})
        if asked.place is not None and asked.place not in places:
            raise UsageError(f"no readings at place {shown(asked.place)}", "", did_you_mean(asked.place, places))
        place = asked.place or place_to_spray(shop, every)
        series = _air_series(every, [place, *outdoor_names(shop)])
        until = milliseconds(asked.end or now)
        newest = [one.at for one in log.newest(until) if one.series in series and one.series.place == place]
        start = milliseconds(asked.start) if asked.start else max(newest, default=until) - _milliseconds(asked.back)
        return _air(log.between(start, until, series), place, asked, shop)


def _air_series(every: Sequence[Series], places: Sequence[str]) -> list[Series]:
    return [one for one in every if one.place in places and one.quantity in AIR_QUANTITIES]


def _milliseconds(span: timedelta) -> int:
    return span // timedelta(milliseconds=1)


def _air(
    readings: Iterable[Reading], place: str, asked: AskedAir, shop: Shop, counts: dict[str, Any] | None = None
) -> LoggedAir:
    kept = list(readings)
    indoors = paired_air(kept, [place], asked.paired, shop)
    outdoors = paired_air(kept, outdoor_names(shop), _OUTDOORS_PAIRED, shop)
    return LoggedAir(shop, place, indoors, outdoors, counts)
