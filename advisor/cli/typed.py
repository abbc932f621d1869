"""What is typed on the command line, in the site's own unit where its configuration names one."""

from advisor.advice.measures import temperature, temperature_range
from advisor.catalog.units import parse_quantity
from advisor.errors import UsageError, shown
from advisor.shop.shop import US, Shop


def typed_temperature(text: str, name: str, shop: Shop, allowed: tuple[float, float]) -> float:
    """A temperature [°C]. Raises UsageError outside `allowed` [°C], or for what is no temperature."""
    site = None if not shop.units_stated else "F" if shop.units == US else "C"
    value = parse_quantity(text, "temperature", name, default_unit=site)
    if not allowed[0] <= value <= allowed[1]:
        raise UsageError(
            f"{name} {shown(text)} is {temperature(value, shop.units)}",
            temperature_range(*allowed, shop.units),
            "wrong unit? Type it like 24C or 75F",
        )
    return value
