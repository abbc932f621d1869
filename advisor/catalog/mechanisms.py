"""What can make a coat go wrong: tests of what it was exposed to, by mechanism, how it then looks, and what to do.

Four tables: `defects.csv`; `mechanisms.csv`, the probes of each in `probes.csv`, and in `looks.csv` when and where each
is seen.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import cache

from advisor.catalog.sourced import NAMES, table
from advisor.errors import CatalogError, nearest, shown

AIR, COAT, OTHER = KINDS = ("air", "coat", "other")
ABOVE, BELOW = DIRECTIONS = ("above", "below")
ZERO, ONE, OWN = "zero", "one", "own"  # limits that are no number of a table; own: the exposure brings it
EVERY = "all"
GUNS = ("compressor", "turbine", "none")  # what feeds the gun; none: brush or pad
MINUTES, HOURS, MORNING, DAYS = FOUND = ("minutes", "hours", "morning", "days")
WHERE = ("all-over", "edges", "spots", "heavy-parts", "one-side")


@dataclass(frozen=True)
class Probe:
    """One test of a mechanism: an exposure past a limit can cause these defects.

    limit: a coating's number, a shop's limit, or zero, one, own. width: how far past it is plainly past it, in the
    exposure's SI unit, of the natural logarithm where that is judged by ratio. applies: carriers or ways of hardening.
    """

    mechanism: str
    defects: tuple[str, ...]
    exposure: str
    direction: str
    limit: str
    width: float
    applies: tuple[str, ...]
    tag: str
    source: str


@dataclass(frozen=True)
class Look:
    """When (FOUND) and where (WHERE) a mechanism shows a defect; empty says nothing of it. only: never otherwise."""

    mechanism: str
    defect: str
    found: tuple[str, ...]
    where: tuple[str, ...]
    only: bool


ANY_LOOK = Look("", "", (), (), False)


@dataclass(frozen=True)
class Mechanism:
    """How a coat can go wrong. kind: the air did it, the coat as sprayed, or something no reading shows (no probes).

    guns: with what it can be. proof: how to prove it on a scrap. applies: of a mechanism without probes. looks: by
    defect.
    """

    id: str
    kind: str
    guns: tuple[str, ...]
    label: str
    proof: str
    change: str
    repair: str
    probes: tuple[Probe, ...] = ()
    defects: tuple[str, ...] = ()
    applies: tuple[str, ...] = ()
    looks: Mapping[str, Look] = field(default_factory=dict)


@dataclass(frozen=True)
class Defect:
    """A defect: its id, its name, and other words for it."""

    id: str
    name: str
    also_called: tuple[str, ...] = field(metadata=NAMES)


@cache
def defects() -> Mapping[str, Defect]:
    """Every defect by its id."""
    return {row.id: row for row in table("defects.csv", Defect)}


@cache
def mechanisms() -> Mapping[str, Mechanism]:
    """Every mechanism by its id."""
    probes, looks = table("probes.csv", Probe), table("looks.csv", Look)
    found = {}
    for row in table("mechanisms.csv", Mechanism):
        own = [probe for probe in probes if probe.mechanism == row.id]
        found[row.id] = replace(
            row,
            probes=() if row.kind == OTHER else tuple(own),
            defects=tuple(dict.fromkeys(word for probe in own for word in probe.defects)),
            applies=tuple(dict.fromkeys(word for probe in own for word in probe.applies)),
            looks={look.defect: look for look in looks if look.mechanism == row.id},
        )
    return found


def find_defect(text: str) -> Defect:
    """A defect by its id, its name or another word for it, hyphens and case aside.

    Raises CatalogError with the nearest id, or with all of them.
    """
    words = {
        _plain(word): defect for defect in defects().values() for word in (defect.id, defect.name, *defect.also_called)
    }
    typed = _plain(text)
    if typed in words:
        return words[typed]
    near = nearest(typed, words)
    known = ", ".join(defects())
    raise CatalogError(f"no defect {shown(text)}", "", f"did you mean {words[near].id}?" if near else f"known: {known}")


def _plain(text: str) -> str:
    return " ".join(text.casefold().replace("-", " ").split())
