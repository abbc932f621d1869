"""Moist air: vapour pressure, dew point, humidity ratio, wet bulb.

Relative humidity is over LIQUID water at every temperature, as humidity sensors and weather services state it
(WMO-No. 8), so below 0 °C `dew_point` is the dew point over supercooled water, not the frost point.

Every function takes floats or arrays of any shapes that broadcast, and gives a float for floats.
Units: temperatures [°C], relative humidity [fraction, 0-1], pressures [Pa].
A value outside the stated range, NaN included, raises OutOfRange.
"""

from collections.abc import Callable
from functools import cache, partial
from importlib.util import find_spec, module_from_spec
from types import ModuleType

import numpy as np

from advisor.errors import OutOfRange
from advisor.physics.basics import ZERO_CELSIUS, Array, all_inside, inside

Values = float | Array

WATER_GAS_CONSTANT = 461.52  # [J/(kg K)], 8.314462 J/(mol K) over 18.01528 g/mol (CODATA 2018)
MOLAR_MASS_RATIO = 0.621945  # water over dry air; ASHRAE Fundamentals 2017 ch. 1 eq. 20

AIR_TEMPERATURE_RANGE = (-60.0, 100.0)  # [°C]
SATURATION_RANGE = (-100.0, 200.0)  # [°C]
RELATIVE_HUMIDITY_RANGE = (0.001, 1.0)  # [fraction]
PRESSURE_RANGE = (30_000.0, 120_000.0)  # [Pa], about 9,000 m to below any shop
ALTITUDE_RANGE = (-500.0, 5_000.0)  # [m]

# Hyland and Wexler (1983) over liquid water; ASHRAE Fundamentals 2017 ch. 1 eq. 6, C8 to C13
_C8, _C9, _C10 = -5.8002206e3, 1.3914993, -4.8640239e-2
_C11, _C12, _C13 = 4.1764768e-5, -1.4452093e-8, 6.5459673

# Start for the inverse: 1/T as a polynomial in ln p, least squares against the equation above over
# -100..105 °C; within 0.003 K, so one Newton step leaves less than 1e-6 K. Highest power first.
_START = (-3.45613527e-11, -6.94851516e-10, -1.92883058e-8, -5.07352181e-7, -1.74581629e-4, 4.80854202e-3)

_BLOCK = 32_768  # elements worked on at a time, so that the temporaries stay in the processor's cache


_CHECK = "check the unit and the sensor; leave missing values out"
_checked = partial(inside, do=_CHECK)


def _temperature(value: Values, name: str = "air temperature") -> Array:
    return _checked(name, value, AIR_TEMPERATURE_RANGE, "°C")


def _humidity(value: Values) -> Array:
    return _checked("relative humidity", value, RELATIVE_HUMIDITY_RANGE, "(a fraction)")


def _pressure(value: Values) -> Array:
    return _checked("air pressure", value, PRESSURE_RANGE, "Pa")


def returned(result: Array) -> Values:
    """A float for what was worked out of floats."""
    return float(result) if np.ndim(result) == 0 else result


def _log_saturation(kelvin: Array) -> Array:
    polynomial: Array = _C9 + kelvin * (_C10 + kelvin * (_C11 + kelvin * _C12))
    return _C8 / kelvin + polynomial + _C13 * np.log(kelvin)


def _log_saturation_slope(kelvin: Array) -> Array:
    """d ln p / dT [1/K]."""
    return -_C8 / kelvin**2 + _C10 + kelvin * (2 * _C11 + 3 * _C12 * kelvin) + _C13 / kelvin


def _saturation_temperature(log_pressure: Array) -> Array:
    """Temperature [K] at which the saturation pressure's logarithm is `log_pressure` (p in Pa)."""
    inverse: Array = np.full_like(log_pressure, _START[0])
    for coefficient in _START[1:]:
        inverse *= log_pressure
        inverse += coefficient
    kelvin = 1.0 / inverse
    # ln T taken as -ln(1/T): one division fewer
    excess = _C9 + kelvin * (_C10 + kelvin * (_C11 + kelvin * _C12)) + _C8 * inverse - _C13 * np.log(inverse)
    excess -= log_pressure
    slope = _C10 - _C8 * inverse * inverse + kelvin * (2 * _C11 + 3 * _C12 * kelvin) + _C13 * inverse
    return kelvin - excess / slope


def _blockwise(function: Callable[[Array, Array], Array], first: Array, second: Array) -> Array:
    """`function` over two broadcast arrays, a cache-sized block at a time."""
    first, second = np.broadcast_arrays(first, second)
    if first.size <= _BLOCK:
        return function(first, second)
    shape, first, second = first.shape, first.ravel(), second.ravel()
    result = np.empty(first.size)
    for start in range(0, first.size, _BLOCK):
        block = slice(start, start + _BLOCK)
        result[block] = function(first[block], second[block])
    return result.reshape(shape)


