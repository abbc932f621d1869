"""Air through a compressor: the water in it, where that condenses, and how long a tank lasts.

Pressures are gauge [Pa] where the name says so, air_pressure absolute [Pa]; temperatures [°C]; flows are free air
[m3/s], measured at the compressor's intake. Vapour is an ideal gas; real air under pressure holds 2 to 3 % more of it,
so a pressure dew point is given 0.4 K too high at 7 bar, 0.7 K at 12 (the careful side). Dew points are over liquid
water.
"""

import math

from advisor.errors import OutOfRange
from advisor.physics.air.moist_air import (
    PRESSURE_RANGE,
    WATER_GAS_CONSTANT,
    absolute_humidity,
    dew_point_of,
    saturation_pressure,
    vapour_pressure,
)
from advisor.physics.basics import ZERO_CELSIUS, all_inside, inside

SEA_LEVEL = 101_325.0  # [Pa]
GAUGE_RANGE = (0.0, 2e6)  # [Pa], none to 20 bar
DEW_RANGE = (-80.0, 100.0)  # [°C], of a stated pressure dew point: class 1 dryers at -70 °C to a hot line
LINE_RANGE = (-40.0, 99.0)  # [°C], of a tank or line
TANK_RANGE = (1e-4, 10.0)  # [m3]
FLOW_RANGE = (0.0, 1.0)  # [m3/s] of free air


def water_entering(air_temperature: float, relative_humidity: float, intake_flow: float) -> float:
    """Water vapour that a compressor draws in [kg/s]: all of it, not what condenses later.

    air_temperature -60 to 100 °C, relative_humidity 0.001 to 1, intake_flow [m3/s] 0 to 1 of room air. With a flow of
    1 the number is that of `absolute_humidity` [kg/m3].
    """
    inside("intake flow", intake_flow, FLOW_RANGE, "m3/s")
    return float(absolute_humidity(air_temperature, relative_humidity)) * intake_flow


def pressure_dew_point(
    air_temperature: float, relative_humidity: float, gauge_pressure: float, air_pressure: float = SEA_LEVEL
) -> float:
    """Temperature [°C] below which room air, once compressed, gives off water.

    Its vapour pressure rises with the total (Dalton), up to a dew point of 100 °C. air_temperature -60 to 100 °C,
    relative_humidity 0.001 to 1, gauge_pressure 0 to 2e6 Pa.
    """
    return float(
        dew_point_of(vapour_pressure(air_temperature, relative_humidity) * _ratio(gauge_pressure, air_pressure))
    )


def atmospheric_dew_point(
    pressure_dew_point_temperature: float, gauge_pressure: float, air_pressure: float = SEA_LEVEL
) -> float:
    """Dew point [°C] of compressed air once it has expanded out of the gun, from its pressure dew point [°C].

    pressure_dew_point_temperature -80 to 100 °C (a pressure dew point stated under 0 °C is a frost point on a dryer's
    sheet, and this is over liquid water: 2 K apart at -20 °C); gauge_pressure 0 to 2e6 Pa.
    """
    inside("pressure dew point", pressure_dew_point_temperature, DEW_RANGE, "°C")
    vapour = saturation_pressure(pressure_dew_point_temperature) / _ratio(gauge_pressure, air_pressure)
    return float(dew_point_of(vapour))


def line_dew_point(pressure_dew_point_temperature: float, tank_temperature: float) -> float:
    """Pressure dew point [°C] of air after a drained tank: what is over the tank's temperature has dropped out there.

    pressure_dew_point_temperature [°C] of the air going in, tank_temperature -40 to 99 °C. It assumes the air has time
    to cool down to the tank; air drawn faster goes on warmer and wetter.
    """
    all_inside(
        ("pressure dew point", pressure_dew_point_temperature, DEW_RANGE, "°C"),
        ("tank temperature", tank_temperature, LINE_RANGE, "°C"),
    )
    return min(pressure_dew_point_temperature, tank_temperature)


def line_condenses(line_temperature: float, pressure_dew_point_temperature: float) -> bool:
    """Whether water condenses in a line [°C], -40 to 99, of air with this pressure dew point [°C], -80 to 100."""
    all_inside(
        ("line temperature", line_temperature, LINE_RANGE, "°C"),
        ("pressure dew point", pressure_dew_point_temperature, DEW_RANGE, "°C"),
    )
    return line_temperature < pressure_dew_point_temperature


