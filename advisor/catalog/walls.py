"""What a shop's walls, floor and ceiling are made of, as data: how much warmth they lend to the air drawn in."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from advisor.catalog.sourced import entry, table
from advisor.physics.room import Wall

UNSAID = "brick"  # the steadiest: a fan-on trial says what the shop's own are


@dataclass(frozen=True)
class _Row:
    """A row of walls.csv."""

    id: str
    wall: Wall


@cache
def walls() -> Mapping[str, Wall]:
    """Every kind of wall by its id."""
    return {row.id: row.wall for row in table("walls.csv", _Row)}


def find_wall(text: str) -> Wall:
    """A kind of wall by its id. Raises CatalogError with the nearest one."""
    return entry(walls(), text, "walls")
