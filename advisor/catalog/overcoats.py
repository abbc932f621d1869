"""What goes over what: every ordered pair of the ten families, from overcoats.csv.

A cell of the table names one family or several, with spaces between; `same` on top stands for each below by itself.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from advisor.catalog.coatings import TAGS, coating_ids, load_coating
from advisor.catalog.sourced import table_rows
from advisor.errors import CatalogError, did_you_mean, shown

OWN_WINDOW, YES, PANEL, NO = STANDINGS = ("own window", "yes", "panel", "no")
SCUFF, NO_SCUFF, SCUFF_AFTER_WINDOW = SCUFFS = ("yes", "no", "after window")
STAGES = ("recoat_from_high", "before_two_pack_clear", "sand_high", "sand_flat", "full_cure_high")
_NONE = "none"
_SAME = "same"


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
    """Every pair by (under, over). Raises CatalogError for a bad cell, and for a pair missing or there twice."""
    found: dict[tuple[str, str], Layering] = {}
    for row in table_rows("overcoats.csv"):
        _check(row)
        for under in _ids(row["under"]):
            for over in (under,) if row["over"] == _SAME else _ids(row["over"]):
                if (under, over) in found:
                    raise CatalogError(f"overcoats.csv: {over} over {under} is there twice", "once", "remove one")
                found[under, over] = _layering(under, over, row)
    for under in coating_ids():
        for over in coating_ids():
            if (under, over) not in found:
                raise CatalogError(f"overcoats.csv: {over} over {under} is missing", "every pair", "add it")
    return found


def _ids(cell: str) -> list[str]:
    for name in cell.split():
        if name not in coating_ids():
            raise CatalogError(f"overcoats.csv: no coating {shown(name)}", "", did_you_mean(name, coating_ids()))
    return cell.split()


def _check(row: Mapping[str, str]) -> None:
    choices = {"standing": STANDINGS, "after": (*STAGES, _NONE), "scuff": SCUFFS, "tag": TAGS}
    for column, allowed in choices.items():
        if row[column] not in allowed:
            where = f"overcoats.csv, {row['over']} over {row['under']}"
            raise CatalogError(f"{where}: {column} is {shown(row[column])}", ", ".join(allowed), "choose one")


def _layering(under: str, over: str, row: Mapping[str, str]) -> Layering:
    """The pair; raises CatalogError where the row contradicts itself or the coat below has no such number."""
    where = f"overcoats.csv, {over} over {under}"
    if (row["standing"] == OWN_WINDOW) != (under == over):
        raise CatalogError(f"{where}: standing is {row['standing']}", "own window for itself alone", "correct it")
    if (row["after"] == _NONE) != (row["standing"] == NO and not row["between"]):
        raise CatalogError(f"{where}: after is {row['after']}", "a stage, or none where it never goes", "correct it")
    after = None if row["after"] == _NONE else row["after"]
    numbers = load_coating(under).numbers
    for key in (after, "recoat_until" if row["scuff"] == SCUFF_AFTER_WINDOW else None):
        if key is not None and key not in numbers:
            raise CatalogError(f"{where}: {under} has no {key}", "a number of the coat below", "name another stage")
    return Layering(
        under, over, row["standing"], after, row["scuff"], row["between"], row["reason"], row["tag"], row["source"]
    )
