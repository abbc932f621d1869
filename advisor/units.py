"""Units at the edge: what a person types or a file states, to SI and back.

One table. Inside, temperatures are °C, humidity is a fraction, all else SI. Factors: NIST SP 811 (2008) Appendix B;
checked against pint in the tests.
"""

import re
from dataclasses import dataclass

from advisor.errors import UsageError, refuse, shown

NUMBER = re.compile(r"[+-]?(?:[0-9]+(?:\.[0-9]+)?|\.[0-9]+)")
LONGEST_QUANTITY = 40  # characters; nobody types more


@dataclass(frozen=True)
class Unit:
    """A spelling of a unit: value in SI = factor * value + offset."""

    spelling: str
    dimension: str
    factor: float
    offset: float = 0.0


_FAHRENHEIT = 5.0 / 9.0
_FOOT = 0.3048
_US_GALLON = 3.785411784e-3

UNITS: tuple[Unit, ...] = (
    Unit("C", "temperature", 1.0),
    Unit("°C", "temperature", 1.0),
    Unit("F", "temperature", _FAHRENHEIT, -32.0 * _FAHRENHEIT),
    Unit("°F", "temperature", _FAHRENHEIT, -32.0 * _FAHRENHEIT),
    Unit("K", "temperature", 1.0, -273.15),
    Unit("C", "temperature_difference", 1.0),
    Unit("°C", "temperature_difference", 1.0),
    Unit("K", "temperature_difference", 1.0),
    Unit("F", "temperature_difference", _FAHRENHEIT),
    Unit("°F", "temperature_difference", _FAHRENHEIT),
    Unit("%", "fraction", 0.01),
    Unit("pct", "fraction", 0.01),
    Unit("fraction", "fraction", 1.0),
    Unit("Pa", "pressure", 1.0),
    Unit("hPa", "pressure", 100.0),
    Unit("mbar", "pressure", 100.0),
    Unit("kPa", "pressure", 1000.0),
    Unit("bar", "pressure", 1.0e5),
    Unit("psi", "pressure", 6894.757293168),
    Unit("inHg", "pressure", 3386.389),
    Unit("m", "length", 1.0),
    Unit("cm", "length", 0.01),
    Unit("mm", "length", 1.0e-3),
    Unit("um", "length", 1.0e-6),
    Unit("µm", "length", 1.0e-6),
    Unit("ft", "length", _FOOT),
    Unit("in", "length", 0.0254),
    Unit("mil", "length", 2.54e-5),
    Unit("m2", "area", 1.0),
    Unit("ft2", "area", _FOOT**2),
    Unit("ms", "time", 1.0e-3),
    Unit("s", "time", 1.0),
    Unit("min", "time", 60.0),
    Unit("h", "time", 3600.0),
    Unit("d", "time", 86400.0),
    Unit("month", "time", 2.6298e6),  # a twelfth of the Julian year of 365.25 d
    Unit("m3", "volume", 1.0),
    Unit("l", "volume", 1.0e-3),
    Unit("ml", "volume", 1.0e-6),
    Unit("floz", "volume", _US_GALLON / 128.0),
    Unit("ft3", "volume", _FOOT**3),
    Unit("gal", "volume", _US_GALLON),
    Unit("m3/s", "flow", 1.0),
    Unit("m3/h", "flow", 1.0 / 3600.0),
    Unit("l/s", "flow", 1.0e-3),
    Unit("ml/min", "flow", 1.0e-6 / 60.0),
    Unit("l/min", "flow", 1.0e-3 / 60.0),
    Unit("cfm", "flow", _FOOT**3 / 60.0),
    Unit("m/s", "speed", 1.0),
    Unit("fpm", "speed", _FOOT / 60.0),
    Unit("per_m3", "number_concentration", 1.0),
    Unit("per_l", "number_concentration", 1000.0),
    Unit("per_ft3", "number_concentration", 1.0 / _FOOT**3),
    Unit("ug_per_m3", "mass_concentration", 1.0e-9),
    Unit("mg_per_m3", "mass_concentration", 1.0e-6),
    Unit("W/m2K", "heat_transfer", 1.0),
    Unit("W/K", "heat_conductance", 1.0),
    Unit("W", "power", 1.0),
    Unit("kW", "power", 1000.0),
    Unit("l/d", "water_flow", 1.0 / 86400.0),  # of liquid water, a kilogram a litre
    Unit("kJ/mol", "molar_energy", 1000.0),
    Unit("count", "count", 1.0),
    Unit("ratio", "ratio", 1.0),
)


