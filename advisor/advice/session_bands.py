"""Many sessions at once, judged by the rules on the air alone: the limits of rules.py, over arrays.

It says what `session.worst_of_air` says of each, for a piece whose surface nobody measured (a test holds both
together). One by one, 96 starts with 60 courses of the air each would take minutes.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from advisor.advice.course import KELVIN_STEP, LAST_BIT, SHARE_STEP, room_of, rounded, segments_of
from advisor.advice.cure_floor import floors_of, under_floors
from advisor.advice.fan import fan_flows
from advisor.advice.hours import Floats
from advisor.advice.plan import Plan
from advisor.catalog.coatings import Band, Coating
from advisor.catalog.substrates import find_substrate
from advisor.physics.moist_air import MOLAR_MASS_RATIO, pressure_at_altitude, saturation_pressure
from advisor.physics.piece import Piece
from advisor.physics.room import HUMIDITY_RATIO_RANGE, RoomStart, room_course
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


def along(sessions: Sessions, shop: Shop, plan: Plan, flow: float, substrate: str = "wood") -> Along:
    """The air at the work and the piece through every session while the fan runs, moving so much [m3/s]."""
    pressure, board = float(pressure_at_altitude(shop.altitude)), find_substrate(substrate)
    start = RoomStart(
        _held(sessions.air_temperature), _ratio(sessions.dew_point, pressure), _held(sessions.walls),
        (Piece(board.thickness, board.density, board.heat_capacity, _held(sessions.piece)),),
    )  # fmt: skip
    outdoors, wet = _held(sessions.outdoor_air), _ratio(sessions.outdoor_dew, pressure)
    leak = shop.room_volume * shop.limit("closed_room_leaks").value / _HOUR
    air, damp = ([each[:, coat] for coat in range(plan.coats)] for each in (outdoors, wet))
    seconds = np.array(plan.moments())
    course = room_course(room_of(shop, pressure), start, segments_of(plan, air, damp, flow, leak), seconds)
    warmth, face, dew = (
        rounded(each, KELVIN_STEP) for each in (course.air_temperature, course.piece_temperatures[0], course.dew_point)
    )
    return Along(seconds, warmth, rounded(course.relative_humidity, SHARE_STEP), np.minimum(dew, warmth), face)


def session_levels(sessions: Sessions, coating: Coating, shop: Shop, plan: Plan, substrate: str = "wood") -> Levels:
    """The worst of each session (cases,): OK, CHANGE or STOP, as it begins and along its minutes.

    A stop along it where every flow that the fan may have comes to one, else a change.
    """
    humidity = relative_humidity(sessions.air_temperature, sessions.dew_point)
    at_once = air_levels(sessions.air_temperature, humidity, sessions.piece - sessions.dew_point, coating, shop)
    later = [
        _along_levels(along(sessions, shop, plan, flow, substrate), coating, shop, plan) for flow in fan_flows(shop)
    ]
    stopped = np.stack(later) == STOP
    both = np.where(stopped.all(axis=0), STOP, np.minimum(np.maximum.reduce(later), CHANGE))
    worst: Levels = np.maximum(at_once, both.astype(np.int8))
    return worst


def _along_levels(course: Along, coating: Coating, shop: Shop, plan: Plan) -> Levels:
    """The worst along each course: band and dew while the film is wet, then dew and the floors of cure."""
    kelvin, share = (shop.limit(f"session_tolerance_{name}").value + LAST_BIT for name in ("temperature", "humidity"))
    since = np.array([plan.since_gun(second) for second in course.seconds])
    over = course.piece - course.dew_point
    wet = since <= plan.flash
    worst = air_levels(
        course.air_temperature[:, wet], course.relative_humidity[:, wet], over[:, wet], coating, shop, kelvin, share,
        1.5 * KELVIN_STEP, 1.5 * SHARE_STEP,
    ).max(axis=1)  # fmt: skip
    close = ~(over[:, ~wet] >= shop.limit("surface_margin_certain").value - kelvin).all(axis=1)
    slow = ~(course.air_temperature[:, ~wet] >= coating.air_temperature.go_low.value - kelvin).all(axis=1)
    worst = np.maximum(worst, np.where(close | slow, CHANGE, OK))
    least = coating.air_temperature.wait_below
    if coating.hardens_by == "two-pack" and least is not None:
        cold = ~(course.air_temperature[:, ~wet] >= least.value - 1.5 * KELVIN_STEP - LAST_BIT).all(axis=1)
        worst = np.maximum(worst, np.where(cold, STOP, OK))
    floors = floors_of(coating)
    if floors is not None:
        dries = since > 0.0
        under, _ = under_floors(course.air_temperature[:, dries] - kelvin, since[dries], floors)
        _, lost = under_floors(course.air_temperature[:, dries] + kelvin, since[dries], floors)
        worst = np.maximum(worst, np.where(lost.any(axis=1), STOP, np.where(under.any(axis=1), CHANGE, OK)))
    levels: Levels = worst.astype(np.int8)
    return levels


def air_levels(
    air: Floats, humidity: Floats, over_dew: Floats, coating: Coating, shop: Shop, kelvin: float = 0.0,
    share: float = 0.0, past_kelvin: float = 0.0, past_share: float = 0.0,
) -> Levels:  # fmt: skip
    """The level of each air [°C, fraction] and piece [K over the dew point]; a value that is no number stops.

    kelvin, share: by how much a change must be outside its band before it counts [K, fraction]; past_kelvin,
    past_share: by how much a stop must be past its limit.
    """
    worst = np.maximum(
        _band_levels(air, coating.air_temperature, kelvin, past_kelvin),
        _band_levels(humidity, coating.relative_humidity, share, past_share),
    )
    clear = over_dew >= shop.limit("surface_margin").value - kelvin
    return np.maximum(worst, np.where(clear, OK, CHANGE)).astype(np.int8)


def relative_humidity(air: Floats, dew: Floats) -> Floats:
    """Humidity [fraction, at most 1] of air at a dew point [°C]."""
    shares = np.asarray(saturation_pressure(_held(dew))) / np.asarray(saturation_pressure(_held(air)))
    held: Floats = np.minimum(shares, 1.0)
    return held


def _band_levels(values: Floats, band: Band, spare: float, past: float) -> Levels:
    low, high = band.go_low.value, band.go_high.value
    within = (low - spare <= values) & (values <= high + spare)
    least = -np.inf if band.wait_below is None else min(band.wait_below.value, low)
    stops = ~((least - past <= values) & (values <= max(band.wait_above.value, high) + past))
    return np.where(stops, STOP, np.where(within, OK, CHANGE)).astype(np.int8)


def _held(celsius: Floats) -> Floats:
    held: Floats = np.clip(celsius, _COLDEST, _WARMEST)
    return held


def _ratio(dew: Floats, pressure: float) -> Floats:
    """Humidity ratio [kg/kg] at a dew point [°C], within what the room model takes."""
    vapour = np.asarray(saturation_pressure(_held(dew)))
    ratio: Floats = np.clip(MOLAR_MASS_RATIO * vapour / (pressure - vapour), *HUMIDITY_RATIO_RANGE)
    return ratio
