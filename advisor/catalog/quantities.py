"""What can be measured: quantity names, their dimension and label.

Particle counts and dust masses carry a size: `particles_5um`, `pm2.5`; their kind is `particles` and `pm`.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from advisor.catalog.sourced import table_rows

_PARTICLES = re.compile(r"particles_([0-9]{1,3}(?:[._][0-9]{1,2})?)um")
_DUST_MASS = re.compile(r"pm([0-9]{1,3}(?:[._][0-9]{1,2})?)")


@dataclass(frozen=True)
class QuantityKind:
    """A kind of quantity: dimension of its values and of their differences, and its plain name."""

    kind: str
    dimension: str
    difference_dimension: str
    label: str


@cache
def quantity_kinds() -> Mapping[str, QuantityKind]:
    """Every kind by name."""
    return {
        row["quantity"]: QuantityKind(row["quantity"], row["dimension"], row["difference_dimension"], row["label"])
        for row in table_rows("quantities.csv")
    }


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
    if quantity in kinds:
        return kinds[quantity]
    return kinds["particles" if quantity.startswith("particles_") else "pm"]


def label(quantity: str) -> str:
    """A quantity's plain name, with its size where it has one: `particle count over 5 µm`, `dust mass PM2.5`."""
    kind = kind_of(quantity)
    if kind.kind == "particles":
        return f"{kind.label} over {quantity.removeprefix('particles_').removesuffix('um')} µm"
    if kind.kind == "pm":
        return f"{kind.label} PM{quantity.removeprefix('pm')}"
    return kind.label
