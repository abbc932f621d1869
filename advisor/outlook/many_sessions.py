"""Many sessions at once, judged by the rules on the air, for a piece whose surface nobody measured.

One by one, 96 starts with 60 courses of the air each would take minutes.
"""

from dataclasses import dataclass, replace

import numpy as np

from advisor.catalog.coatings import Coating
from advisor.judge.course import Course, board_at, by_either_flow, course_of, levels_along
from advisor.judge.finding import Levels
from advisor.judge.plan import Plan, fan_flows
from advisor.judge.rules import band_limits, over_dew_limits
from advisor.physics.air.moist_air import MOLAR_MASS_RATIO, pressure_at_altitude, saturation_pressure
from advisor.physics.basics import Array
from advisor.physics.room.room import HUMIDITY_RATIO_RANGE, RoomStart
from advisor.shop.shop import Shop

_COLDEST, _WARMEST = -40.0, 60.0  # [°C] the room model knows; beyond it every band has long decided


@dataclass(frozen=True, eq=False)
class Sessions:
    """Sessions to judge, one a case, in arrays (cases,): the room as the door is opened, and what comes in.

    air_temperature, dew_point, walls, piece [°C]: of the room, its walls, and the piece's face. outdoor_air,
    outdoor_dew [°C] (cases, coats): outdoors at the opening for each coat.
    """

    air_temperature: Array
    dew_point: Array
    walls: Array
    piece: Array
    outdoor_air: Array
    outdoor_dew: Array

    def some(self, cases: slice | np.ndarray) -> "Sessions":
        """Some of the cases."""
        return Sessions(**{name: values[cases] for name, values in vars(self).items()})

    def along(self, shop: Shop, plan: Plan, flow: float, substrate: str) -> Course:
        """The air at the work and the piece through every session while the fan runs, moving so much [m3/s]."""
        pressure = float(pressure_at_altitude(shop.altitude))
        start = RoomStart(
            _held(self.air_temperature), _ratio(self.dew_point, pressure), _held(self.walls),
            (board_at(_held(self.piece), substrate),),
        )  # fmt: skip
        air, damp = _held(self.outdoor_air).T, _ratio(self.outdoor_dew, pressure).T
        course = course_of(start, list(air), list(damp), plan, shop, flow, pressure)
        return replace(course, dew_point=np.minimum(course.dew_point, course.air_temperature))


def session_levels(sessions: Sessions, coating: Coating, shop: Shop, plan: Plan, substrate: str = "wood") -> Levels:
    """The worst of each session (cases,): OK, CHANGE or STOP, as it begins and along its minutes."""
    humidity = relative_humidity(sessions.air_temperature, sessions.dew_point)
    over_dew = sessions.piece - sessions.dew_point
    begun = air_levels(sessions.air_temperature, humidity, over_dew, coating, shop)
    courses = [sessions.along(shop, plan, flow, substrate) for flow in fan_flows(shop)]
    rules = [list(levels_along(course, coating, shop).values()) for course in courses]
    return np.maximum(begun, by_either_flow(np.stack([np.maximum.reduce(each).max(axis=1) for each in rules])))


def air_levels(air: Array, humidity: Array, over_dew: Array, coating: Coating, shop: Shop) -> Levels:
    """The level of each air [°C, fraction] and piece that nobody measured [K over the dew point]."""
    by_band = np.maximum(
        band_limits(coating.air_temperature).levels(air), band_limits(coating.relative_humidity).levels(humidity)
    )
    return np.maximum(by_band, over_dew_limits(None, shop).levels(over_dew))


def relative_humidity(air: Array, dew: Array) -> Array:
    """Humidity [fraction, at most 1] of air at a dew point [°C]."""
    shares = np.asarray(saturation_pressure(_held(dew))) / np.asarray(saturation_pressure(_held(air)))
    return np.asarray(np.minimum(shares, 1.0))


def _held(celsius: Array) -> Array:
    return np.asarray(np.clip(celsius, _COLDEST, _WARMEST))


def _ratio(dew: Array, pressure: float) -> Array:
    """Humidity ratio [kg/kg] at a dew point [°C], within what the room model takes."""
    vapour = np.asarray(saturation_pressure(_held(dew)))
    return np.asarray(np.clip(MOLAR_MASS_RATIO * vapour / (pressure - vapour), *HUMIDITY_RATIO_RANGE))
