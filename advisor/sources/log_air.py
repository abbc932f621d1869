"""The logbook as a source of air: what `watch` judges every minute, and every command beside it.

The test panels of a day, how they came out, and the air they were sprayed in.
"""

import json
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from contextlib import AbstractContextManager, contextmanager, nullcontext
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np

from advisor.errors import UsageError, did_you_mean, shown
from advisor.judge.conditions import Conditions, Panel, air_at_work
from advisor.logbook.air_log import AirLog
from advisor.logbook.calibration_log import Kept, calibrations_in_force
from advisor.logbook.job_log import JobLog
from advisor.logbook.store import logbook, logbook_path
from advisor.logbook.verdict_log import CLOCK_SET, FORECAST, kept_value
from advisor.outlook.outlook import Outlook
from advisor.readings.reading import BAD, CONFLICT, FUTURE, Reading, Series
from advisor.readings.recorded import forecast_of
from advisor.series.trace import AIR, Trace
from advisor.shop.shop import Shop
from advisor.sources.air_source import AirSource
from advisor.sources.conditions import conditions_as_of
from advisor.sources.counting import OF_THE_OUTLOOK, STEADY
from advisor.sources.file_air import FileAir
from advisor.times import local_day, milliseconds

LOOK_BACK = timedelta(hours=4)  # what the piece's temperature follows from
_AHEAD = 86_400_000  # [ms] a clock in another zone is ahead by less; further on a stamp tells nothing of the sensor
_FORECAST_COUNTS_FOR = 12 * 3_600_000  # [ms] after it came in: weather services send a new one every hour to six
_THINNED = 600_000  # [ms] of the logbook's minutes in one, for the outlook


@dataclass
class LogAir(AirSource):
    """The readings of a logbook, over one connection."""

    air_log: AirLog
    shop: Shop
    _ahead: dict[str, tuple[datetime, Outlook | None]] = field(default_factory=dict)

    def series(self) -> Sequence[Series]:
        """By place and quantity."""
        return self.air_log.all_series()

    def place(self, asked: str | None = None, usual: str | None = None) -> str:
        """The place asked for, which must have been read."""
        places = sorted({series.place for series in self.series()})
        if asked is not None and asked not in places:
            raise UsageError(f"no readings at place {shown(asked)}", "", did_you_mean(asked, places))
        return asked or (usual if usual in places else None) or place_to_spray(self.shop, self.series())

    def newest(self, until: int, place: str | None, quantities: Collection[str]) -> int | None:
        """Of the quantities asked for alone."""
        words = [word for word in self.air_log.newest(until) if word.series.quantity in quantities]
        return max((word.at for word in words if place in (None, word.series.place)), default=None)

    def readings(
        self, start: int, end: int, places: Collection[str] | None, quantities: Collection[str]
    ) -> Iterable[Reading]:
        """As they were marked when they came."""
        return self.air_log.between(start, end, self._of(places, quantities))

    def about(
        self, spans: Sequence[tuple[int, int]], places: Collection[str], now: datetime | None
    ) -> Iterable[Reading]:
        """Span by span."""
        series = [one for one in self.series() if one.place in places]
        return [reading for start, end in spans for reading in self.air_log.between(start, end, series)]

    def curves(self, start: datetime, end: datetime, place: str | None = None) -> Mapping[Series, Trace]:
        """Thinned by the database: a hundred days of minutes come back in a fifth of a second."""
        found = {}
        for series in self._of(None if place is None else (place,), OF_THE_OUTLOOK):
            times, values = self.air_log.thinned(milliseconds(start), milliseconds(end), series, _THINNED, STEADY)
            found[series] = Trace(np.array(times) / 1000.0, np.array(values))
        return found

    def outlook(self, now: datetime, place: str) -> Outlook | None:
        """As of the last full hour: so a daemon and a command say the same."""
        hour = now.replace(minute=0, second=0, microsecond=0)
        if self._ahead.get(place, (None,))[0] != hour:
            self._ahead[place] = hour, super().outlook(hour, place)
        return self._ahead[place][1]

    def conditions(self, now: datetime, place: str, past: bool = False) -> Conditions:
        """Conditions as of `now`; readings stamped a little ahead of it count as of now, later ones do not.

        What was stamped before the machine's clock was last set counts as unknown until its sensor has spoken again.
        past: `now` is a moment gone by, of which later readings are known: none ahead of it counts. Of most series the
        newest reading is enough; of the air at the place, the last hours.
        """
        log = self.air_log
        tolerance = timedelta(0) if past else timedelta(seconds=self.shop.limit("clock_tolerance").value)
        until = milliseconds(now + tolerance)
        later = [] if past else log.after(until)
        ahead = [each for each in later if each.reason in (FUTURE, CONFLICT) or each.value is None]
        readings = log.newest(until)
        followed = [word.series for word in readings if (word.series.place, word.series.quantity) == (place, AIR)]
        back = log.between(milliseconds(now - LOOK_BACK), until, followed)
        readings += [reading for reading in back if reading.reason != FUTURE]  # stamped by a clock that was wrong
        readings += [replace(each, level=BAD, reason=FUTURE) for each in ahead if each.at <= until + _AHEAD]
        readings.sort(key=lambda reading: reading.at)
        clock_set = int(kept_value(log.connection, CLOCK_SET) or 0)
        conditions = conditions_as_of(readings, now, place, self.shop, clock_set=clock_set)
        # the log knows a later moment than this clock: it was set back, and ages mean nothing
        return replace(conditions, doubt="clock-set") if len(later) > len(ahead) else conditions

    def forecast(self, now: datetime) -> tuple[Reading, ...]:
        """The newest that came in over MQTT; none where it is over twelve hours old."""
        kept = kept_value(self.air_log.connection, FORECAST) if self.shop.forecast_topic else None
        entry = None if kept is None else json.loads(kept)
        if entry is None or not 0 <= milliseconds(now) - int(entry["at"]) <= _FORECAST_COUNTS_FOR:
            return ()
        return forecast_of(str(entry["text"]).encode(), "the forecast in the logbook", None)

    def _of(self, places: Collection[str] | None, quantities: Collection[str]) -> list[Series]:
        return [one for one in self.series() if one.quantity in quantities and (places is None or one.place in places)]