def dry_line_pressure(
    line_temperature: float,
    pressure_dew_point_temperature: float,
    gauge_pressure: float,
    air_pressure: float = SEA_LEVEL,
) -> float | None:
    """Highest pressure [Pa] gauge, let down at the tank, at which a line stays dry; None where only thinner air would.

    line_temperature [°C] -40 to 99; pressure_dew_point_temperature [°C] -80 to 100 of the air at gauge_pressure, 0 to
    2e6 Pa. Vapour falls with the total (Dalton); the line makes up for the cold of letting
    down, 0.25 K a bar (from memory).
    """
    if not line_condenses(line_temperature, pressure_dew_point_temperature):
        return gauge_pressure
    total = air_pressure * _ratio(gauge_pressure, air_pressure)
    part = saturation_pressure(line_temperature) / saturation_pressure(pressure_dew_point_temperature)
    let_down = float(total * part) - air_pressure
    return min(let_down, gauge_pressure) if let_down >= 0.0 else None


def water_condensed(
    air_temperature: float,
    relative_humidity: float,
    gauge_pressure: float,
    cooled_to: float,
    air_pressure: float = SEA_LEVEL,
) -> float:
    """Water [kg] that a cubic metre of room air drops once compressed and cooled to a tank's or line's temperature.

    cooled_to -40 to 99 °C, the others as `pressure_dew_point`; 0 where nothing condenses. The dry air is the same
    before and after; per mole of it vapour falls from e / (p - e) to that saturated in the tank.
    """
    inside("temperature cooled to", cooled_to, LINE_RANGE, "°C")
    total = air_pressure * _ratio(gauge_pressure, air_pressure)
    vapour = float(vapour_pressure(air_temperature, relative_humidity))
    saturated = float(saturation_pressure(cooled_to))
    if not (vapour < 0.99 * air_pressure and saturated < 0.99 * total):
        raise OutOfRange("air that is nearly all steam", "vapour pressure under the pressure", "check the temperatures")
    alike = (air_pressure - vapour) / (WATER_GAS_CONSTANT * (air_temperature + ZERO_CELSIUS))  # [kg/m3], were it vapour
    lost = vapour / (air_pressure - vapour) - saturated / (total - saturated)
    return max(alike * lost, 0.0)


def spraying_time(
    tank_volume: float,
    full_pressure: float,
    lowest_pressure: float,
    gun_flow: float,
    compressor_flow: float = 0.0,
    air_pressure: float = SEA_LEVEL,
) -> float:
    """Seconds of trigger that a tank holds: volume x pressure drop / (gun flow - compressor flow), free air.

    tank_volume [m3] 0.0001 to 10; full and lowest pressure [Pa] gauge, 0 to 2e6; gun_flow over 0 and compressor_flow
    [m3/s] up to 1. Isothermal: a tank emptied in a minute cools and holds up to a quarter less. Infinite where the
    compressor keeps up.
    """
    all_inside(
        ("tank volume", tank_volume, TANK_RANGE, "m3"),
        ("full tank", full_pressure, GAUGE_RANGE, "Pa"),
        ("lowest pressure", lowest_pressure, GAUGE_RANGE, "Pa"),
        ("air pressure", air_pressure, PRESSURE_RANGE, "Pa"),
        ("gun flow", gun_flow, (1e-6, FLOW_RANGE[1]), "m3/s"),
        ("compressor flow", compressor_flow, FLOW_RANGE, "m3/s"),
    )
    if not lowest_pressure <= full_pressure:
        raise OutOfRange("a lowest pressure over that of the full tank", "at most the full tank's", "check the gauge")
    drawn = gun_flow - compressor_flow
    return math.inf if drawn <= 0.0 else tank_volume * (full_pressure - lowest_pressure) / air_pressure / drawn


def _ratio(gauge_pressure: float, air_pressure: float) -> float:
    """Absolute pressure in the tank over that outside."""
    all_inside(
        ("pressure", gauge_pressure, GAUGE_RANGE, "Pa gauge"),
        ("air pressure", air_pressure, PRESSURE_RANGE, "Pa"),
    )
    return (gauge_pressure + air_pressure) / air_pressure
