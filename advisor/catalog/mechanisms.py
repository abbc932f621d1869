"""What can make a coat go wrong: tests of what it was exposed to, by mechanism, and what to do about it."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from advisor.catalog.coatings import CARRIERS, HARDENING, TAGS, number_kinds
from advisor.catalog.defects import defects
from advisor.catalog.limits import default_limits
from advisor.catalog.sourced import table_rows
from advisor.errors import CatalogError

AIR, COAT, OTHER = KINDS = ("air", "coat", "other")
ABOVE, BELOW = DIRECTIONS = ("above", "below")
ZERO, ONE, OWN = "zero", "one", "own"  # limits that are no number of a table; own: the exposure brings it
EVERY = "all"


@dataclass(frozen=True)
class Probe:
    """One test of a mechanism: an exposure past a limit can cause these defects.

    limit: a coating's number, a shop's limit, or zero, one, own. applies: carriers or ways of hardening.
    """

    mechanism: str
    defects: tuple[str, ...]
    exposure: str
    direction: str
    limit: str
    applies: tuple[str, ...]
    tag: str
    source: str


@dataclass(frozen=True)
class Mechanism:
    """How a coat can go wrong. kind: the air did it, the coat as sprayed, or something no reading shows (no probes)."""

    id: str
    kind: str
    label: str
    change: str
    repair: str
    probes: tuple[Probe, ...]
    defects: tuple[str, ...]
    applies: tuple[str, ...]


@cache
def mechanisms() -> Mapping[str, Mechanism]:
    """Every mechanism by its id. Raises CatalogError for a bad row."""
    found: dict[str, Mechanism] = {}
    for row in table_rows("mechanisms.csv"):
        _check(row)
        name, can, applies = row["mechanism"], tuple(row["defects"].split()), tuple(row["applies"].split())
        probe = Probe(
            name, can, row["exposure"], row["direction"], row["limit"], applies, row["tag"], row["source"]
        )  # fmt: skip
        before = found.get(name)
        probes = (*(before.probes if before else ()), *((probe,) if row["kind"] != OTHER else ()))
        every = tuple(dict.fromkeys((*(before.defects if before else ()), *can)))
        found[name] = Mechanism(
            name, row["kind"], row["label"], row["change"], row["repair"], probes, every, applies
        )  # fmt: skip
    return found


def _check(row: Mapping[str, str]) -> None:
    where = f"mechanisms.csv, {row['mechanism']}"
    limits = {ZERO, ONE, OWN, *number_kinds(), *default_limits()}
    choices = {"kind": KINDS, "tag": TAGS}
    if row["kind"] != OTHER:
        choices |= {"direction": DIRECTIONS, "limit": tuple(limits)}
    for column, allowed in choices.items():
        if row[column] not in allowed:
            raise CatalogError(f"{where}: {column} is {row[column]!r}", ", ".join(allowed)[:120], "correct it")
    for column, known in (("defects", tuple(defects())), ("applies", (EVERY, *CARRIERS, *HARDENING))):
        for word in row[column].split():
            if word not in known:
                raise CatalogError(f"{where}: {column} has {word!r}", ", ".join(known), "correct it")
