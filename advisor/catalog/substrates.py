"""What is sprayed on: slabs of wood, board, steel, glass as data, each with its source."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from advisor.catalog.sourced import entry, table


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
