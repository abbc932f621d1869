"""What is sprayed on: slabs of wood, board, steel, glass as data, each with its source.

What a shop's walls, floor and ceiling are made of, as data: how much warmth they lend to the air drawn in.

Saturated salts: the humidity of the air over their slush, for checking a hygrometer.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from advisor.catalog.sourced import entry, table, table_rows
from advisor.errors import OutOfRange
from advisor.physics.room.room import Wall


@dataclass(frozen=True)
class Substrate:
    """A slab in SI: thickness [m], conductivity [W/(m K)], density [kg/m3], heat_capacity [J/(kg K)]."""

    id: str
    name: str
    thickness: float
    conductivity: float
    density: float
    heat_capacity: float
    tag: str
    source: str


@cache
def substrates() -> Mapping[str, Substrate]:
    """Every substrate by its id."""
    return {row.id: row for row in table("substrates.csv", Substrate)}


def find_substrate(text: str) -> Substrate:
    """A substrate by its id. Raises CatalogError with the nearest one."""
    return entry(substrates(), text, "substrate")


UNSAID = "brick"  # the steadiest: a fan-on trial says what the shop's own are


@cache
def walls() -> Mapping[str, Wall]:
    """Every kind of wall by its id."""
    rows = zip(table_rows("walls.csv"), table("walls.csv", Wall), strict=True)
    return {row["id"]: wall for row, wall in rows}


def find_wall(text: str) -> Wall:
    """A kind of wall by its id. Raises CatalogError with the nearest one."""
    return entry(walls(), text, "walls")


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
