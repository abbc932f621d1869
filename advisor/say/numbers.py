"""Numbers as a sprayer reads them, in the shop's units: the one place where a number meets its unit."""

from datetime import datetime
from functools import cache, partial
from math import ceil, floor
from zoneinfo import ZoneInfo

from advisor.shop.shop import US
from advisor.times import local_day
from advisor.units import Unit, from_si, unit_for

# of each kind its dimension, then unit and decimals, metric and US
_KINDS: dict[str, tuple[str, tuple[str, int], tuple[str, int]]] = {
    "volume": ("volume", ("ml", 0), ("floz", 1)),
    "tank": ("volume", ("l", 1), ("gal", 1)),
    "room": ("volume", ("m3", 1), ("ft3", 0)),
    "area": ("area", ("m2", 2), ("ft2", 1)),
    "flow": ("flow", ("l/min", 0), ("cfm", 1)),
    "fan": ("flow", ("m3/s", 2), ("cfm", 0)),
    "film": ("length", ("µm", 0), ("mil", 2)),
    "wet_film": ("length", ("µm", 0), ("mil", 1)),
    "needle": ("length", ("mm", 1), ("mm", 1)),
    "pressure": ("pressure", ("bar", 1), ("psi", 0)),
    "share": ("fraction", ("%", 1), ("%", 1)),
    "energy": ("molar_energy", ("kJ/mol", 1), ("kJ/mol", 1)),
    "air_pressure": ("pressure", ("Pa", 0), ("Pa", 0)),
    "particles": ("number_concentration", ("per_m3", 0), ("per_m3", 0)),
    "particle_mass": ("mass_concentration", ("ug_per_m3", 1), ("ug_per_m3", 1)),
    "temperature": ("temperature", ("°C", 1), ("°F", 1)),
    "difference": ("temperature_difference", ("°C", 1), ("°F", 1)),
}
_SIGNS = {"floz": "fl oz", "per_m3": "/m3", "ug_per_m3": "µg/m3"}  # where it is not the spelling


@cache
def _units() -> dict[tuple[str, bool], tuple[Unit, int, str]]:
    """Unit, decimals and sign of the shipped table, by kind and whether the shop counts in US units."""
    found = {}
    for kind, (dimension, *both) in _KINDS.items():
        for us, (spelling, decimals) in enumerate(both):
            unit = unit_for(spelling, dimension)
            assert unit is not None, f"{spelling} is no unit of {dimension}"
            found[kind, bool(us)] = unit, decimals, _SIGNS.get(spelling, spelling)
    return found


def in_unit(kind: str, value: float, units: str) -> tuple[float, str]:
    """A value [SI, °C] as a number in the shop's unit, and that unit's sign."""
    unit, _, sign = _units()[kind, units == US]
    whole = round(1.0 / unit.factor)  # 1e6 ml make a m3
    # as in units.to_si the noise of binary fractions decides nothing
    exact = abs(whole * unit.factor - 1.0) < 1e-12 and not unit.offset
    return value * whole if exact else float(f"{from_si(value, unit):.12g}"), sign


def quantity(kind: str, value: float, units: str, decimals: int | None = None, up: bool | None = None) -> str:
    """A value [SI, °C] in the shop's units: `45 ml`, `3.94 mil`; a whole number loses its `.0`.

    decimals: under 0 in tens. up: rounded to the side on which it is surely reached (True) or not passed (False), else
    to the nearest.
    """
    number, sign = in_unit(kind, value, units)
    digits = _units()[kind, units == US][1] if decimals is None else decimals
    return f"{trimmed(number if up is None else stepped(number, 10.0**-digits, up), max(digits, 0))} {sign}"


volume = partial(quantity, "volume")  # what is poured: `45 ml`, `1.5 fl oz`
tank = partial(quantity, "tank")  # what a tank holds: `38 l`, `10 gal`
room = partial(quantity, "room")  # `90 m3`, `3178 ft3`
area = partial(quantity, "area")  # `1.2 m2`, `12.9 ft2`
flow = partial(quantity, "flow")  # of compressed air: `250 l/min`, `8.8 cfm`
fan = partial(quantity, "fan")  # of the booth's air: `0.25 m3/s`, `530 cfm`
film = partial(quantity, "film")  # a film's thickness: `100 µm`, `3.94 mil`
wet_film = partial(quantity, "wet_film")  # as a comb reads it: `100 µm`, `3.9 mil`
needle = partial(quantity, "needle")  # `1.4 mm`
pressure = partial(quantity, "pressure")  # a gauge pressure: `1.7 bar`, `25 psi`
temperature = partial(quantity, "temperature")  # `21.5 °C`, or `70.7 °F` where the shop reads Fahrenheit
difference = partial(quantity, "difference")  # of temperatures: `5.2 °C`, `9.4 °F`


