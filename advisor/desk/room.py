"""What the log tells of the shop's own room: a trial of door and fan, and what the wood in it settles at."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from advisor.physics.air.wood import MOST_DAYS
from advisor.room.trial import LOOKED_BACK, OutdoorAir, Trial, best_opening, outdoors_during, read_trial
from advisor.room.wood_moisture import WoodMoisture, wood_of_log
from advisor.series.air_track import AirTrack
from advisor.series.trace import HUMIDITY
from advisor.shop.shop import Shop
from advisor.sources.air_source import zone_of
from advisor.sources.log_air import opened

_TRIAL_PAIRED, _WOOD_PAIRED = 180.0, 15 * 60.0  # [s] between two temperatures


@dataclass(frozen=True)
class FanTrial:
    """A trial, and the shop it is of with its calibrations; found: how many openings the log holds, where looked for.

    trial None: none of them tells anything. days: of log that were looked at. counts: of a file's readings.
    """

    trial: Trial | None
    found: int | None
    place: str
    days: float
    shop: Shop
    counts: dict[str, Any] | None


def fan_trial(
    started: datetime | None, minutes: float, shop: Shop, now: datetime, *, csv: Path | None, place: str | None,
    outdoors: tuple[float, float] | None,
) -> FanTrial:  # fmt: skip
    """Read the trial begun then, else the best opening of the last 30 days; outdoors [°C, fraction], else the sensor's.

    csv: a file of readings, else the logbook; place: where the sensor stands. Raises UsageError, FileError,
    LogbookError.
    """
    back, start, end, fresh = timedelta(seconds=LOOKED_BACK), None, None, shop.limit("outdoors_fresh_for").value
    if started is not None:
        back, ended = timedelta(seconds=fresh), started + timedelta(minutes=minutes)
        start, end = started - back, min(ended + back, now)
    with opened(csv, shop, zone_of(shop.zone)) as air:
        room = air.track(place, back, _TRIAL_PAIRED, now, start, end)
    around, read, found = room.outdoors or AirTrack(), room.trace(HUMIDITY).times, None
    if started is None:
        trial, found = best_opening(room, around, minutes * 60.0, air.shop)
    else:
        span = (started.timestamp(), ended.timestamp())
        beside = outdoors_during(around, *span, air.shop) if outdoors is None else _as_said(*outdoors, shop)
        trial = read_trial(room, beside, *span, air.shop)
    days = float(read[-1] - read[0]) / 86_400.0 if read.size else 0.0
    return FanTrial(trial, found, room.place, days, air.shop, air.counts)


def _as_said(temperature: float, humidity: float, shop: Shop) -> OutdoorAir:
    """The air outdoors, as sure as a sensor nobody described."""
    accuracy = (shop.accuracy(None, quantity) for quantity in ("air_temperature", "relative_humidity"))
    return OutdoorAir(temperature, max(humidity, 0.01), *accuracy)


def wood_here(
    shop: Shop, now: datetime, csv: Path | None, place: str | None
) -> tuple[WoodMoisture, str, dict[str, Any] | None]:
    """What the wood at a place settles at, the place, and the counts of a file's readings. Raises as `fan_trial`."""
    with opened(csv, shop, zone_of(shop.zone)) as air:
        room = air.track(place, timedelta(days=MOST_DAYS), _WOOD_PAIRED, now)
    return wood_of_log(room), room.place, air.counts
