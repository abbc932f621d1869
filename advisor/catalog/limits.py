"""Default limits and sensor quality limits: numbers in SI, each with its source."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from advisor.catalog.sourced import Sourced, table_rows
from advisor.catalog.units import UNITS, to_si
from advisor.errors import CatalogError


@dataclass(frozen=True)
class Limit:
    """A default limit: SI value and source, its dimension, and what it is in plain words."""

    key: str
    number: Sourced
    dimension: str
    label: str


# A limit in C is a temperature; one in K is a difference: the table's unit says which.
_DIMENSIONS = {"K": "temperature_difference"}


def _number(row: Mapping[str, str]) -> tuple[Sourced, str]:
    wanted = _DIMENSIONS.get(row["unit"])
    for unit in UNITS:
        if unit.spelling == row["unit"] and wanted in (None, unit.dimension):
            return Sourced(to_si(float(row["value"]), unit), row["tag"], row["source"]), unit.dimension
    raise CatalogError(f"no unit {row['unit']!r}", "", "correct the table")


@cache
def default_limits() -> Mapping[str, Limit]:
    """Every default limit by key."""
    limits = {}
    for row in table_rows("limits.csv"):
        number, dimension = _number(row)
        limits[row["key"]] = Limit(row["key"], number, dimension, row["label"])
    return limits


@cache
def quality_limits() -> Mapping[tuple[str, str], Sourced]:
    """Quality limits by (quantity kind, check); SI values."""
    return {(row["quantity"], row["check"]): _number(row)[0] for row in table_rows("quality_limits.csv")}
