"""Lower flammable limits of the solvents: every published one that was found, the lowest of which counts.

File: flammability.csv, a limit a row, fractions by volume of air. A solvent without a row does not burn. The table of
the 1971 regulation lies up to twice over newer ones, which is why no single source is trusted. A limit tells where
vapour burns; the air is unfit to breathe far below it.
"""

import math
from collections.abc import Iterable, Mapping
from functools import cache
from types import MappingProxyType

from advisor.catalog.solvents import TAGS, solvents
from advisor.catalog.sourced import Sourced, table_rows
from advisor.errors import CatalogError, did_you_mean, shown

BELIEVABLE = (0.001, 0.2)  # [fraction]
_TABLE = "flammability.csv"
_COLUMNS = ("solvent", "lower_limit", "tag", "source")


@cache
def lower_limits() -> Mapping[str, tuple[Sourced, ...]]:
    """Every solvent's published limits [fraction], rising; none where it does not burn. Raises CatalogError."""
    return lower_limits_from_rows(table_rows(_TABLE), _TABLE)


def lowest_limit(solvent: str) -> Sourced | None:
    """The lowest published lower flammable limit [fraction] of a solvent by its id; None: it does not burn.

    Raises CatalogError with the nearest id.
    """
    if solvent not in lower_limits():
        raise CatalogError(f"no solvent {shown(solvent)}", "", did_you_mean(solvent, lower_limits()))
    return next(iter(lower_limits()[solvent]), None)


def lower_limits_from_rows(rows: Iterable[Mapping[str, str]], where: str) -> Mapping[str, tuple[Sourced, ...]]:
    """Limits from a table's rows, by solvent. Raises CatalogError naming file, row and column."""
    found: dict[str, list[Sourced]] = {key: [] for key in solvents()}
    for number, row in enumerate(rows, start=2):
        here = f"{where}, row {number}"
        for key in _COLUMNS:
            if not (row.get(key) or "").strip():
                raise CatalogError(f"{here}: no {key}", ", ".join(_COLUMNS), "correct the table")
        if row["solvent"] not in found:
            raise CatalogError(f"{here}: no solvent {shown(row['solvent'])}", "", did_you_mean(row["solvent"], found))
        if row["tag"] not in TAGS:
            raise CatalogError(f"{here}: tag is {shown(row['tag'])}", ", ".join(TAGS), "correct the table")
        found[row["solvent"]].append(Sourced(_limit(row["lower_limit"], here), row["tag"], row["source"]))
    return MappingProxyType({key: tuple(sorted(limits, key=lambda one: one.value)) for key, limits in found.items()})


def _limit(text: str, where: str) -> float:
    try:
        value = float(text)
    except ValueError:
        value = math.nan
    low, high = BELIEVABLE
    if not low <= value <= high:
        raise CatalogError(f"{where}: lower_limit is {shown(text)}", f"{low:g} to {high:g}", "correct the table")
    return value
