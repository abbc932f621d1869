"""The air at the work and the piece through a session, minute by minute, by the room model.

Given out to hundredths of a kelvin and tenths of a per cent: finer than the model knows, and coarser than what two
processors make of the same equations, so that no verdict hangs on which of them computed it.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from advisor.advice.conditions import Conditions, air_at_work, outdoor_air, surface_of_piece
from advisor.advice.film_view import Pot
from advisor.advice.plan import Plan
from advisor.catalog.substrates import find_substrate
from advisor.catalog.walls import UNSAID, find_wall
from advisor.physics.moist_air import Values, dew_point, humidity_ratio
from advisor.physics.piece import Piece
from advisor.physics.room import Room, RoomStart, Segment, room_course
from advisor.shop.shop import Shop

KELVIN_STEP, SHARE_STEP = 0.01, 0.001  # [K], [fraction] to which a course is given out
LAST_BIT = 1e-9  # [K], [fraction]: what is this near to a limit is at it
_HOUR = 3600.0


@dataclass(frozen=True)
class Moment:
    """One minute of a session: seconds after opening, air at the work [°C, fraction, °C], the piece's face [°C].

    since_gun [s]: since the gun was last laid down, negative before that.
    """

    seconds: float
    air_temperature: float
    relative_humidity: float
    dew_point: float
    surface: float
    spraying: bool
    since_gun: float


def air_along(conditions: Conditions, shop: Shop, pot: Pot, plan: Plan, flow: float) -> tuple[Moment, ...] | None:
    """The minutes of a session with so much exhaust [m3/s]; None where the air in the room or outdoors is not known.

    Its first moment is the air as it was given.
    """
    air, outdoors = air_at_work(conditions, shop), outdoor_air(conditions, shop)
    piece = surface_of_piece(conditions, shop)
    if air is None or outdoors is None or piece is None:
        return None
    # fifths of a kelvin and whole per cent: as fine as sensors are, and the same minute is not computed twice
    wall = air[0] if conditions.logged_air is None else conditions.logged_air
    course = _course(
        _fifth(air[0]), _percent(air[1]), _fifth(piece.value), _fifth(wall), _fifth(outdoors[0]),
        _percent(outdoors[1]), plan, pot.substrate, conditions.pressure, flow,
        room_of(shop, conditions.pressure), shop.limit("closed_room_leaks").value,
    )  # fmt: skip
    return (_as_given(course[0], air, piece.value), *course[1:])


@lru_cache(maxsize=4096)
def _as_given(first: Moment, air: tuple[float, float], piece: float) -> Moment:
    dew = float(dew_point(*air))
    return Moment(first.seconds, air[0], air[1], dew, piece, first.spraying, first.since_gun)


def room_of(shop: Shop, pressure: float) -> Room:
    """The shop's room, its walls of brick where nobody said."""
    wall = find_wall(shop.walls or UNSAID)
    return Room(shop.room_volume, film_conductance=shop.wall_conductance, pressure=pressure, wall=wall)


def segments_of(plan: Plan, air: Sequence[Values], damp: Sequence[Values], flow: float, leak: float) -> list[Segment]:
    """The stretches of a session: fan on about each coat, off where the pause outlasts it.

    air [°C], damp [kg/kg]: outdoors at each coat's opening; flow, leak [m3/s].
    """
    gun = plan.open_before + plan.spray
    segments = []
    for coat in range(plan.coats):
        last = coat == plan.coats - 1
        fan = gun + (plan.fan_after if last else plan.fan_between)
        segments.append(
            Segment(fan, air[coat], damp[coat], exhaust=flow, infiltration=leak, make_up_rise=plan.make_up_rise)
        )
        rest = 0.0 if last else plan.period - fan
        if rest > 0.0:  # what leaks in meanwhile is of the air of both
            warmth, wet = (0.5 * (np.asarray(each[coat]) + np.asarray(each[coat + 1])) for each in (air, damp))
            segments.append(Segment(rest, warmth, wet, infiltration=leak))
    return segments


def rounded(values: NDArray[np.float64], step: float) -> NDArray[np.float64]:
    """To the nearest step."""
    whole: NDArray[np.float64] = np.round(np.round(values / step) * step, 6)
    return whole


@lru_cache(maxsize=4096)
def _course(
    air: float, humidity: float, piece: float, wall: float, outdoor_air: float, outdoor_humidity: float, plan: Plan,
    substrate: str, pressure: float, flow: float, room: Room, leaks: float,
) -> tuple[Moment, ...]:  # fmt: skip
    board = find_substrate(substrate)
    start = RoomStart(
        air, float(humidity_ratio(air, humidity, pressure)), wall,
        (Piece(board.thickness, board.density, board.heat_capacity, piece),),
    )  # fmt: skip
    wet = float(humidity_ratio(outdoor_air, outdoor_humidity, pressure))
    leak = float(room.volume) * leaks / _HOUR
    segments = segments_of(plan, [outdoor_air] * plan.coats, [wet] * plan.coats, flow, leak)
    seconds = np.array(plan.moments())
    course = room_course(room, start, segments, seconds)
    warmth, damp, dew, face = (
        rounded(values[0], step)
        for values, step in (
            (course.air_temperature, KELVIN_STEP), (course.relative_humidity, SHARE_STEP),
            (course.dew_point, KELVIN_STEP), (course.piece_temperatures[0], KELVIN_STEP),
        )
    )  # fmt: skip
    return tuple(
        Moment(
            float(second), float(warmth[n]), float(damp[n]), float(dew[n]), float(face[n]), plan.is_spraying(second),
            float(plan.since_gun(second)),
        )
        for n, second in enumerate(seconds)
    )  # fmt: skip


def _fifth(celsius: float) -> float:
    """To a fifth of a kelvin."""
    return round(celsius * 5.0) / 5.0


def _percent(humidity: float) -> float:
    """To a whole per cent, 1 to 100 % [fraction]."""
    return min(1.0, max(0.01, round(humidity * 100.0) / 100.0))
