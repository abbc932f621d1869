"""Windows: when, in the next 24 h, a session would not be stopped, and with what chance.

The chance of a start rests on the share of courses the air may take (the forecast plus past errors, of the shop and
outdoors at the same moments) whose session meets no stop, brought to what such shares were worth in a year. A window is
a run of starts with a chance of a half or more; the chance stated for it is that of its worst start, and its best part
is told beside it. No chance is stated over 9 in 10.

Left to the verdict itself: a piece colder than the room, vapour on the sensors, what is in the pot, and all that only a
reading of the last minutes knows. The film is looked up every hour on eight of the courses that the air lets pass, with
the piece as the room model has it and the fastest thinner; the share that stops counts as a stop. That is stricter than
the verdict, which asks for a panel where nobody measured the piece.
"""

from dataclasses import dataclass

import numpy as np

from advisor.catalog.coatings import Coating
from advisor.film.film_map import Films, films_of
from advisor.film.mix import fastest, mix_of
from advisor.judge.conditions import MEASURED, Conditions, Measured, Surface
from advisor.judge.course import Course
from advisor.judge.film_rules import FILM_AIR, FILM_RULES, Pot, case_of, film_view
from advisor.judge.finding import OK, STOP, Level
from advisor.judge.plan import Plan, fan_flow
from advisor.outlook.many_sessions import Sessions, air_levels, relative_humidity, session_levels
from advisor.outlook.outlook import QUARTER, Outlook
from advisor.physics.air.moist_air import pressure_at_altitude
from advisor.physics.basics import Array
from advisor.series.trace import HOUR, runs
from advisor.shop.shop import Shop

LEAST_CHANCE = 0.5  # of a start in a window
MOST_CHANCE = 0.9  # stated: chances over 0.9 came true in 0.88 of the cases of the test years
# What a share is worth as a chance, in logarithms of odds: chance = TRUST x share + LEAN. Fitted over a year at two
# airports, held against a third (docs/outlook.md; tests/outside/windows.py): shares of 0.5 to 0.9 were too sure.
TRUST, LEAN = 0.87, -0.14
BEST_PART = 0.1  # how much less than the best start the best part of a window may have
MEMBERS = 60  # courses at most: 315 take five times as long and move a chance by 0.05 at most
FEWEST = 20
_BEYOND = HOUR  # [s] a session may reach past the outlook's end, the air held there
_SAME_MOMENT = 0.5 * HOUR  # [s] by which errors of two places may be apart and still be of one moment
_FILM_EVERY = 4  # quarter hours
_FILM_MEMBERS = 8  # courses whose films are looked at; twelve take half as long again
_CASES = 1536  # sessions computed at a time: their arrays stay small


@dataclass(frozen=True, eq=False)
class Courses:
    """Courses the air of a place may take (members, times): air temperature, dew point [°C]; the likeliest first."""

    air_temperature: Array
    dew_point: Array


@dataclass(frozen=True, eq=False)
class Chances:
    """Chances [fraction] by start (times,): of no stop, and of a GO without changes; NaN where it cannot be told.

    members: courses they are the share of. As `chances` gives them they are these shares.
    """

    no_stop: Array
    no_change: Array
    members: int

    def as_stated(self) -> "Chances":
        """What the shares are worth as chances, as they came true; none is 0 or 1, as no number of courses is."""
        return Chances(worth(self.no_stop, self.members), worth(self.no_change, self.members), self.members)


@dataclass(frozen=True)
class Window:
    """A run of starts, as moments [s since 1970, UTC]: from the first to the end of the last quarter hour.

    chance: of its worst start; best_from, best_until, best_chance: the same of its best part. At most 0.9.
    """

    start: float
    until: float
    chance: float
    best_from: float
    best_until: float
    best_chance: float


def courses(outlook: Outlook, paths: Array | None) -> Courses:
    """The likeliest course of a place, and one for each path of errors [K] (members, times, 2)."""
    air, dew = outlook.air_temperature[np.newaxis], outlook.dew_point[np.newaxis]
    if paths is not None:
        air = np.concatenate([air, air + paths[:, :, 0]])
        dew = np.concatenate([dew, dew + paths[:, :, 1]])
    return Courses(air, np.minimum(dew, air))


def joint_paths(one: Outlook, other: Outlook | None) -> tuple[Array | None, Array | None]:
    """Up to 60 error paths of one place, and of two those of the same moments; None with fewer than 20 of them."""
    if one.error_paths is None or one.path_starts is None:
        return None, None
    if other is None:
        return _thinned(one.error_paths), None
    if other.error_paths is None or other.path_starts is None:
        return None, None
    apart = np.abs(one.path_starts[:, np.newaxis] - other.path_starts)
    beside = apart.argmin(axis=1)
    here = np.flatnonzero(apart[np.arange(len(beside)), beside] <= _SAME_MOMENT)
    if len(here) < FEWEST:
        return None, None
    return _thinned(one.error_paths[here]), _thinned(other.error_paths[beside[here]])


