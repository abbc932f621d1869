"""Default limits, sensor quality limits, and which rule decides: numbers in SI, each with its source.

Why a reading or an exposure does not count: one table of marks, each with its words.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from advisor.catalog.sourced import Sourced, table, table_rows
from advisor.units import Unit

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


@cache
def default_limits() -> Mapping[str, Limit]:
    """Every default limit by key."""
    return {row.key: row for row in table("limits.csv", Limit)}


@cache
def quality_limits() -> Mapping[tuple[str, str], Sourced]:
    """Quality limits by (quantity kind, check); SI values."""
    rows, numbers = table_rows("quality_limits.csv"), table("quality_limits.csv", Sourced)
    return {(row["quantity"], row["check"]): number for row, number in zip(rows, numbers, strict=True)}


@cache
def standings() -> Mapping[tuple[str, str], str]:
    """Whether a rule decides, by (rule, family)."""
    return {
        (row["rule"], family): standing
        for row in table_rows("deciding.csv")
        for family, standing in row.items()
        if family not in ("rule", "tag", "source")
    }


@dataclass(frozen=True)
class Mark:
    """A mark and its words.

    in_a_word: in a picture. in_short: among others, or counted. sentence: where it may not decide, of a {quantity};
    remedy: what to do then. meaning: in the guide. A review's own marks are told in short alone.
    """

    mark: str
    in_a_word: str
    in_short: str
    sentence: str
    remedy: str
    meaning: str


@cache
def marks() -> Mapping[str, Mark]:
    """Every mark by its id."""
    return {row.mark: row for row in table("marks.csv", Mark)}


def in_a_word(mark: str) -> str:
    """A mark in a word or two, to stand in a picture; where nothing was said, that."""
    return (marks()[mark].in_a_word if mark in marks() else "") or "no reading"


def in_short(mark: str) -> str:
    """A mark in a few words; a fault of our own that has no row is told by its id."""
    return marks()[mark].in_short if mark in marks() else mark
