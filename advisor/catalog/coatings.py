"""Coatings: ten generic families as data.

Files: coatings/<id>.toml, one family each; coating_numbers.csv says which numbers there are, their dimension and
the range in which each is believable. A number carries its value in SI (°C, fraction), and where it came from.
"""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from types import MappingProxyType
from typing import Any

from advisor.catalog.solvents import solvents
from advisor.catalog.sourced import FOLDER, Sourced, table_rows
from advisor.catalog.units import spellings, to_si, unit_for
from advisor.errors import CatalogError, did_you_mean, shown

TAGS = ("published", "common practice", "from memory", "data sheet")
CARRIERS = ("water", "solvent", "spirit")
RESIN_KINDS = ("nitrocellulose", "acrylic", "shellac", "polyurethane", "alkyd")
HARDENING = ("evaporation", "coalescence", "two-pack", "acid", "oxidation")
_TEXTS = ("id", "name", "carrier", "resin", "hardens_by")
THINNER_SPEEDS = ("hot", "medium", "slow")  # fastest first
RETARDER = "retarder"  # the blend put in place of thinner
_FLAGS = ("flammable", "isocyanate", "gives_off_formaldehyde", "burns_in")
_LISTS = ("thinners", "retarders", "never_mix_with")


@dataclass(frozen=True)
class NumberKind:
    """What a coating's number is: dimension, believable range in SI, and whether every family must have it."""

    key: str
    dimension: str
    low: float
    high: float
    required: bool
    label: str


@dataclass(frozen=True)
class Band:
    """Limits in three steps: GO within go_low..go_high, a change outside, WAIT outside wait_below..wait_above.

    `wait_below` is None where dryness or cold alone never makes a WAIT.
    """

    go_low: Sourced
    go_high: Sourced
    wait_below: Sourced | None
    wait_above: Sourced


@dataclass(frozen=True)
class Blend:
    """Mass fractions by solvent, summing to 1: volatiles as sprayed, or the retarder put in place of thinner."""

    mass_fractions: Mapping[str, float]
    tag: str
    source: str


@dataclass(frozen=True)
class Coating:
    """A coating as the tool knows it; numbers by the keys of coating_numbers.csv."""

    id: str
    family: str
    name: str
    carrier: str
    resin: str
    hardens_by: str
    flammable: bool
    isocyanate: bool
    gives_off_formaldehyde: bool
    burns_in: bool
    thinners: tuple[str, ...]
    retarders: tuple[str, ...]
    never_mix_with: tuple[str, ...]
    numbers: Mapping[str, Sourced]
    blends: Mapping[str, Blend] = field(default_factory=dict)

    @property
    def thinner_speeds(self) -> tuple[str, ...]:
        """The thinners whose make-up is known, fastest first."""
        return tuple(speed for speed in THINNER_SPEEDS if speed in self.blends)

    @property
    def air_temperature(self) -> Band:
        """Band of the air temperature [°C]."""
        return self._band("air_temperature")

    @property
    def relative_humidity(self) -> Band:
        """Band of the relative humidity [fraction]."""
        return self._band("relative_humidity")

    def _band(self, quantity: str) -> Band:
        return Band(
            self.numbers[f"{quantity}_go_low"],
            self.numbers[f"{quantity}_go_high"],
            self.numbers.get(f"{quantity}_wait_below"),
            self.numbers[f"{quantity}_wait_above"],
        )


@cache
def number_kinds() -> Mapping[str, NumberKind]:
    """Every number a coating can have, in the order it is shown."""
    return {
        row["key"]: NumberKind(
            row["key"],
            row["dimension"],
            float(row["low"]),
            float(row["high"]),
            row["required"] == "yes",
            row["label"],
        )
        for row in table_rows("coating_numbers.csv")
    }


@cache
def coating_ids() -> tuple[str, ...]:
    """The ids of the ten families, sorted."""
    return tuple(sorted(path.stem for path in FOLDER.joinpath("coatings").glob("*.toml")))


@cache
def load_coating(coating_id: str) -> Coating:
    """A family by its id. Raises CatalogError with the nearest id when there is none."""
    if coating_id not in coating_ids():
        raise CatalogError(f"no coating {shown(coating_id)}", "", did_you_mean(coating_id, coating_ids()))
    path = FOLDER / "coatings" / f"{coating_id}.toml"
    return coating_from_table(tomllib.loads(path.read_text("utf-8")), path.name)


