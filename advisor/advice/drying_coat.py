"""The rules along a session: of the air while the film is wet; for a coat that dries, dew and cold alone."""

from dataclasses import replace

import numpy as np

from advisor.advice.conditions import AIR_QUANTITIES, MEASURED, Conditions, surface_of_piece
from advisor.advice.course import KELVIN_STEP, LAST_BIT, SHARE_STEP, Course, Moment
from advisor.advice.cure_floor import against_floors, floors_of, under_floors
from advisor.advice.finding import CHANGE, OK, STOP, Finding, Level, Levels, Limits
from advisor.advice.panel_rule import settled_minutes
from advisor.advice.rules import band_limits, over_dew_limits, over_dew_uncertainty, piece_limits, surface_decides
from advisor.catalog.coatings import Coating
from advisor.physics.moist_air import RELATIVE_HUMIDITY_RANGE, Values, dew_point
from advisor.shop.shop import Shop

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
    worst: Levels = np.where((levels == STOP).all(axis=0), STOP, np.minimum(levels.max(axis=0), CHANGE))
    return worst


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
