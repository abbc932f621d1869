"""What it takes to warm or dry a room: power, energy, litres, minutes.

Flows [m3/s] are those drawn out of the room, at the room's own temperature; a heater's power is what reaches the air.
"""

from dataclasses import replace

import numpy as np

from advisor.physics.air.moist_air import PRESSURE_RANGE, absolute_humidity
from advisor.physics.basics import ZERO_CELSIUS, Array, all_inside, inside
from advisor.physics.film.transfer import AIR_HEAT_CAPACITY, air_density
from advisor.physics.room.room import FLOW_RANGE, TEMPERATURE_RANGE, VOLUME_RANGE, Room, RoomStart, Segment, room_course

PROPANE_WATER = 1.63  # [kg/kg] burnt: C3H8 + 5 O2 gives 4 H2O, 72.06 g of 44.10 g
PROPANE_HEAT = 46.35e6  # [J/kg] with its water as vapour, the lower heating value (from memory)
WATER_HEAT = 2.454e6  # [J/kg] given back where vapour condenses at 20 °C (from memory of steam tables)
_DAY = 86_400.0  # [s] looked ahead
_LOOKED_AT = np.append(0.0, np.geomspace(1.0, _DAY, 1500))  # [s]; straight lines between are good to 0.001 K


def make_up_power(
    flow: float | Array, outdoor_temperature: float | Array, held: float | Array, pressure: float
) -> Array:
    """Power [W] that warms the air drawn in for a flow from outdoors to a temperature; 0 where it is as warm.

    flow [m3/s] 0 to 100, temperatures [°C] -40 to 60, pressure [Pa]. Sensible heat of dry air; its vapour adds 2 %.
    """
    drawn, outdoors, wanted = all_inside(
        ("flow", flow, FLOW_RANGE, "m3/s"),
        ("outdoor temperature", outdoor_temperature, TEMPERATURE_RANGE, "°C"),
        ("temperature to hold", held, TEMPERATURE_RANGE, "°C"),
    )
    return np.asarray(_carried(drawn, wanted, pressure) * np.maximum(wanted - outdoors, 0.0))


def make_up_rise(power: float | Array, flow: float | Array, held: float | Array, pressure: float) -> Array:
    """By how much [K] a power [W] warms the air drawn in for a flow [m3/s, over 0]; `make_up_power` turned round."""
    watts, drawn, wanted = all_inside(
        ("power", power, (0.0, 1e6), "W"),
        ("flow", flow, (1e-4, FLOW_RANGE[1]), "m3/s"),
        ("temperature to hold", held, TEMPERATURE_RANGE, "°C"),
    )
    return np.asarray(watts / _carried(drawn, wanted, pressure))


def make_up_energy(
    flow: float | Array, outdoor_temperature: float | Array, held: float | Array, pressure: float, duration: float
) -> Array:
    """Energy [J] for that power over a duration [s]; 3.6e6 J are 1 kWh."""
    return make_up_power(flow, outdoor_temperature, held, pressure) * inside("duration", duration, (0.0, 1e7), "s")


def water_to_remove(
    volume: float | Array,
    air_temperature: float | Array,
    relative_humidity: float | Array,
    target_relative_humidity: float | Array,
) -> Array:
    """Water [kg, about a litre each] to take out of a room's air to bring it to a lower humidity at its temperature.

    volume [m3]; air_temperature [°C]; humidities [fraction, 0.001 to 1]; 0 where it is dry enough. Of the air alone:
    walls, goods and what leaks in give several times as much after it.
    """
    air = inside("room volume", volume, VOLUME_RANGE, "m3")
    held = absolute_humidity(air_temperature, relative_humidity)
    return np.asarray(air * np.maximum(held - absolute_humidity(air_temperature, target_relative_humidity), 0.0))


def gas_heater_water(power: float | Array) -> Array:
    """Water [kg/s] that a propane heater without a flue breathes into the room for its power [W], 0 to 1e6.

    It also takes the room's oxygen, makes carbon monoxide and is an open flame: never beside flammable vapour.
    """
    return np.asarray(inside("power", power, (0.0, 1e6), "W") / PROPANE_HEAT * PROPANE_WATER)


def dehumidifier_warmth(water: float | Array, electric_power: float | Array) -> Array:
    """Heat [W] a dehumidifier gives the room: what the water [kg/s] sets free, and its own electric power [W]."""
    removed, power = all_inside(
        ("water removed", water, (0.0, 1.0), "kg/s"),
        ("electric power", electric_power, (0.0, 1e6), "W"),
    )
    return np.asarray(removed * WATER_HEAT + power)


def heating_time(room: Room, start: RoomStart, held: Segment, target: float | Array) -> Array:
    """Seconds until the air comes up to a target temperature [°C] under the heater of a segment, walls and all.

    The segment's own duration counts for nothing; infinite where a day does not do.
    """
    wanted = inside("target temperature", target, TEMPERATURE_RANGE, "°C")
    course = room_course(room, start, [replace(held, duration=_DAY)], _LOOKED_AT)
    return _first_time(course.seconds, course.air_temperature, wanted)


def drying_time(room: Room, start: RoomStart, held: Segment, target: float | Array) -> Array:
    """Seconds until the room's humidity ratio falls to a target [kg/kg] under the dehumidifier of a segment.

    As `heating_time`. Too soon where the room has no MoistureBuffer and its walls and goods hold water.
    """
    wanted = inside("target humidity ratio", target, (1e-5, 0.1), "kg/kg")
    course = room_course(room, start, [replace(held, duration=_DAY)], _LOOKED_AT)
    return _first_time(course.seconds, -course.humidity_ratio, -wanted)


def _carried(flow: Array, celsius: Array, pressure: float) -> Array:
    """Heat that a flow [m3/s] at a temperature carries for each kelvin [W/K]."""
    return (
        flow
        * air_density(celsius + ZERO_CELSIUS, inside("air pressure", pressure, PRESSURE_RANGE, "Pa"))
        * AIR_HEAT_CAPACITY
    )


def _first_time(seconds: Array, values: Array, target: Array) -> Array:
    """First time (cases,) at which values (cases, T) come up to a target; infinite where they never do."""
    wanted = np.broadcast_to(target, values.shape[:1])
    there = values >= (wanted - 1e-9 * np.abs(wanted))[:, None]  # the solver's own rounding does not count
    last = np.clip(np.argmax(there, axis=1), 1, None)
    case = np.arange(len(values))
    before, after = values[case, last - 1], values[case, last]
    share = np.clip((wanted - before) / np.where(after > before, after - before, 1.0), 0.0, 1.0)
    between = seconds[last - 1] + share * (seconds[last] - seconds[last - 1])
    return np.where(there[:, 0], 0.0, np.where(there.any(axis=1), between, np.inf))