def coating_from_table(table: Mapping[str, Any], where: str) -> Coating:
    """A family from its parsed file. Raises CatalogError naming the file and the key."""
    known = (*_TEXTS, *_FLAGS, *_LISTS, "numbers", "blends")
    refuse_unknown(table, known, where)
    for key in (*_TEXTS, *_FLAGS, *_LISTS, "numbers"):
        if key not in table:
            raise CatalogError(f"{where}: {key} is missing", "", "add it")
    expected: tuple[tuple[tuple[str, ...], type], ...] = ((_TEXTS, str), (_FLAGS, bool), (_LISTS, list))
    for names, kind in expected:
        for name in names:
            if not isinstance(table[name], kind):
                raise CatalogError(f"{where}: {name} is {table[name]!r}", f"a {kind.__name__}", "correct it")
    for key, choices in (("carrier", CARRIERS), ("resin", RESIN_KINDS), ("hardens_by", HARDENING)):
        if table[key] not in choices:
            raise CatalogError(f"{where}: {key} is {table[key]!r}", ", ".join(choices), "choose one")
    numbers = {key: _family_number(key, entry, where) for key, entry in table["numbers"].items()}
    missing = [key for key, number_kind in number_kinds().items() if number_kind.required and key not in numbers]
    if missing:
        raise CatalogError(f"{where}: {', '.join(missing)} missing under [numbers]", "", "add each with its source")
    coating = Coating(
        family=table["id"],
        numbers=numbers,
        blends={name: _blend(name, entry, where) for name, entry in table.get("blends", {}).items()},
        id=table["id"],
        name=table["name"],
        carrier=table["carrier"],
        resin=table["resin"],
        hardens_by=table["hardens_by"],
        flammable=table["flammable"],
        isocyanate=table["isocyanate"],
        gives_off_formaldehyde=table["gives_off_formaldehyde"],
        burns_in=table["burns_in"],
        thinners=tuple(table["thinners"]),
        retarders=tuple(table["retarders"]),
        never_mix_with=tuple(table["never_mix_with"]),
    )
    check_order(coating, where)
    return coating


def refuse_unknown(table: Mapping[str, Any], known: tuple[str, ...], where: str) -> None:
    """Raise CatalogError for a key that nobody reads, with the nearest known one."""
    for key in table:
        if key not in known:
            raise CatalogError(f"{where}: unknown key {shown(key)}", "", did_you_mean(key, known))


def _family_number(key: str, entry: Any, where: str) -> Sourced:
    kind = number_kinds().get(key)
    if kind is None:
        raise CatalogError(f"{where}: unknown number {shown(key)}", "", did_you_mean(key, number_kinds()))
    if not isinstance(entry, dict) or set(entry) != {"value", "unit", "tag", "source"}:
        raise CatalogError(f"{where}: {key} needs value, unit, tag and source", "", "give all four, nothing else")
    value, unit = entry["value"], unit_for(str(entry["unit"]), kind.dimension)
    if unit is None:
        raise CatalogError(f"{where}: {key} in {entry['unit']!r}", spellings(kind.dimension), "correct the unit")
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise CatalogError(f"{where}: {key} is {value!r}", "a number", "correct it")
    if entry["tag"] not in TAGS or not entry["source"]:
        raise CatalogError(f"{where}: {key} is tagged {entry['tag']!r}", ", ".join(TAGS), "tag it and name its source")
    return believable(Sourced(to_si(value, unit), entry["tag"], entry["source"]), kind, where)


def believable(number: Sourced, kind: NumberKind, where: str) -> Sourced:
    """The number again; raises CatalogError when it lies outside the range believable for its kind."""
    if not kind.low <= number.value <= kind.high:
        raise CatalogError(
            f"{where}: {kind.key} is {number.value:g} in SI",
            f"{kind.low:g} to {kind.high:g}",
            "check number and unit",
        )
    return number


def _blend(name: str, entry: Mapping[str, Any], where: str) -> Blend:
    fractions = entry.get("mass_fractions", {})
    if entry.get("tag") not in TAGS or not entry.get("source"):
        raise CatalogError(f"{where}: blend {name} has no tag or source", ", ".join(TAGS), "add both")
    for solvent in fractions:
        if solvent not in solvents():
            raise CatalogError(
                f"{where}: blend {name} has an unknown solvent {shown(solvent)}", "", did_you_mean(solvent, solvents())
            )
    if not fractions or not all(part > 0 for part in fractions.values()):
        raise CatalogError(f"{where}: blend {name} has an empty part", "fractions over 0", "correct it")
    if not abs(sum(fractions.values()) - 1.0) <= 1e-6:
        raise CatalogError(f"{where}: blend {name} sums to {sum(fractions.values()):g}", "1", "correct it")
    return Blend(MappingProxyType(dict(fractions)), entry["tag"], entry["source"])


def check_order(coating: Coating, where: str) -> None:
    """Raise CatalogError where limits stand out of order: a band would be empty or inside out."""
    pairs = [
        ("air_temperature_wait_below", "air_temperature_go_low"),
        ("air_temperature_go_low", "air_temperature_go_high"),
        ("air_temperature_go_high", "air_temperature_wait_above"),
        ("relative_humidity_go_low", "relative_humidity_go_high"),
        ("relative_humidity_go_high", "relative_humidity_wait_above"),
        ("thinning_usual_high", "thinning_max"),
        ("recoat_from_high", "recoat_until"),
        *((key, key.removesuffix("_low") + "_high") for key in number_kinds() if key.endswith("_low")),
    ]
    for lower, upper in pairs:
        low, high = coating.numbers.get(lower), coating.numbers.get(upper)
        if low is not None and high is not None and not low.value <= high.value:
            raise CatalogError(
                f"{where}: {lower} ({low.value:g}) is above {upper} ({high.value:g})",
                "",
                "state both from the sheet",
            )