def _thinned(paths: Array) -> Array:
    """Evenly spread over the days they are from; the newest is kept."""
    number = min(len(paths), MEMBERS)
    return paths[np.round(np.linspace(len(paths) - 1, 0, number)).astype(np.int64)[::-1]]


def kept_warm(outdoors: Courses, shop: Shop) -> Courses:
    """A shop nobody reads, from the air outdoors: kept at `outlook_room_kept` or warmer, with the outdoor moisture."""
    air = np.maximum(outdoors.air_temperature, shop.limit("outlook_room_kept").value)
    return Courses(air, np.minimum(outdoors.dew_point, air))


def chances(
    room: Courses, outdoors: Courses | None, coating: Coating, shop: Shop, plan: Plan, pot: Pot, step: float = QUARTER
) -> Chances:
    """The chance of a session begun at each time of the courses, `step` [s] apart.

    outdoors: None where nothing is known of it: then the air of the room as it is counts through the session. With the
    likeliest course alone (one member) a chance is 1 or 0: whether that course stops.
    """
    sessions = None if outdoors is None else _sessions(room, outdoors, shop, plan, step)
    if sessions is None:
        levels = _as_it_is(room, coating, shop, plan, step)
    else:
        parts = [sessions.some(slice(n, n + _CASES)) for n in range(0, sessions.air_temperature.size, _CASES)]
        each = [session_levels(part, coating, shop, plan, pot.substrate) for part in parts]
        levels = np.concatenate(each).reshape(room.air_temperature.shape)
    first = 1 if len(levels) > 1 else 0
    members = levels[first:]
    no_stop, no_change = (np.mean(members < STOP, axis=0), np.mean(members == OK, axis=0))
    looked = _film_cases(members, no_stop)
    if looked:
        course = _film_air(room, sessions, looked, first, shop, plan, pot, step)
        forms = _film_forms(course, looked, len(no_stop), coating, shop, plan, pot)
        no_stop, no_change = no_stop * forms, no_change * forms
    ends = (np.arange(levels.shape[1]) - levels.shape[1] + 1) * step + plan.length
    known = np.isfinite(room.air_temperature[0] + room.dew_point[0]) & (ends <= _BEYOND)
    if outdoors is not None:
        known &= np.isfinite(outdoors.air_temperature[0] + outdoors.dew_point[0])
    return Chances(np.where(known, no_stop, np.nan), np.where(known, no_change, np.nan), len(members))


def worth(share: Array, members: int) -> Array:
    """The chance that a share of so many courses stands for; half a course is left at either end."""
    end = 0.5 / (members + 1)
    held = np.clip(share, end, 1.0 - end)
    odds = np.exp(LEAN) * (held / (1.0 - held)) ** TRUST
    return np.asarray(odds / (1.0 + odds))


def windows(times: Array, chance: Array, step: float = QUARTER) -> tuple[Window, ...]:
    """The runs of starts with a chance of a half or more; NaN ends one."""
    found = []
    for first, last in runs(chance >= LEAST_CHANCE):
        part = chance[first : last + 1]
        best = int(part.argmax())
        near = next(
            run for run in runs(part >= min(part[best], MOST_CHANCE) - BEST_PART - 1e-9) if run[0] <= best <= run[1]
        )
        found.append(
            Window(
                float(times[first]), float(times[last]) + step, _stated(part),
                float(times[first + near[0]]), float(times[first + near[1]]) + step,
                _stated(part[near[0] : near[1] + 1]),
            )
        )  # fmt: skip
    return tuple(found)


def _stated(part: Array) -> float:
    return min(float(part.min()), MOST_CHANCE)


def _sessions(room: Courses, outdoors: Courses, shop: Shop, plan: Plan, step: float) -> Sessions:
    """The sessions of every course and start, in one row; what is not known yet is held at 0 °C and not used."""
    times = room.air_temperature.shape[1]
    walls, piece = _walls_and_piece(room, shop, step)
    at = np.arange(times)[:, np.newaxis] + np.arange(plan.coats) * plan.period / step
    opened = [_at(each, at).reshape(-1, plan.coats) for each in (outdoors.air_temperature, outdoors.dew_point)]
    flat = [each.reshape(-1) for each in (room.air_temperature, room.dew_point, walls, piece)]
    return Sessions(*(np.nan_to_num(each) for each in (*flat, *opened)))


def _at(values: Array, places: Array) -> Array:
    """Values (members, times) between times at places (starts, coats): (members, starts, coats); held at the end."""
    last = values.shape[1] - 1
    under = np.clip(np.floor(places).astype(np.int64), 0, last)
    over = np.minimum(under + 1, last)
    return np.asarray(values[:, under] + np.clip(places - under, 0.0, 1.0) * (values[:, over] - values[:, under]))


