"""A number with its source, and how the catalog's tables are read."""

import csv
from dataclasses import dataclass
from pathlib import Path

FOLDER = Path(__file__).parent  # the tables lie beside the code


@dataclass(frozen=True)
class Sourced:
    """A number in SI (°C, fraction, s, m) with where it came from."""

    value: float
    tag: str
    source: str


def table_rows(name: str) -> list[dict[str, str]]:
    """The rows of one of the catalog's CSV tables."""
    return list(csv.DictReader(FOLDER.joinpath(name).read_text("utf-8").splitlines()))
