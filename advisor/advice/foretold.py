"""The day ahead put together: the shop's air, the air outdoors, a forecast laid over it, and the windows."""

from dataclasses import dataclass, replace
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import numpy as np

from advisor.advice.film_view import UNKNOWN_POT
from advisor.advice.hours import HOUR, Floats
from advisor.advice.outlook import Outlook
from advisor.advice.plan import Plan
from advisor.advice.trace import Trace
from advisor.advice.windows import (
    Chances,
    Courses,
    Window,
    chances,
    courses,
    joint_paths,
    kept_warm,
    windows,
)
from advisor.catalog.coatings import Coating
from advisor.errors import UsageError
from advisor.shop.shop import Shop

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


def laid_over(outlook: Outlook, times: Floats, air: Floats, dew: Floats) -> Outlook:
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


def _exact(given: Trace, here: Courses, times: Floats) -> Courses:
    """A forecast as it is, beside each course of the room; not known beyond its ends."""
    shape = here.air_temperature.shape
    lines = [np.interp(times, given.times, each, left=np.nan, right=np.nan) for each in given.values.T]
    return Courses(*(np.broadcast_to(line, shape) for line in lines))


def _within(found: Chances, times: Floats, hours: tuple[int, int], shop: Shop) -> Chances:
    """Chances of the starts within some local hours alone."""
    zone = ZoneInfo(shop.zone or "UTC")
    local = [datetime.fromtimestamp(each, UTC).astimezone(zone) for each in times.tolist()]
    minutes = np.array([each.hour * 60 + each.minute for each in local])
    first, last = hours
    kept = (first <= minutes) & (minutes < last) if first < last else (first <= minutes) | (minutes < last)
    no_stop, no_change = (np.where(kept, each, np.nan) for each in (found.no_stop, found.no_change))
    return Chances(no_stop, no_change, found.members)


def _refuse_short(given: Trace, times: Floats) -> None:
    """A forecast must say something of the day ahead. Raises UsageError."""
    reaches = min(given.times[-1], times[-1]) - max(given.times[0], times[0])
    if not reaches >= LEAST_FORECAST:
        raise UsageError("--forecast is of other hours", "3 h or more of the next 24", "fetch a new one")
    near = (given.times >= times[0] - WIDEST_HOLE) & (given.times <= times[-1] + WIDEST_HOLE)
    if not np.all(np.diff(given.times[near]) <= WIDEST_HOLE):
        raise UsageError("--forecast has a hole", "6 h at most from time to time", "give its hours")