def _walls_and_piece(room: Courses, shop: Shop, step: float) -> tuple[Array, Array]:
    """Walls and piece [°C] following the room's air as the log's running mean does; at first as the air is."""
    follows = 1.0 - np.exp(-step / shop.limit("surface_mean_over").value)
    walls = room.air_temperature.copy()
    for time in range(1, walls.shape[1]):
        walls[:, time] = walls[:, time - 1] + follows * (room.air_temperature[:, time] - walls[:, time - 1])
    return walls, np.minimum(room.air_temperature, walls) - shop.limit("surface_below_logged_air").value


def _as_it_is(room: Courses, coating: Coating, shop: Shop, plan: Plan, step: float) -> np.ndarray:
    """The level with the door shut: the worst of the room's air from the start to the end of the session."""
    _, piece = _walls_and_piece(room, shop, step)
    humidity = relative_humidity(room.air_temperature, room.dew_point)
    levels = air_levels(room.air_temperature, humidity, piece - room.dew_point, coating, shop)
    reach = min(int(np.ceil(plan.length / step)), levels.shape[1] - 1) + 1
    padded = np.pad(levels, ((0, 0), (0, reach - 1)), constant_values=OK)
    return np.asarray(np.lib.stride_tricks.sliding_window_view(padded, reach, axis=1).max(axis=2))


def _film_cases(levels: np.ndarray, chance: Array) -> list[tuple[int, int]]:
    """(member, start) whose films are looked at: at every hour near an even chance or better, of those the air lets."""
    starts = sorted({int(start) - int(start) % _FILM_EVERY for start in np.flatnonzero(chance >= LEAST_CHANCE)})
    looked = []
    for start in starts:
        good = np.flatnonzero(levels[:, start] < STOP)
        number = min(len(good), _FILM_MEMBERS)
        chosen = good[np.round(np.linspace(0, len(good) - 1, number)).astype(np.int64)] if number else good
        looked += [(int(member), start) for member in chosen]
    return looked


def _film_air(
    room: Courses, sessions: Sessions | None, looked: list[tuple[int, int]], first: int, shop: Shop, plan: Plan,
    pot: Pot, step: float,
) -> Course:  # fmt: skip
    """The air along the sessions whose films are looked at; without outdoor air that of their first moment alone."""
    members, starts = np.array(looked).T
    members = members + first
    if sessions is not None:
        cases = members * room.air_temperature.shape[1] + starts
        return sessions.some(cases).along(shop, plan, fan_flow(shop), pot.substrate)
    _, piece = _walls_and_piece(room, shop, step)
    air, dew, face = (each[members, starts][:, np.newaxis] for each in (room.air_temperature, room.dew_point, piece))
    none = np.zeros(1)
    return Course(none, none, none > 0.0, air, relative_humidity(air, dew), dew, face)


def _film_forms(
    course: Course, looked: list[tuple[int, int]], starts: int, coating: Coating, shop: Shop, plan: Plan, pot: Pot
) -> Array:
    """The share of the films looked at that do not stop, for each start in the hour after; 1 where none was."""
    moments = [coat * plan.period + plan.open_before + end for coat in range(plan.coats) for end in (0.0, plan.spray)]
    spraying = sorted({int(np.abs(course.seconds - moment).argmin()) for moment in moments})
    then = [[_then(course, case, moment, shop) for moment in spraying] for case in range(len(looked))]
    mix, films = mix_of(coating, pot.thinner or fastest(coating), pot.retarder), films_of(shop)
    cases = [case_of(each, shop, pot, mix) for moments_then in then for each in moments_then]
    films.compute(case for case in cases if case is not None)
    good = np.array([not any(_stops(each, coating, shop, pot, films) for each in some) for some in then])
    forms, at = np.ones(starts), np.array([start for _, start in looked])
    for start in np.unique(at):
        forms[start : start + _FILM_EVERY] = np.mean(good[at == start])
    return forms


def _then(course: Course, case: int, moment: int, shop: Shop) -> Conditions:
    """The conditions at a minute of a session, the piece as sure as if it had been measured."""
    air, piece = (float(np.clip(each[case, moment], *FILM_AIR)) for each in (course.air_temperature, course.surface))
    values = {
        ("room", "air_temperature"): Measured(air, 0.0, 0.0),
        ("room", "relative_humidity"): Measured(max(0.02, float(course.relative_humidity[case, moment])), 0.0, 0.0),
    }
    return Conditions(
        "room", values, pressure=float(pressure_at_altitude(shop.altitude)), piece=Surface(piece, 0.0, MEASURED)
    )


def _stops(then: Conditions, coating: Coating, shop: Shop, pot: Pot, films: Films) -> bool:
    film = film_view(then, coating, shop, pot, films)
    return any(rule(film, then, coating, shop).level is Level.STOP for rule in FILM_RULES)
