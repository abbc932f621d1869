"""What can make a coat go wrong: tests of what it was exposed to, by mechanism, how it then looks, and what to do.

Three tables: `mechanisms.csv`, the probes of each in `probes.csv`, and in `looks.csv` when and where each is seen.
"""

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

    found: tuple[str, ...]
    where: tuple[str, ...]
    only: bool


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
    probes: tuple[Probe, ...]
    defects: tuple[str, ...]
    applies: tuple[str, ...]
    looks: Mapping[str, Look]


@cache
def mechanisms() -> Mapping[str, Mechanism]:
    """Every mechanism by its id. Raises CatalogError for a bad row."""
    probes, looks = table_rows("probes.csv"), table_rows("looks.csv")
    for row in (*probes, *looks):
        _check_words(row)
    found = {}
    for row in table_rows("mechanisms.csv"):
        name = row["mechanism"]
        own = [probe for probe in probes if probe["mechanism"] == name]
        _check(row, own)
        found[name] = Mechanism(
            name, row["kind"], tuple(row["guns"].split()), row["label"], row["proof"], row["change"], row["repair"],
            () if row["kind"] == OTHER else tuple(map(_probe, own)),
            tuple(dict.fromkeys(word for probe in own for word in probe["defects"].split())),
            tuple(dict.fromkeys(word for probe in own for word in probe["applies"].split())),
            {look["defect"]: _look(look) for look in looks if look["mechanism"] == name},
        )  # fmt: skip
    unknown = {row["mechanism"] for row in (*probes, *looks)} - set(found)
    if unknown:
        raise CatalogError(f"no mechanism {sorted(unknown)[0]!r}", "one of mechanisms.csv", "correct it")
    return found


def _probe(row: Mapping[str, str]) -> Probe:
    return Probe(
        row["mechanism"], tuple(row["defects"].split()), row["exposure"], row["direction"], row["limit"],
        float(row["width"]), tuple(row["applies"].split()), row["tag"], row["source"],
    )  # fmt: skip


def _look(row: Mapping[str, str]) -> Look:
    return Look(tuple(row["found"].split()), tuple(row["where"].split()), row["only"] == "yes")


def _check(row: Mapping[str, str], probes: list[dict[str, str]]) -> None:
    where = f"mechanisms.csv, {row['mechanism']}"
    _known(where, "kind", row["kind"], KINDS)
    for word in row["guns"].split():
        _known(where, "guns", word, (EVERY, *GUNS))
    if not probes:
        raise CatalogError(f"{where}: no row of probes.csv", "one at least", "say which defects it makes")
    limits = (ZERO, ONE, OWN, *number_kinds(), *default_limits())
    for probe in probes if row["kind"] != OTHER else ():
        _known(where, "direction", probe["direction"], DIRECTIONS)
        _known(where, "limit", probe["limit"], limits)
        if not float(probe["width"] or 0.0) > 0.0:
            raise CatalogError(f"{where}: width is {probe['width']!r}", "over 0", "correct it")


def _check_words(row: Mapping[str, str]) -> None:
    choices = {
        "defects": defects(), "defect": defects(), "applies": (EVERY, *CARRIERS, *HARDENING), "tag": TAGS,
        "found": FOUND, "where": WHERE, "only": ("yes",),
    }  # fmt: skip
    for column in choices.keys() & row.keys():
        for word in [row[column]] if column == "tag" else row[column].split():
            _known(f"{row['mechanism']}", column, word, tuple(choices[column]))


def _known(where: str, column: str, word: str, allowed: tuple[str, ...]) -> None:
    if word not in allowed:
        raise CatalogError(f"{where}: {column} has {word!r}", ", ".join(allowed)[:120], "correct it")