def place_to_spray(shop: Shop, series: Sequence[Series]) -> str:
    """Whose readings decide: the shop's choice, else booth, shop, or the first indoor place that was read."""
    if shop.spray_place is not None:
        return shop.spray_place
    indoors = [one.place for one in series if shop.places.get(one.place) != "outdoors" and one.place != "outdoors"]
    return next((usual for usual in ("booth", "shop") if usual in indoors), indoors[0] if indoors else "shop")


@contextmanager
def log_air(shop: Shop, again: bool = False) -> Iterator[LogAir]:
    """A shop's logbook opened for a command, beside a running daemon or without one. Raises LogbookError.

    Its calibrated sensors are as sure as their calibrations. again: this command has opened it just before.
    """
    with logbook(logbook_path(shop.logbook), again=again) as connection:
        yield LogAir(AirLog(connection), with_calibrations(shop, calibrations_in_force(connection)))


def opened(csv: Path | None, shop: Shop, zone: ZoneInfo | None) -> AbstractContextManager[AirSource]:
    """A CSV file where one is named, else the logbook. Raises FileError or LogbookError."""
    return log_air(shop) if csv is None else nullcontext(FileAir(csv, shop, zone))


def with_calibrations(shop: Shop, kept: Mapping[str, Kept]) -> Shop:
    """The shop with each calibrated sensor as sure as its calibration."""
    calibrated = {
        name: {**shop.sensors.get(name, {}), "relative_humidity": one.calibration.uncertainty}
        for name, one in kept.items()
    }
    return replace(shop, sensors={**shop.sensors, **calibrated})


_LONGEST_DAY = timedelta(hours=25)


@dataclass
class Panels:
    """Reads panels beside the air; the air of a panel is looked up once."""

    air: LogAir
    _airs: dict[tuple[int, datetime, str], tuple[float, float]] = field(default_factory=dict)  # [°C, fraction]

    def of_the_day(self, now: datetime, place: str) -> tuple[Panel, ...]:
        """The panels sprayed today, by the shop's own day, that were looked at by `now`; what was seen last counts.

        place: where a panel was sprayed of which that was not said.
        """
        found, zone = {}, self.air.shop.zone
        for coat, seen in JobLog(self.air.air_log.connection).panels_seen(now - _LONGEST_DAY, now):
            if local_day(coat.started_at, zone) == local_day(now, zone):
                warm, damp = self._air(coat.id, coat.started_at, coat.place or place)
                found[coat.id] = Panel(
                    coat.coating, coat.started_at, seen.good, warm, damp, seen.defect or "", coat.thinner, coat.retarder
                )
        return tuple(found.values())

    def _air(self, coat: int, at: datetime, place: str) -> tuple[float, float] | tuple[None, None]:
        key = (coat, at, place)
        known = self._airs.get(key) or air_at_work(self.air.conditions(at, place, past=True), self.air.shop)
        if known is None:
            return None, None
        self._airs[key] = known
        return known


def present(air: LogAir, now: datetime, place: str, doubt: str | None) -> Conditions:
    """The present as the daemon judges it, with the panels of the day; doubt: the daemon's, which counts here too.

    Two words on one air must not contradict each other.
    """
    conditions = air.conditions(now, place)
    return replace(conditions, panels=Panels(air).of_the_day(now, place), doubt=doubt or conditions.doubt)