def unit_for(spelling: str, dimension: str) -> Unit | None:
    """The unit of that dimension with this spelling, upper and lower case alike; None when there is none."""
    wanted = (dimension, spelling.casefold())
    return next((unit for unit in UNITS if (unit.dimension, unit.spelling.casefold()) == wanted), None)


def listed_unit(spelling: str) -> Unit:
    """The unit of a shipped table's spelling: a number in C is a temperature, one in K a difference."""
    dimension = {"K": "temperature_difference"}.get(spelling)
    return next(unit for unit in UNITS if unit.spelling == spelling and dimension in (None, unit.dimension))


def spellings(dimension: str) -> str:
    """The spellings of a dimension, for an error message."""
    return ", ".join(unit.spelling for unit in UNITS if unit.dimension == dimension)


def to_si(value: float, unit: Unit) -> float:
    """The value in SI (°C for temperatures), rounded to 1e-12 relative so that 64.4 °F is 18 °C and not 17.99...

    Only the noise of binary fractions is rounded away; no sensor reads twelve digits.
    """
    return float(f"{value * unit.factor + unit.offset:.12g}")


def from_si(value: float, unit: Unit) -> float:
    """The inverse of `to_si`, unrounded."""
    return (value - unit.offset) / unit.factor


def parse_quantity(text: str, dimension: str, name: str, default_unit: str | None = None) -> float:
    """A typed quantity such as `24C`, `75 °F` or `90 m3` in SI.

    `default_unit` is the site's own unit for a bare number; without it a bare number is refused.
    Raises UsageError with what was got, what is allowed and what to do.
    """
    allowed = f"a number with a unit ({spellings(dimension)})"
    cleaned = text.strip().replace("−", "-")
    found = NUMBER.match(cleaned) if len(cleaned) <= LONGEST_QUANTITY else None
    if found is None:
        raise UsageError(f"{name} {shown(text)} is not a number", allowed, "type it like 24C or 75F")
    spelling = cleaned[found.end() :].strip() or default_unit or ""
    refuse(
        (spelling[:1] == ",", f"{name} {shown(text)} has a decimal comma", "a decimal point", "type it like 24.5C"),
        (not spelling, f"{name} {shown(text)} has no unit", allowed, "add the unit"),
    )
    unit = unit_for(spelling, dimension)
    if unit is None:
        raise UsageError(f"{name} {shown(text)} has a unit that does not fit", allowed, "correct the unit")
    return to_si(float(found.group()), unit)


def parse_relative_humidity(text: str, name: str = "--rh") -> float:
    """A typed relative humidity, `62%` or `62`, as a fraction over 0 and up to 1.

    One or less without a percent sign is refused: it could be a fraction or a percentage.
    """
    cleaned = text.strip()
    value = float(cleaned) if NUMBER.fullmatch(cleaned) else 0.0
    doubt = f"did you mean {value * 100:g} % or {value:g} %? Add the % sign"
    refuse((0 < value <= 1, f"{name} {cleaned} is unclear", "percent, over 0 % and up to 100 %", doubt))
    fraction = parse_quantity(text, "fraction", name, default_unit="%")
    outside = f"{name} {shown(text)} is outside what air can hold"
    refuse((not 0.0 < fraction <= 1.0, outside, "over 0 % and up to 100 %", "read again"))
    return fraction
