"""Default limits, sensor quality limits, and which rule decides: numbers in SI, each with its source."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from advisor.catalog.sourced import Sourced, table, table_rows
from advisor.catalog.units import Unit

# An unknown on a deciding rule makes a WAIT, on an advisory one never; while new: until the piece has settled
DECIDING, ADVISORY, WHILE_NEW = "deciding", "advisory", "while new"

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


@dataclass(frozen=True)
class Limit:
    """A default limit: SI value and source, its unit, what it may be set to [SI], and its plain name."""

    key: str
    number: Sourced
    unit: Unit
    low: float
    high: float
    label: str


@dataclass(frozen=True)
class QualityLimit:
    """A limit (SI) on readings of a kind of quantity, by the check it serves."""

    quantity: str
    check: str
    number: Sourced


@cache
def default_limits() -> Mapping[str, Limit]:
    """Every default limit by key."""
    return {row.key: row for row in table("limits.csv", Limit)}


@cache
def quality_limits() -> Mapping[tuple[str, str], Sourced]:
    """Quality limits by (quantity kind, check); SI values."""
    return {(row.quantity, row.check): row.number for row in table("quality_limits.csv", QualityLimit)}


@cache
def standings() -> Mapping[tuple[str, str], str]:
    """Whether a rule decides, by (rule, family)."""
    return {
        (row["rule"], family): standing
        for row in table_rows("deciding.csv")
        for family, standing in row.items()
        if family not in ("rule", "tag", "source")
    }
