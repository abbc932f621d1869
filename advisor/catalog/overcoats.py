"""What goes over what: every ordered pair of the ten families, from overcoats.csv.

A cell of the table names one family or several, with spaces between; `same` on top stands for each below by itself.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache

from advisor.catalog.sourced import table

OWN_WINDOW, YES, PANEL, NO = STANDINGS = ("own window", "yes", "panel", "no")
SCUFF, NO_SCUFF, SCUFF_AFTER_WINDOW = SCUFFS = ("yes", "no", "after window")
STAGES = ("recoat_from_high", "before_two_pack_clear", "sand_high", "sand_flat", "full_cure_high")


@dataclass(frozen=True)
class Layering:
    """One family over another.

    standing: one of STANDINGS. after: the number of the coat below that it must have reached (one of STAGES), None
    where it never will do. scuff: one of SCUFFS. between: what may lie between them, empty where nothing helps; under a
    `no` it is the only way round. reason: why, in trade words.
    """

    under: str
    over: str
    standing: str
    after: str | None
    scuff: str
    between: str
    reason: str
    tag: str
    source: str


@cache
def overcoats() -> Mapping[tuple[str, str], Layering]:
    """Every pair by (under, over)."""
    return {
        (under, over): replace(row, under=under, over=over)
        for row in table("overcoats.csv", Layering)
        for under in row.under.split()
        for over in ([under] if row.over == "same" else row.over.split())
    }
