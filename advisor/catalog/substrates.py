"""What is sprayed on: slabs of wood, board, steel, glass as data, each with its source."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from advisor.catalog.sourced import table_rows
from advisor.errors import CatalogError, did_you_mean, shown

_RANGES = {
    "thickness_mm": (0.2, 200.0),
    "conductivity_w_per_mk": (0.02, 500.0),
    "density_kg_per_m3": (50.0, 12_000.0),
    "heat_capacity_j_per_kgk": (300.0, 5_000.0),
}


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
    """Every substrate by its id. Raises CatalogError naming row and column of a bad cell."""
    found = {}
    for row in table_rows("substrates.csv"):
        numbers = []
        for column, (low, high) in _RANGES.items():
            value = float(row[column])
            if not low <= value <= high:
                raise CatalogError(f"substrates.csv, {row['id']}: {column} is {value:g}", f"{low:g} to {high:g}", "")
            numbers.append(value)
        thickness, conductivity, density, heat_capacity = numbers
        found[row["id"]] = Substrate(
            row["id"], row["name"], thickness / 1e3, conductivity, density, heat_capacity, row["tag"], row["source"]
        )
    return found


def find_substrate(text: str) -> Substrate:
    """A substrate by its id. Raises CatalogError with the nearest one."""
    try:
        return substrates()[text]
    except KeyError:
        raise CatalogError(f"no substrate {shown(text)}", "", did_you_mean(text, substrates())) from None
