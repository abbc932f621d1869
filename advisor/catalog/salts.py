"""Saturated salts: the humidity of the air over their slush, for checking a hygrometer."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from advisor.catalog.sourced import entry, table
from advisor.errors import OutOfRange


@dataclass(frozen=True)
class Salt:
    """A salt: polynomial of the humidity [%] in °C, its standard uncertainty [fraction], and its range [°C]."""

    key: str
    name: str
    coefficients: tuple[float, ...]
    uncertainty: float
    low: float
    high: float
    tag: str
    source: str

    def relative_humidity(self, air_temperature: float) -> float:
        """Humidity [fraction] over the slush at a temperature [°C]. Raises OutOfRange outside the table's range."""
        if not self.low <= air_temperature <= self.high:
            raise OutOfRange(
                f"{air_temperature:g} °C for a salt check",
                f"{self.low:g} to {self.high:g} °C",
                "let the box stand in a room",
            )
        powers = (air_temperature**n for n in range(len(self.coefficients)))
        return sum(factor * power for factor, power in zip(self.coefficients, powers, strict=True)) / 100.0


@cache
def salts() -> Mapping[str, Salt]:
    """Every salt by its formula."""
    return {row.key: row for row in table("salts.csv", Salt)}


def salt_named(name: str) -> Salt:
    """A salt by its formula, upper and lower case alike. Raises CatalogError."""
    spelled = {key.casefold(): key for key in salts()}
    return entry(salts(), spelled.get(name.strip().casefold(), name), "salt")
