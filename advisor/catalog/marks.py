"""Why a reading or an exposure does not count: one table of marks, each with its words."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from advisor.catalog.sourced import table


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
