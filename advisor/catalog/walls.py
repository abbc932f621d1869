"""What a shop's walls, floor and ceiling are made of, as data: how much warmth they lend to the air drawn in."""

from collections.abc import Mapping
from functools import cache

from advisor.catalog.sourced import table_rows
from advisor.errors import CatalogError, did_you_mean, shown
from advisor.physics.room import Wall

UNSAID = "brick"  # the steadiest: a fan-on trial says what the shop's own are
_TABLE = "walls.csv"
_RANGES = {
    "thickness_mm": (1.0, 500.0),
    "conductivity_w_per_mk": (0.02, 5.0),
    "heat_capacity_kj_per_m3k": (20.0, 3_000.0),
}


@cache
def walls() -> Mapping[str, Wall]:
    """Every kind of wall by its id. Raises CatalogError naming row and column of a bad cell."""
    found = {}
    for row in table_rows(_TABLE):
        numbers = []
        for column, (low, high) in _RANGES.items():
            value = float(row[column])
            if not low <= value <= high:
                raise CatalogError(f"{_TABLE}, {row['id']}: {column} is {value:g}", f"{low:g} to {high:g}", "")
            numbers.append(value)
        thickness, conductivity, capacity = numbers
        found[row["id"]] = Wall(conductivity, capacity * 1e3, thickness / 1e3)
    return found


def find_wall(text: str) -> Wall:
    """A kind of wall by its id. Raises CatalogError with the nearest one."""
    try:
        return walls()[text]
    except KeyError:
        raise CatalogError(f"no walls {shown(text)}", "", did_you_mean(text, walls())) from None
