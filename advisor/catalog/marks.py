"""Why a reading or an exposure does not count: one table of marks, each with its words."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from advisor.catalog.sourced import table_rows


@dataclass(frozen=True)
class Mark:
    """A mark and its words.

    in_short: among others, or counted. sentence: where it may not decide, of a {quantity}; remedy: what to do then.
    meaning: in the guide. A review's own marks are told in short alone.
    """

    mark: str
    in_short: str
    sentence: str
    remedy: str
    meaning: str


@cache
def marks() -> Mapping[str, Mark]:
    """Every mark by its id."""
    return {row["mark"]: Mark(**row) for row in table_rows("marks.csv")}


def in_short(mark: str) -> str:
    """A mark in a few words; a fault of our own that has no row is told by its id."""
    return marks()[mark].in_short if mark in marks() else mark