def saturation_pressure_at(kelvin: Array) -> Array:
    """The same as `saturation_pressure` for temperatures [K] of a solver's steps: its range is not looked at again."""
    return np.exp(_log_saturation(kelvin))


def saturation_pressure(air_temperature: Values) -> Values:
    """Vapour pressure of saturated air over liquid water [Pa].

    air_temperature: [°C], -100 to 200. Published for 0 to 200 °C (ASHRAE Fundamentals 2017 ch. 1 eq. 6, after
    Hyland and Wexler 1983); below 0 °C the same equation is carried on over supercooled water, where it stays
    within 0.1 % of Sonntag (1990) down to -40 °C (tested).
    """
    celsius = _checked("temperature", air_temperature, SATURATION_RANGE, "°C")
    return returned(np.exp(_log_saturation(celsius + ZERO_CELSIUS)))


def vapour_pressure(air_temperature: Values, relative_humidity: Values) -> Values:
    """Partial pressure of water vapour [Pa]: relative humidity times saturation (ASHRAE 2017 ch. 1 eq. 12).

    air_temperature: [°C], -60 to 100; relative_humidity: [fraction], 0.001 to 1.
    """
    humidity = _humidity(relative_humidity)
    return returned(humidity * np.exp(_log_saturation(_temperature(air_temperature) + ZERO_CELSIUS)))


def dew_point(air_temperature: Values, relative_humidity: Values) -> Values:
    """Dew point over liquid water [°C].

    air_temperature: [°C], -60 to 100; relative_humidity: [fraction], 0.001 to 1.
    Inverse of ASHRAE 2017 ch. 1 eq. 6: closed-form start and one Newton step, its own inverse to 1e-6 K.
    """

    def block(celsius: Array, humidity: Array) -> Array:
        log_pressure: Array = np.asarray(_log_saturation(celsius + ZERO_CELSIUS) + np.log(humidity))
        return _saturation_temperature(log_pressure) - ZERO_CELSIUS

    return returned(_blockwise(block, _temperature(air_temperature), _humidity(relative_humidity)))


def dew_point_of(vapour: Values) -> Values:
    """Dew point over liquid water [°C] of air whose water vapour has this partial pressure [Pa].

    vapour: 0.01 to 101,325 Pa, dew points of -81 to 100 °C; the inverse of `saturation_pressure` to 1e-6 K.
    """
    pascal = _checked("vapour pressure", vapour, (0.01, 101_325.0), "Pa")
    return returned(_saturation_temperature(np.asarray(np.log(pascal))) - ZERO_CELSIUS)


def relative_humidity_from_dew_point(air_temperature: Values, dew_point_temperature: Values) -> Values:
    """Relative humidity [fraction] of air at `air_temperature` with this dew point; the inverse of `dew_point`.

    air_temperature: [°C], -60 to 100; dew_point_temperature: [°C], -100 to the air temperature.
    Raises OutOfRange when the dew point lies above the air temperature.
    """
    celsius = _temperature(air_temperature)
    dew = _checked("dew point", dew_point_temperature, (-100.0, 100.0), "°C")
    if not np.all(dew <= celsius):
        raise OutOfRange(
            "a dew point above the air temperature",
            "dew point at most the air temperature",
            "check the sensor",
        )
    ratio = np.exp(_log_saturation(dew + ZERO_CELSIUS) - _log_saturation(celsius + ZERO_CELSIUS))
    return returned(ratio)


def relative_humidity_at(air_temperature: Values, relative_humidity: Values, other_temperature: Values) -> Values:
    """Relative humidity [fraction] of the same air brought to another temperature, its moisture kept.

    Temperatures [°C], -60 to 100; relative_humidity [fraction], 0.001 to 1. Above 1 means water would condense:
    the ratio is given as it is, not capped.
    """
    vapour = vapour_pressure(air_temperature, relative_humidity)
    other = _temperature(other_temperature, "other temperature")
    return returned(vapour / np.exp(_log_saturation(other + ZERO_CELSIUS)))


def temperature_for_relative_humidity(
    air_temperature: Values, relative_humidity: Values, target_relative_humidity: Values
) -> Values:
    """Temperature [°C] to which the same air must be brought to show the target relative humidity.

    The inverse of `relative_humidity_at`. Inputs as there; target [fraction], 0.001 to 1.
    Raises OutOfRange when that temperature lies beyond 105 °C.
    """
    vapour = np.asarray(vapour_pressure(air_temperature, relative_humidity))
    log_pressure = np.asarray(np.log(vapour / _humidity(target_relative_humidity)))
    limit = float(_log_saturation(np.asarray(105.0 + ZERO_CELSIUS)))
    if not np.all(log_pressure <= limit):
        raise OutOfRange("a target humidity too low for this moisture", "a temperature up to 105 °C", "dry the air")
    return returned(_saturation_temperature(log_pressure) - ZERO_CELSIUS)


