"""Default limits and sensor quality limits: numbers in SI, each with its source."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from advisor.catalog.sourced import Sourced, table_rows
from advisor.catalog.units import UNITS, Unit, to_si
from advisor.errors import CatalogError


@dataclass(frozen=True)
class Limit:
    """A default limit: SI value and source, its dimension and unit, what it may be set to [SI], and its plain name."""

    key: str
    number: Sourced
    dimension: str
    unit: Unit
    low: float
    high: float
    label: str


# What must not stand over what: an allowance over a stop, a last call before the first
IN_ORDER = (
    ("surface_margin_certain", "surface_margin"),
    ("film_margin_least", "film_margin"),
    ("wood_furniture_low", "wood_furniture_high"),
    ("dust_index_strict", "dust_index"),
    ("solids_at_set", "solids_to_recoat"),
    ("solids_when_packed", "solids_to_recoat"),
    ("gun_time", "booth_time"),
    ("piece_settles", "piece_since_yesterday"),
    ("plan_lead_second", "plan_lead_first"),
    ("plan_lead_last", "plan_lead_second"),
)

# A limit in C is a temperature; one in K is a difference: the table's unit says which.
_DIMENSIONS = {"K": "temperature_difference"}


def _unit(spelling: str) -> Unit:
    wanted = _DIMENSIONS.get(spelling)
    for unit in UNITS:
        if unit.spelling == spelling and wanted in (None, unit.dimension):
            return unit
    raise CatalogError(f"no unit {spelling!r}", "", "correct the table")


def _number(row: Mapping[str, str]) -> Sourced:
    return Sourced(to_si(float(row["value"]), _unit(row["unit"])), row["tag"], row["source"])


@cache
def default_limits() -> Mapping[str, Limit]:
    """Every default limit by key."""
    limits = {}
    for row in table_rows("limits.csv"):
        unit = _unit(row["unit"])
        low, high = (to_si(float(row[edge]), unit) for edge in ("low", "high"))
        limits[row["key"]] = Limit(row["key"], _number(row), unit.dimension, unit, low, high, row["label"])
    return limits


@cache
def quality_limits() -> Mapping[tuple[str, str], Sourced]:
    """Quality limits by (quantity kind, check); SI values."""
    return {(row["quantity"], row["check"]): _number(row) for row in table_rows("quality_limits.csv")}
