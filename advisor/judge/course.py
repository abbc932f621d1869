"""The air at the work and the piece through a session, minute by minute, by the room model.

Given out to hundredths of a kelvin and tenths of a per cent: finer than the model knows, and coarser than what two
processors make of the same equations, so that no verdict hangs on which of them computed it.

The rules along a session: of the air while the film is wet; for a coat that dries, dew and cold alone.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from advisor.catalog.coatings import Coating
from advisor.catalog.materials import UNSAID, find_substrate, find_wall
from advisor.judge.conditions import AIR_QUANTITIES, MEASURED, Conditions, air_at_work, outdoor_air, surface_of_piece
from advisor.judge.film_rules import Pot
from advisor.judge.finding import (
    CHANGE,
    OK,
    STOP,
    Finding,
    Level,
    Levels,
    Limits,
    against_floors,
    floors_of,
    under_floors,
)
from advisor.judge.panel_rule import settled_minutes
from advisor.judge.plan import Plan, fan_flows
from advisor.judge.rules import band_limits, over_dew_limits, over_dew_uncertainty, piece_limits, surface_decides
from advisor.physics.air.moist_air import RELATIVE_HUMIDITY_RANGE, Values, dew_point, humidity_ratio
from advisor.physics.basics import Array
from advisor.physics.room.piece import Piece
from advisor.physics.room.room import Room, RoomStart, Segment, room_course
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

    seconds: Array
    since_gun: Array
    spraying: NDArray[np.bool_]
    air_temperature: Array
    relative_humidity: Array
    dew_point: Array
    surface: Array

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
        float(humidity_ratio(celsius, min(1.0, max(0.01, round(humidity * 100.0) / 100.0)), conditions.pressure))
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


def _rounded(values: Array, step: float) -> Array:
    """To the nearest step."""
    return np.asarray(np.round(np.round(values / step) * step, 6))


def _fifth(celsius: float) -> float:
    """To a fifth of a kelvin."""
    return round(celsius * 5.0) / 5.0


CURING = "curing"


def dew_limits(measured: bool, shop: Shop) -> Limits:
    """Of a flashed-off coat's face over the dew point [K]; the 3 K of the surface rule are for a wet film.

    A face that was not measured asks for a change, never for a WAIT.
    """
    needed = shop.limit("surface_margin_certain").value
    return Limits(needed, below=needed if measured else None)


def cure_levels(air: Values, since: Values, held: bool, coating: Coating, shop: Shop) -> Levels:
    """Air [°C] against the floors of a coat of such an age [s], by what the room model is sure of."""
    floors, sure = floors_of(coating), shop.limit("session_tolerance_temperature").value
    if floors is None:
        return np.zeros(np.shape(air), np.int8)
    under, _ = under_floors(air - sure, since, floors)
    _, lost = under_floors(air + sure, since, floors)
    return np.where(lost & (not held), STOP, np.where(under, CHANGE, OK)).astype(np.int8)


def curing(moment: Moment, held: bool, coating: Coating, shop: Shop) -> Finding:
    """The air warm enough for a coat that cures, by what the room model is sure of; lost only where it surely is."""
    celsius, sure = moment.air_temperature, shop.limit("session_tolerance_temperature").value
    level = cure_levels(celsius, moment.since_gun, held, coating, shop)
    by = sure if level == STOP else -sure
    found = against_floors(CURING, celsius + by, moment.since_gun, held, coating)
    if found.level is Level.OK or found.margin is None:
        return found
    found = replace(found, measured=celsius, margin=found.margin - by)
    return found if level == STOP else replace(found, level=Level.CHANGE, limit=found.go_limit)


def slow_limits(coating: Coating) -> Limits:
    """Of the air while a coat dries [°C]: a change under its band, for it takes longer.

    A two-pack is still reacting then: colder than the air that it may be sprayed in is a stop for it.
    """
    low, least = coating.air_temperature.go_low, coating.air_temperature.wait_below
    return Limits(low.value, below=least.value if least is not None and coating.hardens_by == "two-pack" else None)


def by_either_flow(levels: Levels) -> Levels:
    """The level of sessions by each flow that the fan may have (flows, ...): a stop where every flow comes to one."""
    return np.asarray(np.where((levels == STOP).all(axis=0), STOP, np.minimum(levels.max(axis=0), CHANGE)))


def levels_along(
    course: Course, coating: Coating, shop: Shop, conditions: Conditions | None = None
) -> dict[str, Levels]:
    """What each rule on the air says of each minute (cases, minutes), as far as it counts.

    Band and surface count while the film is wet, gun in hand or flashing off; dew and the floors of cure until the
    fan's time is over. A change counts outside by more than the room model is sure of, a stop by more than the course
    is rounded by. conditions: how well air and piece are known, and what panels say; None: the piece was not measured.
    """
    warmth, damp = (
        (shop.limit(f"session_tolerance_{name}").value + LAST_BIT, 1.5 * step)
        for name, step in (("temperature", KELVIN_STEP), ("humidity", SHARE_STEP))
    )
    air, face, wet = course.air_temperature, course.surface, course.since_gun <= coating.numbers["flash_high"].value
    dew, measured, unsure, held = course.dew_point, False, None, False
    if conditions is not None:
        piece, held = surface_of_piece(conditions, shop), conditions.held
        measured = piece is not None and piece.basis == MEASURED
        humidity = np.maximum(course.relative_humidity, RELATIVE_HUMIDITY_RANGE[0])
        dew = np.asarray(dew_point(air, humidity))
        known = [conditions.at_work(quantity).uncertainty for quantity in (*AIR_QUANTITIES, "surface_temperature")]
        unsure = over_dew_uncertainty(air, humidity, (known[0], known[1], known[2])) if measured else None
    asked = {
        "air_temperature": band_limits(coating.air_temperature).levels(air, *warmth),
        "relative_humidity": band_limits(coating.relative_humidity).levels(course.relative_humidity, *damp),
        "surface": over_dew_limits(unsure, shop).levels(face - dew, *warmth),
        "piece_temperature": piece_limits(coating, shop).levels(face, *warmth) if measured else np.array(OK),
    }
    if conditions is not None and not measured and surface_decides(conditions, coating, shop):
        asked["surface"] = np.array(OK)  # unknown, which is said already
    if conditions is not None and conditions.panels:
        settled = settled_minutes(air, course.relative_humidity, conditions, coating, shop)
        asked["relative_humidity"] = np.where(settled, OK, asked["relative_humidity"])
    later = {
        "surface": dew_limits(measured, shop).levels(face - course.dew_point, *warmth),
        "air_temperature": slow_limits(coating).levels(air, *warmth),
    }
    levels = {rule: np.where(wet, each, later.get(rule, OK)) for rule, each in asked.items()}
    cure = cure_levels(air, course.since_gun, held, coating, shop)
    levels[CURING] = np.where(course.since_gun > 0.0, cure, OK)
    return {rule: np.broadcast_to(each, air.shape) for rule, each in levels.items()}