def vapour_pressure_deficit(air_temperature: Values, relative_humidity: Values) -> Values:
    """How much more vapour the air could hold [Pa]: saturation minus vapour pressure. Inputs as `dew_point`."""
    saturation = np.exp(_log_saturation(_temperature(air_temperature) + ZERO_CELSIUS))
    return returned(saturation * (1.0 - _humidity(relative_humidity)))


def absolute_humidity(air_temperature: Values, relative_humidity: Values) -> Values:
    """Water vapour per volume of air [kg/m3], as an ideal gas (WMO-No. 8). Inputs as `dew_point`."""
    kelvin = _temperature(air_temperature) + ZERO_CELSIUS
    return returned(_humidity(relative_humidity) * np.exp(_log_saturation(kelvin)) / (WATER_GAS_CONSTANT * kelvin))


def humidity_ratio(air_temperature: Values, relative_humidity: Values, pressure: Values) -> Values:
    """Water vapour per dry air [kg/kg]; ASHRAE 2017 ch. 1 eq. 20. Inputs as `dew_point`, pressure [Pa]."""
    vapour = np.asarray(vapour_pressure(air_temperature, relative_humidity))
    total = _pressure(pressure)
    if not np.all(vapour < 0.99 * total):
        raise OutOfRange("air that is nearly all steam", "vapour pressure under the air pressure", "check the unit")
    return returned(MOLAR_MASS_RATIO * vapour / (total - vapour))


def wet_bulb(air_temperature: Values, relative_humidity: Values, pressure: Values) -> Values:
    """Thermodynamic wet-bulb temperature [°C], to 0.001 K by bisection in psychrolib.

    ASHRAE 2017 ch. 1 eq. 33 and 35 (ice on the bulb below 0 °C). Inputs as `humidity_ratio`; air -50 to 95 °C.
    A state wetter than ice saturation has no wet bulb below the air temperature: the air temperature is given.
    """
    celsius = _checked("air temperature", air_temperature, (-50.0, 95.0), "°C")
    ratio = np.asarray(humidity_ratio(celsius, relative_humidity, pressure))
    library = _psychrolib()

    def single(temperature: float, moisture: float, total: float) -> float:
        if moisture >= library.GetSatHumRatio(temperature, total):
            return temperature
        return float(library.GetTWetBulbFromHumRatio(temperature, moisture, total))

    return returned(np.asarray(np.vectorize(single, otypes=[float])(celsius, ratio, _pressure(pressure))))


def pressure_at_altitude(altitude: Values) -> Values:
    """Standard air pressure [Pa] at an altitude [m], -500 to 5,000; ASHRAE 2017 ch. 1 eq. 3."""
    metres = _checked("altitude", altitude, ALTITUDE_RANGE, "m")
    return returned(101_325.0 * (1.0 - 2.25577e-5 * metres) ** 5.2559)


def dew_point_uncertainty(
    air_temperature: Values,
    relative_humidity: Values,
    air_temperature_uncertainty: Values,
    relative_humidity_uncertainty: Values,
) -> Values:
    """Standard uncertainty of the dew point [K], first-order propagation (JCGM 100:2008, eq. 10).

    Inputs as `dew_point`; the uncertainties [K] and [fraction] are standard uncertainties of independent
    errors, zero or more.
    """
    celsius, humidity, of_temperature, of_humidity = all_inside(
        ("air temperature", air_temperature, AIR_TEMPERATURE_RANGE, "°C"),
        ("relative humidity", relative_humidity, RELATIVE_HUMIDITY_RANGE, "(a fraction)"),
        ("temperature uncertainty", air_temperature_uncertainty, (0.0, 50.0), "K"),
        ("humidity uncertainty", relative_humidity_uncertainty, (0.0, 1.0), "(a fraction)"),
        do=_CHECK,
    )
    dew = np.asarray(dew_point(celsius, humidity))
    slope_at_dew = _log_saturation_slope(dew + ZERO_CELSIUS)
    from_temperature = _log_saturation_slope(celsius + ZERO_CELSIUS) / slope_at_dew * of_temperature
    from_humidity = of_humidity / (humidity * slope_at_dew)
    return returned(np.hypot(from_temperature, from_humidity))


@cache
def _psychrolib() -> ModuleType:
    """A copy of the library that is ours alone, in SI; loaded here because a typed check can do without it.

    Its units are a global of the module, so whoever sets them on the one that everybody imports changes the answers
    of everybody else. A lock of ours would not hold back another's thread; a copy needs none, and leaves theirs alone.
    """
    spec = find_spec("psychrolib")
    if spec is None or spec.loader is None:
        raise ModuleNotFoundError("psychrolib is not installed: run scripts/setup", name="psychrolib")
    library = module_from_spec(spec)
    spec.loader.exec_module(library)
    library.SetUnitSystem(library.SI)
    return library
