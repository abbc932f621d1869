"""The air at the work and the piece through a session, minute by minute, by the room model.

Given out to hundredths of a kelvin and tenths of a per cent: finer than the model knows, and coarser than what two
processors make of the same equations, so that no verdict hangs on which of them computed it.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from advisor.advice.conditions import Conditions, air_at_work, outdoor_air, surface_of_piece
from advisor.advice.fan import fan_flows
from advisor.advice.film_view import Pot
from advisor.advice.hours import Floats
from advisor.advice.plan import Plan
from advisor.catalog.substrates import find_substrate
from advisor.catalog.walls import UNSAID, find_wall
from advisor.physics.moist_air import Values, humidity_ratio
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


@dataclass(frozen=True, eq=False)
class Course:
    """The minutes of sessions: seconds after opening, since_gun [s], spraying (minutes,), the rest (cases, minutes).

    Air at the work [°C, fraction], its dew point and the piece's face [°C], to KELVIN_STEP and SHARE_STEP.
    """

    seconds: Floats
    since_gun: Floats
    spraying: NDArray[np.bool_]
    air_temperature: Floats
    relative_humidity: Floats
    dew_point: Floats
    surface: Floats

    def moments(self, case: int) -> tuple[Moment, ...]:
        """The minutes of one session."""
        rows = (self.air_temperature, self.relative_humidity, self.dew_point, self.surface)
        columns = [self.seconds, *(row[case] for row in rows), self.spraying, self.since_gun]
        return tuple(Moment(*each) for each in zip(*(column.tolist() for column in columns), strict=True))


def air_along(conditions: Conditions, shop: Shop, pot: Pot, plan: Plan) -> Course | None:
    """The session by each flow that the fan may have; None where the air in the room or outdoors is not known."""
    air, outdoors = air_at_work(conditions, shop), outdoor_air(conditions, shop)
    piece = surface_of_piece(conditions, shop)
    if air is None or outdoors is None or piece is None:
        return None
    # fifths of a kelvin and whole per cent: as fine as sensors are, so that no verdict hangs on less
    wall = air[0] if conditions.logged_air is None else conditions.logged_air
    warm, cold = _fifth(air[0]), _fifth(outdoors[0])
    damp, wet = (
        float(humidity_ratio(celsius, _percent(humidity), conditions.pressure))
        for celsius, humidity in ((warm, air[1]), (cold, outdoors[1]))
    )
    start = RoomStart(warm, damp, _fifth(wall), (board_at(_fifth(piece.value), pot.substrate),))
    comes_in = [cold] * plan.coats, [wet] * plan.coats
    return course_of(start, *comes_in, plan, shop, np.array(fan_flows(shop)), conditions.pressure)


def course_of(
    start: RoomStart, air: Sequence[Values], damp: Sequence[Values], plan: Plan, shop: Shop, flow: Values,
    pressure: float,
) -> Course:  # fmt: skip
    """The sessions that begin so while the fan runs, moving so much [m3/s].

    start: with one piece. air [°C], damp [kg/kg]: outdoors at each coat's opening.
    """
    leak = shop.room_volume * shop.limit("closed_room_leaks").value / _HOUR
    seconds = np.array(plan.moments())
    course = room_course(room_of(shop, pressure), start, _segments_of(plan, air, damp, flow, leak), seconds)
    warmth, dew, face = (
        _rounded(values, KELVIN_STEP)
        for values in (course.air_temperature, course.dew_point, course.piece_temperatures[0])
    )
    since = np.array([plan.since_gun(second) for second in seconds])
    gun = np.array([plan.is_spraying(second) for second in seconds])
    return Course(seconds, since, gun, warmth, _rounded(course.relative_humidity, SHARE_STEP), dew, face)


def board_at(celsius: Values, substrate: str) -> Piece:
    """A piece of a substrate at a temperature [°C]."""
    board = find_substrate(substrate)
    return Piece(board.thickness, board.density, board.heat_capacity, celsius)


def room_of(shop: Shop, pressure: float) -> Room:
    """The shop's room, its walls of brick where nobody said."""
    wall = find_wall(shop.walls or UNSAID)
    return Room(shop.room_volume, film_conductance=shop.wall_conductance, pressure=pressure, wall=wall)


def _segments_of(plan: Plan, air: Sequence[Values], damp: Sequence[Values], flow: Values, leak: float) -> list[Segment]:
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


def _rounded(values: Floats, step: float) -> Floats:
    """To the nearest step."""
    whole: Floats = np.round(np.round(values / step) * step, 6)
    return whole


def _fifth(celsius: float) -> float:
    """To a fifth of a kelvin."""
    return round(celsius * 5.0) / 5.0


def _percent(humidity: float) -> float:
    """To a whole per cent, 1 to 100 % [fraction]."""
    return min(1.0, max(0.01, round(humidity * 100.0) / 100.0))
