"""Numbers as a sprayer reads them, in the shop's units."""

from datetime import date, datetime
from math import ceil, floor
from zoneinfo import ZoneInfo

from advisor.shop.shop import US

# NIST SP 811 (2008) Appendix B
_FLUID_OUNCE = 2.95735295625e-5  # [m3], US
_CUBIC_FOOT = 0.3048**3  # [m3]
_PSI = 6894.757293168  # [Pa]
_MIL = 2.54e-5  # [m]


def temperature(celsius: float, units: str, decimals: int = 1) -> str:
    """`21.5 °C`, or `70.7 °F` where the shop reads Fahrenheit; a whole number loses its `.0`."""
    value, sign = (celsius * 1.8 + 32.0, "°F") if units == US else (celsius, "°C")
    return f"{trimmed(value, decimals)} {sign}"


def reachable(celsius: float, upwards: bool, units: str) -> str:
    """A temperature to reach, rounded to the side on which it is surely reached, a tenth in the shown unit."""
    value, sign = (celsius * 1.8 + 32.0, "°F") if units == US else (celsius, "°C")
    tenths = ceil(value * 10 - 1e-6) if upwards else floor(value * 10 + 1e-6)
    return f"{trimmed(tenths / 10, 1)} {sign}"


def difference(kelvin: float, units: str, decimals: int = 1) -> str:
    """A temperature difference, `5.2 °C` or `9.4 °F`."""
    value, sign = (kelvin * 1.8, "°F") if units == US else (kelvin, "°C")
    return f"{trimmed(value, decimals)} {sign}"


def bare_temperature(celsius: float, units: str) -> str:
    """A temperature whose unit stands beside it already: `21.5`."""
    return temperature(celsius, units).rsplit(" ", 1)[0]


def bare_difference(kelvin: float, units: str) -> str:
    """A temperature difference whose unit stands beside it already: `5.2`."""
    return difference(kelvin, units).rsplit(" ", 1)[0]


def temperature_range(low: float, high: float, units: str) -> str:
    """`18 to 27 °C`."""
    return f"{bare_temperature(low, units)} to {temperature(high, units)}"


def percent_range(low: float, high: float) -> str:
    """`30 to 60 %`."""
    return f"{trimmed(low * 100.0, 1)} to {percent(high, 1)}"


def plus_minus(celsius: float, kelvin: float, units: str) -> str:
    """`15.8 ±0.8 °C`."""
    value, sign = temperature(celsius, units).rsplit(" ", 1)
    return f"{value} ±{bare_difference(kelvin, units)} {sign}"


def volume(cubic_metres: float, units: str) -> str:
    """What is poured: `45 ml`, or `1.5 fl oz` where the shop reads US units."""
    if units == US:
        return f"{trimmed(cubic_metres / _FLUID_OUNCE, 1)} fl oz"
    return f"{trimmed(cubic_metres * 1e6, 0)} ml"


def tank(cubic_metres: float, units: str) -> str:
    """What a tank holds: `38 l`, or `10 gal`."""
    value, sign = (cubic_metres / (128.0 * _FLUID_OUNCE), "gal") if units == US else (cubic_metres * 1e3, "l")
    return f"{trimmed(value, 1)} {sign}"


def flow(cubic_metres_per_second: float, units: str) -> str:
    """`250 l/min`, or `8.8 cfm`."""
    if units == US:
        return f"{trimmed(cubic_metres_per_second * 60.0 / _CUBIC_FOOT, 1)} cfm"
    return f"{trimmed(cubic_metres_per_second * 60e3, 0)} l/min"


def film(metres: float, units: str) -> str:
    """A film's thickness: `100 µm`, or `3.94 mil`."""
    return f"{trimmed(metres / _MIL, 2)} mil" if units == US else f"{trimmed(metres * 1e6, 0)} µm"


def pressure(pascal: float, units: str) -> str:
    """A gauge pressure: `1.7 bar`, or `25 psi`."""
    return f"{trimmed(pascal / _PSI, 0)} psi" if units == US else f"{trimmed(pascal / 1e5, 1)} bar"


def pressure_range(first: float, last: float, units: str) -> str:
    """Two gauge pressures [Pa] in the order given: `8 to 4 bar`, or `116 to 58 psi`."""
    factor, decimals, sign = (_PSI, 0, "psi") if units == US else (1e5, 1, "bar")
    return f"{trimmed(first / factor, decimals)} to {trimmed(last / factor, decimals)} {sign}"


def pressure_at_most(pascal: float, units: str) -> str:
    """A gauge pressure not to be passed, rounded down: `4.1 bar`, or `60 psi`."""
    if units == US:
        return f"{floor(pascal / _PSI)} psi"
    return f"{trimmed(floor(pascal * 1e-4) / 10, 1)} bar"


def percent(fraction: float, decimals: int = 0) -> str:
    """`62 %`; one decimal where a whole number would hide which side of a limit it is on."""
    return f"{trimmed(fraction * 100.0, decimals)} %"


def trimmed(value: float, decimals: int) -> str:
    """A number with up to so many decimals, no trailing zeros, and no `-0`."""
    text = f"{value:.{decimals}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


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


def moment(when: datetime, zone: str | None) -> str:
    """`Tue 14 Oct 2025 14:05` in the shop's zone, with `UTC` where no zone is known."""
    local = when.astimezone(ZoneInfo(zone)) if zone else when
    return f"{local:%a} {local.day} {local:%b %Y %H:%M}{'' if zone else ' UTC'}"


def local_day(when: datetime, zone: str | None) -> date:
    """The day in the shop's zone, in UTC where no zone is known."""
    return when.astimezone(ZoneInfo(zone or "UTC")).date()


def clock(when: datetime, zone: str | None) -> str:
    """`14:05` in the shop's zone, with `UTC` where no zone is known."""
    local = when.astimezone(ZoneInfo(zone)) if zone else when
    return f"{local:%H:%M}{'' if zone else ' UTC'}"
