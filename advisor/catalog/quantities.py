"""What can be measured: quantity names, their dimension and label.

Particle counts and dust masses carry a size: `particles_5um`, `pm2.5`; their kind is `particles` and `pm`.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from advisor.catalog.sourced import table
from advisor.errors import CatalogError, shown
from advisor.units import UNITS, Unit

_PARTICLES = re.compile(r"particles_([0-9]{1,3}(?:[._][0-9]{1,2})?)um")
_DUST_MASS = re.compile(r"pm([0-9]{1,3}(?:[._][0-9]{1,2})?)")

PARTICLES = "particles_"
# Short names that many loggers write
SHORT_NAMES: Mapping[str, str] = {
    "temperature": "air_temperature",
    "temp": "air_temperature",
    "humidity": "relative_humidity",
    "rh": "relative_humidity",
}


@dataclass(frozen=True)
class QuantityKind:
    """A kind of quantity: dimensions of its values and of their differences, and its plain name.

    resolution: the step in SI to which the logbook keeps a value; si_unit: how that unit is written in an export.
    """

    kind: str
    dimension: str
    resolution: float
    si_unit: str
    label: str


@cache
def quantity_kinds() -> Mapping[str, QuantityKind]:
    """Every kind by name."""
    return {row.kind: row for row in table("quantities.csv", QuantityKind)}


def normal_name(name: str) -> str | None:
    """The quantity a name stands for (`pm2_5` is `pm2.5`), or None when there is none."""
    if name in quantity_kinds() and name not in ("particles", "pm"):
        return name
    for pattern, form in ((_PARTICLES, "particles_{}um"), (_DUST_MASS, "pm{}")):
        found = pattern.fullmatch(name)
        if found:
            return form.format(found.group(1).replace("_", "."))
    return None


@cache
def kind_of(quantity: str) -> QuantityKind:
    """The kind of a quantity: `particles_5um` is of kind `particles`."""
    kinds = quantity_kinds()
    sized = "particles" if quantity.startswith(PARTICLES) else "pm"
    return kinds.get(quantity, kinds[sized])


def size_of(quantity: str) -> float:
    """The diameter [m] of `particles_5um` or `pm2.5`; only for those."""
    digits = quantity.removeprefix(PARTICLES).removesuffix("um") if quantity.startswith(PARTICLES) else quantity[2:]
    return float(digits) * 1e-6


def label(quantity: str) -> str:
    """A quantity's plain name, with its size where it has one: `particle count over 5 µm`, `dust mass PM2.5`."""
    kind = kind_of(quantity)
    if kind.kind == "particles":
        return f"{kind.label} over {quantity.removeprefix('particles_').removesuffix('um')} µm"
    if kind.kind == "pm":
        return f"{kind.label} PM{quantity.removeprefix('pm')}"
    return kind.label


def find_column(name: str) -> tuple[str, Unit] | None:
    """Quantity and unit of a column name such as `air_temperature_c` or `humidity_pct`; None when it is none."""
    for unit in UNITS:
        suffix = f"_{unit.spelling.casefold()}"
        if name.endswith(suffix):
            stem = name.removesuffix(suffix)
            quantity = normal_name(SHORT_NAMES.get(stem, stem))
            if quantity is not None and kind_of(quantity).dimension == unit.dimension:
                return quantity, unit
    return None


@cache
def column_of(name: str) -> tuple[str, Unit]:
    """As `find_column`; raises CatalogError when there is none."""
    found = find_column(name.casefold())
    if found is None:
        raise CatalogError(f"no column {shown(name)}", "a quantity with its unit, like air_temperature_c", "correct it")
    return found
