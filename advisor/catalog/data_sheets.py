"""The user's own data sheet, laid over a family: five numbers are enough, and the sheet wins."""

import re
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from types import MappingProxyType
from typing import Any

from advisor.catalog.coatings import (
    Coating,
    check_order,
    coating_ids,
    load_coating,
    number_kinds,
)
from advisor.catalog.sourced import Sourced, read_toml
from advisor.catalog.units import parse_quantity, spellings
from advisor.errors import AdvisorError, CatalogError, did_you_mean, shown

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
    table = read_toml(path, _LARGEST_FILE, CatalogError)
    return overlay(table, str(path))


def overlay(table: Mapping[str, Any], where: str) -> Coating:
    """A family with the numbers of a data sheet laid over it: the sheet wins.

    table: `based_on`, and optionally `id`, `name`, `sheet` (what the sheet is called), `[numbers]` with values as
    text such as "12 C". Raises CatalogError.
    """
    _refuse_unknown(table, ("based_on", "id", "name", "sheet", "numbers"), where)
    for key in ("based_on", "id", "name", "sheet"):
        if not isinstance(table.get(key, ""), str):
            raise CatalogError(f"{where}: {key} is not a text", "", "put it in quotes")
        text = table.get(key, "")
        if not (text.isprintable() and len(text) <= _LONGEST_TEXT):
            raise CatalogError(f"{where}: {key} {shown(text)}", f"{_LONGEST_TEXT} printable characters", "correct it")
    if not _ID.fullmatch(table.get("id", "x")):
        raise CatalogError(f"{where}: id {shown(table['id'])}", "40 letters, digits, _ . and -", "like our-clear")
    if not table.get("based_on"):
        raise CatalogError(f"{where}: based_on is missing", ", ".join(coating_ids()), "name the family")
    base = load_coating(table["based_on"])
    entries = table.get("numbers", {})
    if not isinstance(entries, dict):
        raise CatalogError(f"{where}: numbers is not a table", "", "write [numbers] on a line of its own")
    _refuse_unknown(entries, (*SHEET_NUMBERS, *number_kinds()), f"{where}: [numbers]")
    source = table.get("sheet") or "your data sheet"
    numbers = dict(base.numbers)
    for key, text in entries.items():
        target = SHEET_NUMBERS.get(key, key)
        numbers[target] = _sheet_number(key, target, text, source, where)
    _follow_the_sheet(numbers, entries)
    coating = replace(
        base,
        id=table.get("id") or base.id,
        name=table.get("name") or base.name,
        numbers=MappingProxyType(numbers),
    )
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


def _sheet_number(key: str, target: str, text: Any, source: str, where: str) -> Sourced:
    kind = number_kinds()[target]
    if not isinstance(text, str):
        raise CatalogError(
            f"{where}: {key} is {shown(repr(text))}", f"text with a unit ({spellings(kind.dimension)})", 'like "12 C"'
        )
    try:
        value = parse_quantity(text, kind.dimension, key)
    except AdvisorError as error:
        raise CatalogError(f"{where}: {error.got}", error.allowed, error.do) from error
    if not kind.low <= value <= kind.high:
        allowed = f"{kind.low:g} to {kind.high:g}"
        raise CatalogError(f"{where}: {key} is {value:g} in SI", allowed, "check number and unit")
    return Sourced(value, "data sheet", source)
