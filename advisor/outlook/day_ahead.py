"""The night and the morning after: how low the room falls while a coat cures, and damp air over pieces still cold.

The day ahead put together: the shop's air, the air outdoors, a forecast laid over it, and the windows.
"""

from dataclasses import dataclass, replace
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import numpy as np

from advisor.catalog.coatings import Coating
from advisor.errors import refuse
from advisor.judge.conditions import Conditions
from advisor.judge.film_rules import UNKNOWN_POT
from advisor.judge.finding import floors_of
from advisor.judge.plan import Plan
from advisor.outlook.outlook import QUARTER, Outlook
from advisor.outlook.windows import (
    Chances,
    Courses,
    Window,
    chances,
    courses,
    joint_paths,
    kept_warm,
    windows,
)
from advisor.physics.basics import Array
from advisor.series.trace import HOUR, Mask, Trace
from advisor.shop.shop import Shop

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
    count = len(outlook.times) if hours is None else min(len(outlook.times), round(hours.value / QUARTER) + 1)
    air, dew, floors = outlook.air_temperature[:count], outlook.dew_point, floors_of(coating)
    pieces = lagging(outlook.air_temperature, shop.limit("surface_mean_over").value)
    coldest = int(np.argmin(air))
    cold = None if floors is None else _first(air < floors.go)
    wet = _first(pieces - dew < shop.limit("surface_margin").value)
    return NightAhead(
        low=float(air[coldest]),
        low_at=_moment(outlook.times[coldest]),
        low_edge=float(outlook.low.air_temperature[coldest]),
        dew_at=None if wet is None else _moment(outlook.times[wet]),
        dew_point=None if wet is None else float(dew[wet]),
        piece=None if wet is None else float(pieces[wet]),
        cold_from=None if cold is None else _moment(outlook.times[cold]),
    )


def _first(there: Mask) -> int | None:
    places = np.flatnonzero(there)
    return int(places[0]) if places.size else None


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


def lagging(air: Array, constant: float) -> Array:
    """Pieces [°C] that follow the air at quarter hours with a time constant [s], from where they are as warm as it."""
    keep = float(np.exp(-QUARTER / constant))
    pieces = np.array(air, dtype=np.float64)
    for n in range(1, len(pieces)):
        pieces[n] = keep * pieces[n - 1] + (1.0 - keep) * 0.5 * (air[n - 1] + air[n])
    return pieces


def _moment(seconds: float) -> datetime:
    return datetime.fromtimestamp(float(seconds), UTC)


KEPT_WARM, ROOM_AS_IT_IS, GIVEN, GIVEN_EXACT = "room-kept-warm", "room-as-it-is", "forecast-given", "forecast-exact"
LEAST_FORECAST = 3 * HOUR  # [s] of the day ahead a given forecast must reach
WIDEST_HOLE = 6 * HOUR  # [s] in a given forecast


@dataclass(frozen=True)
class Wanted:
    """What is to be sprayed: the coating, the session, and the local hours of its start.

    hours: from and until as minutes of the day, through midnight where the second is not later; None for any.
    """

    coating: Coating
    plan: Plan
    hours: tuple[int, int] | None = None


@dataclass(frozen=True, eq=False)
class Foretold:
    """The day ahead. place: where one sprays, or the only place; outdoor_place: empty where there is none.

    reason: why it cannot be told, empty where it can; then `room` is there. outdoors: None where it is not known, or is
    the place itself. assumed: what was taken for want of knowing. chances: None while too few past errors are known.
    """

    as_of: datetime
    place: str
    outdoor_place: str = ""
    coating: Coating | None = None
    room: Outlook | None = None
    outdoors: Outlook | None = None
    chances: Chances | None = None
    windows: tuple[Window, ...] = ()
    assumed: tuple[str, ...] = ()
    reason: str = ""