def bare(shown: str) -> str:
    """A number without its unit, which stands beside it already: `21.5`."""
    return shown.rsplit(" ", 1)[0]


def between(kind: str, first: float, last: float, units: str) -> str:
    """Two of a kind [SI] in the order given: `18 to 27 °C`, `8 to 4 bar`."""
    return f"{bare(quantity(kind, first, units))} to {quantity(kind, last, units)}"


temperatures = partial(between, "temperature")
pressures = partial(between, "pressure")


def percent_range(low: float, high: float) -> str:
    """`30 to 60 %`."""
    return f"{bare(percent(low, 1))} to {percent(high, 1)}"


def air(celsius: float, humidity: float, units: str, decimals: int = 0) -> str:
    """`21.5 °C, 62 %`."""
    return f"{temperature(celsius, units)}, {percent(humidity, decimals)}"


def plus_minus(celsius: float, kelvin: float, units: str) -> str:
    """`15.8 ±0.8 °C`."""
    value, sign = temperature(celsius, units).rsplit(" ", 1)
    return f"{value} ±{bare(difference(kelvin, units))} {sign}"


def with_uncertainty(value: float, uncertainty: float) -> str:
    """`20.1 ±0.4`, `0.525 ±0.011`: the uncertainty in one digit, two where the first is a 1; the value as finely."""
    one, two = (float(f"{max(uncertainty, 0.0):.{digits}g}") for digits in (1, 2))
    size = two if f"{two:e}".startswith("1") else one
    decimals = next((n for n in range(4) if round(size, n) == size), 3)
    return f"{trimmed(value, decimals)} ±{trimmed(size, decimals)}"


def over_or_under(kelvin: float, units: str, sides: tuple[str, str] = ("over", "under")) -> str:
    """`2 °C over`, `1.5 °C under`: the dew point, or whatever is named after it."""
    return f"{difference(abs(kelvin), units)} {sides[kelvin < 0.0]}"


above_or_below = partial(over_or_under, sides=("above", "BELOW"))


def percent(fraction: float, decimals: int = 0) -> str:
    """`62 %`; one decimal where a whole number would hide which side of a limit it is on."""
    return f"{trimmed(fraction * 100.0, decimals)} %"


def trimmed(value: float, decimals: int) -> str:
    """A number with up to so many decimals, no trailing zeros, and no `-0`."""
    text = f"{value:.{decimals}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def significant(value: float, digits: int) -> str:
    """A number to so many digits: `0.53`, `1230`."""
    return f"{float(f'{value:.{digits}g}'):g}"


def stepped(value: float, step: float, up: bool) -> float:
    """The next multiple of a step up or down, itself where it is one but for noise."""
    return (ceil(value / step - 1e-6) if up else floor(value / step + 1e-6)) * step


def counted(count: int, one: str) -> str:
    """`1 reading`, `3 readings`; one: what a single one is called, such as `one coat`."""
    return one if count == 1 else f"{count} {one.split(' ', 1)[1]}s"


def capital(text: str) -> str:
    """With a sentence's beginning."""
    return text[:1].upper() + text[1:]


def span(seconds: float) -> str:
    """`40 s`, `12 min`, `3 h 10 min`, `34 days`."""
    if seconds < 90:
        return f"{seconds:.0f} s"
    minutes = round(seconds / 60)
    if minutes < 90:
        return f"{minutes} min"
    if minutes < 48 * 60:
        hours, rest = divmod(minutes, 60)
        return f"{hours} h {rest} min" if rest else f"{hours} h"
    return f"{minutes / 1440:.0f} days"


def clock(when: datetime, zone: str | None, form: str = "%H:%M") -> str:
    """`14:05` in the shop's zone, with `UTC` where no zone is known."""
    return f"{when.astimezone(ZoneInfo(zone or 'UTC')):{form}}{'' if zone else ' UTC'}"


def moment(when: datetime, zone: str | None) -> str:
    """`Tue 14 Oct 2025 14:05` in the shop's zone, with `UTC` where no zone is known."""
    return clock(when, zone, f"%a {local_day(when, zone).day} %b %Y %H:%M")
