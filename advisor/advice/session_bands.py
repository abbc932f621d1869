"""Many sessions at once, judged by the rules on the air alone: the limits of rules.py, over arrays.

It says what `session.worst_of_air` says of each, for a piece whose surface nobody measured (a test holds both
together). One by one, 96 starts with 60 courses of the air each would take minutes.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from advisor.advice.hours import Floats
from advisor.advice.session import MINUTE, Plan, fan_flow, is_open
from advisor.catalog.coatings import Band, Coating
from advisor.catalog.substrates import find_substrate
from advisor.physics.moist_air import MOLAR_MASS_RATIO, pressure_at_altitude, saturation_pressure
from advisor.physics.piece import Piece
from advisor.physics.room import HUMIDITY_RATIO_RANGE, Room, RoomStart, Segment, room_course
from advisor.shop.shop import Shop

OK, CHANGE, STOP = 0, 1, 2
Levels = NDArray[np.int8]
_HOUR = 3600.0
_COLDEST, _WARMEST = -40.0, 60.0  # [°C] the room model knows; beyond it every band has long decided


@dataclass(frozen=True, eq=False)
class Sessions:
    """Sessions to judge, one a case, in arrays (cases,): the room as the door is opened, and what comes in.

    air_temperature, dew_point, walls, piece [°C]: of the room, its walls, and the piece's face. outdoor_air,
    outdoor_dew [°C] (cases, coats): outdoors at the opening for each coat.
    """

    air_temperature: Floats
    dew_point: Floats
    walls: Floats
    piece: Floats
    outdoor_air: Floats
    outdoor_dew: Floats


@dataclass(frozen=True, eq=False)
class Along:
    """The open minutes of sessions (cases, minutes): air [°C], humidity [fraction], dew point [°C], the piece [°C].

    seconds (minutes,): since the first opening.
    """

    seconds: Floats
    air_temperature: Floats
    relative_humidity: Floats
    dew_point: Floats
    piece: Floats


def along(sessions: Sessions, shop: Shop, plan: Plan, substrate: str = "wood") -> Along:
    """The air at the work and the piece through the open minutes of every session."""
    pressure, board = float(pressure_at_altitude(shop.altitude)), find_substrate(substrate)
    start = RoomStart(
        _held(sessions.air_temperature), _ratio(sessions.dew_point, pressure), _held(sessions.walls),
        (Piece(board.thickness, board.density, board.heat_capacity, _held(sessions.piece)),),
    )  # fmt: skip
    outdoors, wet = _held(sessions.outdoor_air), _ratio(sessions.outdoor_dew, pressure)
    flow, leak = fan_flow(shop), shop.room_volume * shop.limit("closed_room_leaks").value / _HOUR
    segments = []
    for coat in range(plan.coats):
        if coat:  # between two coats what leaks in is of the air of both
            pair = slice(coat - 1, coat + 1)
            between = outdoors[:, pair].mean(axis=1), wet[:, pair].mean(axis=1)
            segments.append(Segment(plan.pause, *between, infiltration=leak))
        segments.append(
            Segment(
                plan.open_for, outdoors[:, coat], wet[:, coat], exhaust=flow, infiltration=leak,
                make_up_rise=plan.make_up_rise,
            )
        )  # fmt: skip
    minutes = sorted({*np.arange(0.0, plan.length, MINUTE).tolist(), plan.length})
    seconds = np.array([each for each in minutes if is_open(plan, each)])
    room = Room(shop.room_volume, film_conductance=shop.wall_conductance, pressure=pressure)
    course = room_course(room, start, segments, seconds)
    dew = np.minimum(course.dew_point, course.air_temperature)
    return Along(seconds, course.air_temperature, course.relative_humidity, dew, course.piece_temperatures[0])


def session_levels(sessions: Sessions, coating: Coating, shop: Shop, plan: Plan, substrate: str = "wood") -> Levels:
    """The worst of each session (cases,): OK, CHANGE or STOP, as it begins and along its minutes."""
    course = along(sessions, shop, plan, substrate)
    humidity = relative_humidity(sessions.air_temperature, sessions.dew_point)
    at_once = air_levels(sessions.air_temperature, humidity, sessions.piece - sessions.dew_point, coating, shop)
    later = air_levels(
        course.air_temperature, course.relative_humidity, course.piece - course.dew_point, coating, shop,
        shop.limit("session_tolerance_temperature").value, shop.limit("session_tolerance_humidity").value,
    )  # fmt: skip
    worst: Levels = np.maximum(at_once, later.max(axis=1))
    return worst


def air_levels(
    air: Floats, humidity: Floats, over_dew: Floats, coating: Coating, shop: Shop, kelvin: float = 0.0,
    share: float = 0.0,
) -> Levels:  # fmt: skip
    """The level of each air [°C, fraction] and piece [K over the dew point]; a value that is no number stops.

    kelvin, share: by how much a change must be outside its band before it counts [K, fraction].
    """
    worst = np.maximum(
        _band_levels(air, coating.air_temperature, kelvin), _band_levels(humidity, coating.relative_humidity, share)
    )
    clear = over_dew >= shop.limit("surface_margin").value - kelvin
    return np.maximum(worst, np.where(clear, OK, CHANGE)).astype(np.int8)


def relative_humidity(air: Floats, dew: Floats) -> Floats:
    """Humidity [fraction, at most 1] of air at a dew point [°C]."""
    shares = np.asarray(saturation_pressure(_held(dew))) / np.asarray(saturation_pressure(_held(air)))
    held: Floats = np.minimum(shares, 1.0)
    return held


def _band_levels(values: Floats, band: Band, spare: float) -> Levels:
    low, high = band.go_low.value, band.go_high.value
    within = (low - spare <= values) & (values <= high + spare)
    least = -np.inf if band.wait_below is None else min(band.wait_below.value, low)
    stops = ~((least <= values) & (values <= max(band.wait_above.value, high)))
    return np.where(stops, STOP, np.where(within, OK, CHANGE)).astype(np.int8)


def _held(celsius: Floats) -> Floats:
    held: Floats = np.clip(celsius, _COLDEST, _WARMEST)
    return held


def _ratio(dew: Floats, pressure: float) -> Floats:
    """Humidity ratio [kg/kg] at a dew point [°C], within what the room model takes."""
    vapour = np.asarray(saturation_pressure(_held(dew)))
    ratio: Floats = np.clip(MOLAR_MASS_RATIO * vapour / (pressure - vapour), *HUMIDITY_RATIO_RANGE)
    return ratio