def with_windows(
    blank: Foretold, room: Outlook, outdoors: Outlook | None, given: Trace | None, wanted: Wanted | None,
    only_outdoors: bool, shop: Shop,
) -> Foretold:  # fmt: skip
    """The day ahead from the outlook of the place and, where there is one, of outdoors.

    only_outdoors: the place itself lies outdoors. given: somebody else's forecast of the air outdoors, rows of air
    temperature and dew point. Raises UsageError where it is of other hours or has a hole.
    """
    assumed: list[str] = []
    if given is not None:
        _refuse_short(given, room.times)
        if only_outdoors:
            room = laid_over(room, given.times, *given.values.T)
        elif outdoors is not None:
            outdoors = laid_over(outdoors, given.times, *given.values.T)
        assumed.append(GIVEN if only_outdoors or outdoors is not None else GIVEN_EXACT)
    answer = replace(
        blank, room=room, outdoors=outdoors, outdoor_place=blank.outdoor_place if outdoors is not None else ""
    )
    paths, outdoor_paths = joint_paths(room, outdoors)
    if paths is None or wanted is None:
        return replace(answer, assumed=tuple(assumed))
    here, there = courses(room, paths), None
    if only_outdoors:
        here, there = kept_warm(here, shop), here
        assumed.append(KEPT_WARM)
    elif outdoors is not None:
        there = courses(outdoors, outdoor_paths)
    elif given is not None:
        there = _exact(given, here, room.times)
    else:
        assumed.append(ROOM_AS_IT_IS)
    found = chances(here, there, wanted.coating, shop, wanted.plan, UNKNOWN_POT).as_stated()
    if wanted.hours is not None:
        found = _within(found, room.times, wanted.hours, shop)
    return replace(answer, chances=found, windows=windows(room.times, found.no_stop), assumed=tuple(assumed))


def laid_over(outlook: Outlook, times: Array, air: Array, dew: Array) -> Outlook:
    """An outlook with a forecast from elsewhere in place of its own likeliest course, where that reaches.

    times [s since 1970, UTC] rising; air, dew [°C]. The band and the error paths stay those of the outlook's own past:
    a forecast that was never scored here is not believed to be surer.
    """
    reaches = (times[0] <= outlook.times) & (outlook.times <= times[-1])
    given_air, given_dew = (np.interp(outlook.times, times, each) for each in (air, dew))
    new_air = np.where(reaches, given_air, outlook.air_temperature)
    new_dew = np.minimum(np.where(reaches, given_dew, outlook.dew_point), new_air)
    moved = new_air - outlook.air_temperature, new_dew - outlook.dew_point
    edges = [
        replace(
            edge,
            air_temperature=edge.air_temperature + moved[0],
            dew_point=edge.dew_point + moved[1],
            spread=np.maximum(edge.spread + moved[0] - moved[1], 0.0),
        )
        for edge in (outlook.low, outlook.high)
    ]
    return replace(outlook, air_temperature=new_air, dew_point=new_dew, low=edges[0], high=edges[1])


def _exact(given: Trace, here: Courses, times: Array) -> Courses:
    """A forecast as it is, beside each course of the room; not known beyond its ends."""
    shape = here.air_temperature.shape
    lines = [np.interp(times, given.times, each, left=np.nan, right=np.nan) for each in given.values.T]
    return Courses(*(np.broadcast_to(line, shape) for line in lines))


def _within(found: Chances, times: Array, hours: tuple[int, int], shop: Shop) -> Chances:
    """Chances of the starts within some local hours alone."""
    zone = ZoneInfo(shop.zone or "UTC")
    local = [datetime.fromtimestamp(each, UTC).astimezone(zone) for each in times.tolist()]
    minutes = np.array([each.hour * 60 + each.minute for each in local])
    first, last = hours
    kept = (first <= minutes) & (minutes < last) if first < last else (first <= minutes) | (minutes < last)
    no_stop, no_change = (np.where(kept, each, np.nan) for each in (found.no_stop, found.no_change))
    return Chances(no_stop, no_change, found.members)


def _refuse_short(given: Trace, times: Array) -> None:
    """A forecast must say something of the day ahead. Raises UsageError."""
    reaches = min(given.times[-1], times[-1]) - max(given.times[0], times[0])
    near = given.during(times[0] - WIDEST_HOLE, times[-1] + WIDEST_HOLE)
    refuse(
        (not reaches >= LEAST_FORECAST, "--forecast is of other hours",
         "3 h or more of the next 24", "fetch a new one"),
        (np.diff(near.times).max(initial=0.0) > WIDEST_HOLE, "--forecast has a hole",
         "6 h at most from time to time", "give its hours"),
    )  # fmt: skip
