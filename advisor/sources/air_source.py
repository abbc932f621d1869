"""Where the air comes from: what a CSV file and the logbook each give in the same way."""

from abc import ABC, abstractmethod
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from advisor.catalog.quantities import PARTICLES
from advisor.errors import OutOfRange, UsageError, shown
from advisor.judge.conditions import outdoor_names
from advisor.outlook.outlook import Outlook, outlook
from advisor.readings.csv_file import parse_time
from advisor.readings.reading import Reading, Series
from advisor.series.air_track import AirTrack
from advisor.series.trace import NOTHING, Trace
from advisor.shop.shop import Shop
from advisor.sources.counting import (
    OF_THE_AIR,
    OF_THE_CURE,
    OF_THE_OUTLOOK,
    Counts,
    chosen,
    joined,
    paired,
    past_air,
    traces,
)
from advisor.times import milliseconds, moment_of

MEMORY = timedelta(days=101)  # what the learner of the outlook looks at, and a day
_OUTDOORS_PAIRED = 15 * 60.0  # [s] between two outdoor temperatures
_DUST_LOG = timedelta(days=7)


class AirSource(ABC):
    """Readings of a shop, marked, by place and time. counts: what became of a file's readings, for a record:

    read, later, rejected lines, marks by reason, columns nobody reads.
    """

    shop: Shop
    counts: dict[str, Any] | None = None

    @abstractmethod
    def series(self) -> Sequence[Series]:
        """Every series that was ever read."""

    @abstractmethod
    def place(self, asked: str | None, usual: str | None = None) -> str:
        """The place asked for, else the usual one if it was read, else where one sprays. Raises UsageError."""

    @abstractmethod
    def newest(self, until: int, place: str | None, quantities: Collection[str]) -> int | None:
        """When it was last read up to a moment [ms UTC]; place: None for any."""

    @abstractmethod
    def readings(
        self, start: int, end: int, places: Collection[str] | None, quantities: Collection[str]
    ) -> Iterable[Reading]:
        """Marked readings from start to end [ms UTC], each series in the order of time; places: None for any."""

    @abstractmethod
    def about(
        self, spans: Sequence[tuple[int, int]], places: Collection[str], now: datetime | None
    ) -> Iterable[Reading]:
        """Everything read at some places in some spans [ms UTC], as known now, and no more of the source looked at."""

    def as_of(
        self, at: str, zone: ZoneInfo | None, now: datetime, place: str | None, quantities: Collection[str]
    ) -> datetime:
        """The moment that --at names: now, last (the newest reading), or an ISO time. Raises UsageError."""
        if at == "now":
            return now
        latest = now + timedelta(seconds=self.shop.limit("clock_tolerance").value)
        if at == "last":
            newest = self.newest(milliseconds(latest), place, quantities)
            return now if newest is None else min(now, moment_of(newest))
        moment = parse_time(at, zone)
        if moment is None:
            raise UsageError(f"--at {shown(at)} is no time", "now, last, or like 2025-10-14T14:05Z", "correct it")
        if moment > latest:
            raise UsageError(f"--at {shown(at)} lies in the future", "a time up to now", "correct it")
        return moment

    def room(self, place: str, start: datetime, end: datetime) -> Trace:
        """The air temperature of a place from start to end and a gap before: of several sensors the coldest."""
        longest = self.shop.limit("cure_gap_bridged").value
        first = milliseconds(start - timedelta(seconds=longest))
        found = traces(self.readings(first, milliseconds(end), (place,), OF_THE_CURE), (place,), OF_THE_CURE, self.shop)
        return joined(list(found.values()), Counts.COLDEST, longest)

    def track(
        self, asked: str | None, back: timedelta, longest: float, now: datetime,
        start: datetime | None = None, end: datetime | None = None,
    ) -> AirTrack:  # fmt: skip
        """Temperature and humidity of the same moments at a place and outdoors, of the fullest sensor.

        start None: so far back from the newest; end None: up to now. longest [s]: how far apart two temperatures
        indoors may be. Raises UsageError.
        """
        if asked == "":
            raise UsageError("--place is empty", "a name", "leave it out or name one")
        place, outdoors = self.place(asked), outdoor_names(self.shop)
        until = milliseconds(end or now)
        newest = self.newest(until, place, OF_THE_AIR)
        first = milliseconds(start or moment_of(until if newest is None else newest) - back)
        places = (place, *outdoors)
        found = traces(self.readings(first, until, places, OF_THE_AIR), places, OF_THE_AIR, self.shop)
        outside = paired(found, outdoors, _OUTDOORS_PAIRED, self.shop)
        return replace(paired(found, (place,), longest, self.shop), place=place, outdoors=outside)

    def curves(self, start: datetime, end: datetime, place: str | None = None) -> Mapping[Series, Trace]:
        """What the outlook learns from: every series of air and moisture, at a place or at all."""
        places = None if place is None else (place,)
        read = self.readings(milliseconds(start), milliseconds(end), places, OF_THE_OUTLOOK)
        return traces(read, places, OF_THE_OUTLOOK, self.shop)

    def outlook(self, now: datetime, place: str) -> Outlook | None:
        """The day ahead of a place from its last hundred days; None where its log is too short or broken off."""
        try:
            return outlook(past_air(self.curves(now - MEMORY, now, place), place), now.timestamp())
        except OutOfRange:
            return None

    def forecast(self, now: datetime) -> tuple[Reading, ...]:
        """What somebody else foretold of the air outdoors, where that was kept."""
        return ()

    def dust(self, now: datetime, place: str) -> tuple[Trace, str]:
        """The particle counts of the last week at a place [1/m3], of the counter that said most, and what of."""
        kinds = {one.quantity for one in self.series() if one.place == place and one.quantity.startswith(PARTICLES)}
        read = self.readings(milliseconds(now - _DUST_LOG), milliseconds(now), (place,), kinds) if kinds else ()
        found = traces(read, (place,), dict.fromkeys(kinds, ()), self.shop)
        largest = chosen(found, Counts.LARGEST)
        return (NOTHING, "") if largest is None else (found[largest], largest.quantity)


def zone_of(name: str | None) -> ZoneInfo | None:
    """A zone by name; None for none. Raises UsageError for an unknown one."""
    if name is None:
        return None
    try:
        return ZoneInfo(name)
    except (KeyError, ValueError, OSError) as error:
        raise UsageError(f"no zone {shown(name)}", "a name like Europe/London", "correct it") from error


def shop_in_zone(shop: Shop, zone: str | None) -> Shop:
    """The shop, its clocks in the zone asked for. Raises UsageError for an unknown one."""
    asked = zone_of(zone)
    return shop if asked is None else replace(shop, zone=asked.key)
