"""The rules for a coat that dries while the fan still runs: the gun's band holds no more, dew and cold still do."""

from dataclasses import replace

import numpy as np

from advisor.advice.course import Moment
from advisor.advice.cure_floor import against_floors, floors_of, under_floors
from advisor.advice.finding import CHANGE, OK, STOP, Finding, Level, Levels, Limits
from advisor.catalog.coatings import Coating
from advisor.physics.moist_air import Values
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
