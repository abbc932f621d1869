"""Coatings: ten generic families as data.

Files: coatings/<id>.toml, one family each; coating_numbers.csv says which numbers there are, their dimension and
the range in which each is believable. A number carries its value in SI (°C, fraction), and where it came from.

The user's own data sheet, laid over a family: five numbers are enough, and the sheet wins.
"""

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import Any

from advisor.catalog.sourced import FOLDER, Sourced, entry, read_toml, reader, table
from advisor.errors import AdvisorError, CatalogError, did_you_mean, refuse, shown
from advisor.units import parse_quantity, spellings

THINNER_SPEEDS = ("hot", "medium", "slow")  # fastest first
RETARDER = "retarder"  # the blend put in place of thinner


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
    return {row.key: row for row in table("coating_numbers.csv", NumberKind)}


@cache
def coating_ids() -> tuple[str, ...]:
    """The ids of the ten families, sorted."""
    return tuple(sorted(path.stem for path in FOLDER.joinpath("coatings").glob("*.toml")))


@cache
def load_coating(coating_id: str) -> Coating:
    """A family by its id. Raises CatalogError with the nearest id when there is none."""
    file = entry({name: FOLDER.joinpath("coatings", f"{name}.toml") for name in coating_ids()}, coating_id, "coating")
    return reader(Coating)({**tomllib.loads(file.read_text("utf-8")), "family": coating_id})


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


_ID = re.compile(r"[A-Za-z0-9][A-Za-z0-9_.-]{0,39}")
_LONGEST_TEXT = 120
_LARGEST_FILE = 100_000  # bytes; a data sheet of five numbers has some 200

# What a data sheet states in one number, and the numbers of the family it governs.
SHEET_NUMBERS: Mapping[str, str] = MappingProxyType(
    {
        "air_temperature_min": "air_temperature_wait_below",
        "air_temperature_max": "air_temperature_wait_above",
        "relative_humidity_min": "relative_humidity_go_low",
        "relative_humidity_max": "relative_humidity_wait_above",
        "recoat_from": "recoat_from_high",
    }
)


def load_data_sheet(path: Path) -> Coating:
    """The user's own data sheet laid over a family. Raises CatalogError with file, key and what to do."""
    return overlay(read_toml(path, _LARGEST_FILE, CatalogError), str(path))


def overlay(table: Mapping[str, Any], where: str) -> Coating:
    """A family with the numbers of a data sheet laid over it: the sheet wins.

    table: `based_on`, and optionally `id`, `name`, `sheet` (what the sheet is called), `[numbers]` with values as
    text such as "12 C". Raises CatalogError.
    """
    _refuse_unknown(table, ("based_on", "id", "name", "sheet", "numbers"), where)
    for key in ("based_on", "id", "name", "sheet"):
        text, printable = str(table.get(key, "")), f"{_LONGEST_TEXT} printable characters"
        long = not (text.isprintable() and len(text) <= _LONGEST_TEXT)
        refuse(
            (not isinstance(table.get(key, ""), str), f"{where}: {key} is not a text", "", "put it in quotes"),
            (long, f"{where}: {key} {shown(text)}", printable, "correct it"),
            kind=CatalogError,
        )
    own = table.get("id", "x")
    refuse(
        (not _ID.fullmatch(own), f"{where}: id {shown(own)}", "40 letters, digits, _ . and -", "like our-clear"),
        (not table.get("based_on"), f"{where}: based_on is missing", ", ".join(coating_ids()), "name the family"),
        kind=CatalogError,
    )
    base = load_coating(table["based_on"])
    entries = table.get("numbers", {})
    if not isinstance(entries, dict):
        raise CatalogError(f"{where}: numbers is not a table", "", "write [numbers] on a line of its own")
    _refuse_unknown(entries, (*SHEET_NUMBERS, *number_kinds()), f"{where}: [numbers]")
    source = table.get("sheet") or "your data sheet"
    numbers = dict(base.numbers)
    for key, text in entries.items():
        numbers[SHEET_NUMBERS.get(key, key)] = _sheet_number(key, text, source, where)
    _follow_the_sheet(numbers, entries)
    names = {key: table.get(key) or getattr(base, key) for key in ("id", "name")}
    coating = replace(base, **names, numbers=MappingProxyType(numbers))
    check_order(coating, where)
    return coating


def _follow_the_sheet(numbers: dict[str, Sourced], entries: Mapping[str, Any]) -> None:
    """Pull the family's inner limits to the sheet's outer ones where they would stand outside them."""
    for key, inner, outer, pick in (
        ("air_temperature_min", "air_temperature_go_low", "air_temperature_wait_below", max),
        ("air_temperature_max", "air_temperature_go_high", "air_temperature_wait_above", min),
        ("relative_humidity_max", "relative_humidity_go_high", "relative_humidity_wait_above", min),
    ):
        if key in entries:
            numbers[inner] = pick(numbers[inner], numbers[outer], key=lambda number: number.value)
    if "recoat_from" in entries:
        numbers["recoat_from_low"] = numbers["recoat_from_high"]
    if "pot_life" in entries:
        for edge in ("pot_life_low", "pot_life_high"):
            numbers.pop(edge, None)


def _refuse_unknown(table: Mapping[str, Any], known: tuple[str, ...], where: str) -> None:
    """Raise CatalogError for a key that nobody reads, with the nearest known one."""
    for key in table:
        if key not in known:
            raise CatalogError(f"{where}: unknown key {shown(key)}", "", did_you_mean(key, known))


def _sheet_number(key: str, text: Any, source: str, where: str) -> Sourced:
    kind = number_kinds()[SHEET_NUMBERS.get(key, key)]
    if not isinstance(text, str):
        raise CatalogError(
            f"{where}: {key} is {shown(repr(text))}", f"text with a unit ({spellings(kind.dimension)})", 'like "12 C"'
        )
    try:
        value = parse_quantity(text, kind.dimension, key)
    except AdvisorError as error:
        raise CatalogError(f"{where}: {error.got}", error.allowed, error.do) from error
    allowed, outside = f"{kind.low:g} to {kind.high:g}", not kind.low <= value <= kind.high
    refuse((outside, f"{where}: {key} is {value:g} in SI", allowed, "check number and unit"), kind=CatalogError)
    return Sourced(value, "data sheet", source)
