"""What is typed on the command line, in the site's own unit where its configuration names one."""

from datetime import datetime
from zoneinfo import ZoneInfo

from advisor.catalog.limits import quality_limits
from advisor.catalog.units import NUMBER, parse_quantity, parse_relative_humidity
from advisor.errors import UsageError, shown
from advisor.readings.csv_file import parse_time
from advisor.say.numbers import temperature, temperatures
from advisor.shop.shop import US, Shop


def typed_temperature(text: str, name: str, shop: Shop, allowed: tuple[float, float]) -> float:
    """A temperature [°C]. Raises UsageError outside `allowed` [°C], or for what is no temperature."""
    site = None if not shop.units_stated else "F" if shop.units == US else "C"
    value = parse_quantity(text, "temperature", name, default_unit=site)
    if not allowed[0] <= value <= allowed[1]:
        raise UsageError(
            f"{name} {shown(text)} is {temperature(value, shop.units)}",
            temperatures(*allowed, shop.units),
            "wrong unit? Type it like 24C or 75F",
        )
    return value


def typed_outdoors(air: str | None, humidity: str | None, shop: Shop) -> tuple[float, float] | None:
    """The air outdoors [°C, fraction]; None where nothing was typed. Raises UsageError for one without the other."""
    if air is None and humidity is None:
        return None
    if air is None or humidity is None:
        raise UsageError(
            "--outdoors or --outdoors-rh without the other", "--outdoors 8C --outdoors-rh 85%", "give both"
        )
    low, high = (quality_limits()["air_temperature", edge].value for edge in ("range_low", "range_high"))
    return (
        typed_temperature(air, "--outdoors", shop, (low, high)), parse_relative_humidity(humidity, "--outdoors-rh")
    )  # fmt: skip


def typed_within(text: str, dimension: str, name: str, allowed: tuple[float, float], words: str) -> float:
    """A quantity [SI]. Raises UsageError outside `allowed`, which `words` says in usual units."""
    value = parse_quantity(text, dimension, name)
    if not allowed[0] <= value <= allowed[1]:
        raise UsageError(f"{name} {shown(text)}", words, "check the unit")
    return value


def typed_seconds(text: str, name: str) -> float:
    """Cup seconds [s]: a bare number, or with `s`. Raises UsageError."""
    cleaned = text.strip()
    seconds = float(cleaned) if NUMBER.fullmatch(cleaned) else parse_quantity(cleaned, "time", name)
    if not 0.0 < seconds <= 600.0:
        raise UsageError(f"{name} {shown(text)}", "over 0 and up to 600 s", "read the cup again")
    return seconds


def typed_thinning(text: str, name: str = "--thinned") -> float:
    """Thinner by volume of the paint [fraction]. Raises UsageError."""
    return typed_within(text, "fraction", name, (0.0, 2.0), "0 to 200 % of the paint")


def past_moment(name: str, text: str, zone: ZoneInfo | None, latest: datetime) -> datetime:
    """A moment gone by. Raises UsageError for what is no time, or lies after `latest`."""
    moment = parse_time(text, zone)
    if moment is None:
        raise UsageError(f"{name} {shown(text)} is no time", "like 2025-10-14T14:05Z", "correct it")
    if moment > latest:
        raise UsageError(f"{name} {shown(text)} lies in the future", "a time up to now", "correct it")
    return moment
