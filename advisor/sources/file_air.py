"""A recorded CSV file as a source of air: read whole, its readings marked as they would have been at a moment."""

from collections import Counter
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

from advisor.catalog.limits import in_short
from advisor.errors import UsageError, did_you_mean, shown
from advisor.judge.conditions import AIR_QUANTITIES, Conditions
from advisor.readings.csv_file import CsvReadings
from advisor.readings.reading import Reading, Series
from advisor.readings.recorded import MarkedReadings, mark_until, read_recorded
from advisor.series.trace import Trace
from advisor.shop.shop import Shop
from advisor.sources.air_source import AirSource, zone_of
from advisor.sources.conditions import conditions_as_of
from advisor.times import milliseconds

_LAST = 2**62  # [ms] no reading is later


class FileAir(AirSource):
    """A file's readings. present [ms UTC]: of a file judged as of now; a line ahead of it puts none after itself.

    Raises FileError where it is no readings file at all.
    """

    def __init__(self, path: Path, shop: Shop, zone: ZoneInfo | None, present: int | None = None) -> None:
        self.shop = shop
        self.file = read_recorded(CsvReadings(path, shop.csv, zone, shop.spray_place or "shop", present))
        self.marked = MarkedReadings((), (), Counter(), 0)
        self._until: tuple[int, bool] | None = None

    def series(self) -> Sequence[Series]:
        """In the order of first mention."""
        return tuple(dict.fromkeys(reading.series for reading in self.file.readings))

    def place(self, asked: str | None, usual: str | None = None) -> str:
        """The place asked for, the shop's, or the only indoor one in the file."""
        places, wanted = self.file.places, asked or self.shop.spray_place
        if not places:
            return wanted or "shop"
        if wanted is not None and wanted not in places:
            known = [shown(place).strip("'") for place in places[:8]]
            raise UsageError(f"no readings at place {shown(wanted)}", "", did_you_mean(wanted, known))
        if wanted is not None:
            return wanted
        indoors = [place for place in places if self.shop.places.get(place) != "outdoors" and place != "outdoors"]
        likely = [usual for usual in ("booth", "shop") if usual in indoors][:1] or indoors
        if len(likely) == 1:
            return likely[0]
        several = ", ".join(shown(place) for place in places[:8])
        raise UsageError(f"the file has several places: {several}", "", "add --place")

    def newest(self, until: int, place: str | None, quantities: Collection[str]) -> int | None:
        """Of a place any reading tells that it was read, and so does a line that may have been one."""
        if place is not None:
            return self.file.newest(place, until)
        read = (reading.at for reading in self.file.readings if reading.series.quantity in quantities)
        return max((at for at in read if at <= until), default=None)

    def mark(self, until: int, keep_later: bool = False) -> MarkedReadings:
        """Mark the readings up to a moment as they would have been then; as `mark_until`."""
        if self._until != (until, keep_later):
            self._until = until, keep_later
            self.marked = mark_until(self.file, until, keep_later, self.shop.accuracy)
            self.counts = {
                "read": len(self.marked.readings),
                "later": self.marked.later,
                "rejected_lines": len(self.marked.rejects),
                "marks": dict(sorted(self.marked.counts.items())),
                "unread_columns": list(self.file.unread_columns),
            }
        return self.marked

    def curves(self, start: datetime, end: datetime, place: str | None = None) -> Mapping[Series, Trace]:
        """What is older is not marked, unless it was before: a year of minutes takes its time."""
        if self._until is None:
            first = milliseconds(start)
            self.file = replace(self.file, readings=tuple(each for each in self.file.readings if each.at >= first))
        return super().curves(start, end, place)

    def readings(
        self, start: int, end: int, places: Collection[str] | None, quantities: Collection[str]
    ) -> Iterable[Reading]:
        """As they were marked last where that was for this moment or later, else as of it."""
        if self._until is None or self._until[0] < end:
            self.mark(end)
        return [
            reading
            for reading in self.marked.readings
            if start <= reading.at <= end
            and (places is None or reading.series.place in places)
            and reading.series.quantity in quantities
        ]

    def about(
        self, spans: Sequence[tuple[int, int]], places: Collection[str], now: datetime | None
    ) -> Iterable[Reading]:
        """Marked without what lies between."""
        kept = [
            reading
            for reading in self.file.readings
            if reading.series.place in places and any(start <= reading.at <= end for start, end in spans)
        ]
        self.file = replace(self.file, readings=tuple(kept))
        return self.mark(_LAST if now is None else milliseconds(now)).readings


@dataclass(frozen=True)
class Recorded:
    """A file judged as of a moment. ahead: readings stamped after the present, seen when asked for the last ones."""

    air: FileAir
    as_of: datetime
    conditions: Conditions
    stale: bool
    ahead: int

    def told(self) -> str:
        """What a person should know of the file: marks by reason, lines and columns not read."""
        marked, unread = self.air.marked, self.air.file.unread_columns
        faults = [f"{count} {in_short(reason)}" for reason, count in marked.counts.most_common(4)]
        if len(marked.counts) > 4:
            faults.append("more in --json")
        if self.ahead:
            faults.append(f"{self.ahead} stamped after now and not read")
        if marked.rejects:
            first, count = marked.rejects[0], len(marked.rejects)
            faults.append(f"{count} line{'s' if count > 1 else ''} not read (first: {first.source}, {first.reason})")
        if unread:
            faults.append(f"columns not read: {', '.join(shown(name) for name in unread[:5])}")
        return f"Of {len(marked.readings):,} readings: {'; '.join(faults)}." if faults else ""


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
    zone, present = zone_of(zone_name or shop.zone), at == "now"
    latest = now + timedelta(seconds=shop.limit("clock_tolerance").value)
    air = FileAir(path, shop, zone, milliseconds(latest))
    where = air.place(place)
    as_of = air.as_of(at, zone, now, where, AIR_QUANTITIES)
    marked = air.mark(milliseconds(latest if present else as_of), present)
    conditions = conditions_as_of(marked.readings, as_of, where, shop, *ages, rejects=marked.rejects)
    ages_read = [conditions.at_work(quantity).age for quantity in AIR_QUANTITIES]
    stale = present and any(age is not None and age > shop.limit("fresh_for").value for age in ages_read)
    ahead = sum(reading.at > milliseconds(latest) for reading in air.file.readings) if at == "last" else 0
    return Recorded(air, as_of, conditions, stale, ahead)
