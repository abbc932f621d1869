"""The night and the morning after: how low the room falls while a coat cures, and damp air over pieces still cold."""

from dataclasses import dataclass, replace
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import numpy as np

from advisor.advice.conditions import Conditions
from advisor.advice.cure_floor import floors_of
from advisor.advice.outlook import Outlook
from advisor.catalog.coatings import Coating
from advisor.shop.shop import Shop

_QUARTER = 900.0  # [s] between the outlook's times
_MORNING = 6 * 3600.0  # [s] of the day; common practice, no source


@dataclass(frozen=True)
class NightAhead:
    """What the room's outlook says of the hours in which a coat cures.

    low [°C] and when; low_edge [°C]: 9 times out of 10 it stays above. dew_at: when the dew point first comes within
    the surface margin of pieces that lag the room, None where it does not; dew_point and piece [°C] then. cold_from:
    when it first comes under what the coating must be kept at, None where it does not.
    """

    low: float
    low_at: datetime
    low_edge: float
    dew_at: datetime | None
    dew_point: float | None
    piece: float | None
    cold_from: datetime | None = None


def night_ahead(outlook: Outlook, coating: Coating, shop: Shop) -> NightAhead:
    """Over the hours the coating must be kept warm, else until the next noon's day is through (24 h)."""
    hours = coating.numbers.get("never_fully_hard_hours")
    count = len(outlook.times) if hours is None else min(len(outlook.times), round(hours.value / _QUARTER) + 1)
    air, dew = outlook.air_temperature[:count], outlook.dew_point
    coldest = int(np.argmin(air))
    pieces = lagging(outlook.air_temperature, shop.limit("surface_mean_over").value)
    close = np.flatnonzero(pieces - dew < shop.limit("surface_margin").value)
    wet = None if not close.size else int(close[0])
    return NightAhead(
        float(air[coldest]), _moment(outlook.times[coldest]), float(outlook.low.air_temperature[coldest]),
        None if wet is None else _moment(outlook.times[wet]), None if wet is None else float(dew[wet]),
        None if wet is None else float(pieces[wet]), _cold_from(outlook, count, coating),
    )  # fmt: skip


def _cold_from(outlook: Outlook, count: int, coating: Coating) -> datetime | None:
    floors = floors_of(coating)
    if floors is None:
        return None
    under = np.flatnonzero(outlook.air_temperature[:count] < floors.go)
    return _moment(outlook.times[int(under[0])]) if under.size else None


def with_night(conditions: Conditions, night: NightAhead | None, now: datetime) -> Conditions:
    """The conditions with the night that the outlook tells, where nobody typed one."""
    if night is None or conditions.night_low is not None:
        return conditions
    after = None if night.cold_from is None else max(0.0, (night.cold_from - now).total_seconds())
    return replace(conditions, night_low=night.low, night_from=after)


def until_night(now: datetime, shop: Shop) -> float:
    """Seconds until an unheated shop gets cold: from the hour one goes home; 0 in the night."""
    local = now.astimezone(ZoneInfo(shop.zone)) if shop.zone else now.astimezone(UTC)
    since_midnight = (local.hour * 60 + local.minute) * 60.0 + local.second
    begins = shop.limit("night_begins").value
    return begins - since_midnight if _MORNING <= since_midnight < begins else 0.0


def lagging(air: np.ndarray[tuple[int], np.dtype[np.float64]], constant: float) -> np.ndarray[
    tuple[int], np.dtype[np.float64]
]:  # fmt: skip
    """Pieces [°C] that follow the air at quarter hours with a time constant [s], from where they are as warm as it."""
    keep = float(np.exp(-_QUARTER / constant))
    pieces = np.array(air, dtype=np.float64)
    for n in range(1, len(pieces)):
        pieces[n] = keep * pieces[n - 1] + (1.0 - keep) * 0.5 * (air[n - 1] + air[n])
    return pieces


def _moment(seconds: float) -> datetime:
    return datetime.fromtimestamp(float(seconds), UTC)
