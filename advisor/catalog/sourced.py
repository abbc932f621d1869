"""A number with its source, how the catalog's tables become records, and how the user's TOML files are read.

The shipped tables are checked by tests/catalog, not at each start: every range, source, word and reference in them.
"""

import csv
import re
import tomllib
from collections.abc import Callable, Mapping
from dataclasses import MISSING, dataclass, fields, is_dataclass
from pathlib import Path
from typing import Any, TypeVar, get_args, get_origin, get_type_hints

from advisor.errors import AdvisorError, CatalogError, did_you_mean, shown
from advisor.units import Unit, listed_unit, to_si

Row = TypeVar("Row")

FOLDER = Path(__file__).parent  # the tables lie beside the code
NAMES = {"apart": ";"}  # metadata of a field that lists names with blanks in them
_IN_THE_UNIT = ("value", "low", "high")  # what a column `unit` is the unit of
# The suffix of a column is its unit: what a number of it is multiplied and divided by for the unit of the record
_SAME = (1.0, 1.0)
_SUFFIXES = {
    "_mm": (1.0, 1e3), "_pct": (1.0, 100.0), "_g_per_mol": (1e-3, 1.0), "_kj_per_mol": (1e3, 1.0),
    "_kj_per_m3k": (1e3, 1.0),
    **dict.fromkeys(("_c", "_k", "_kg_per_m3", "_w_per_mk", "_j_per_kgk", "_j_per_mol_k", "_mass_fraction"), _SAME),
}  # fmt: skip


@dataclass(frozen=True)
class Sourced:
    """A number in SI (°C, fraction, s, m) with where it came from."""

    value: float
    tag: str
    source: str


def table_rows(name: str) -> list[dict[str, str]]:
    """The rows of one of the catalog's CSV tables, as they stand there."""
    return list(csv.DictReader(FOLDER.joinpath(name).read_text("utf-8").splitlines()))


def table(name: str, row: type[Row]) -> tuple[Row, ...]:
    """The rows of one of the catalog's CSV tables, each as a record of the class.

    A field is filled from the column of its name, or of its name and a unit (`thickness_mm`), by its type: numbers in
    SI, words apart by blanks, `yes` for a flag, nothing for None. A column `unit` is that of all the row's numbers. A
    field that is a record itself is filled from the same row.
    """
    rows = table_rows(name)
    suffixes = {
        column: max((each for each in _SUFFIXES if column.endswith(each)), key=len, default="") for column in rows[0]
    }
    fields_by_column = {
        column: (column.removesuffix(suffix), _SUFFIXES.get(suffix, _SAME)) for column, suffix in suffixes.items()
    }
    read = reader(row)
    return tuple(
        read({name: _scaled(cells[column], *by) for column, (name, by) in fields_by_column.items()}) for cells in rows
    )


def reader(kind: type[Row]) -> Callable[[Mapping[str, Any]], Row]:
    """What makes a record of a parsed table: a field for each key of its name, by its type, as `table` says."""
    hints = get_type_hints(kind)
    own = [(each, hints[each.name]) for each in fields(kind)]  # type: ignore[arg-type]  # a dataclass, always
    required = {each.name for each, _ in own if each.default is MISSING and each.default_factory is MISSING}
    parts = [(each.name, _cell_reader(hint, each.metadata.get("apart"))) for each, hint in own]
    whole = {
        each.name: reader(hint)
        for each, hint in own
        if isinstance(hint, type) and is_dataclass(hint) and hint is not Unit
    }

    def read(cells: Mapping[str, Any]) -> Row:
        values = {name: part(cells) for name, part in whole.items() if name not in cells and name in required}
        if "unit" in cells:
            unit = listed_unit(cells["unit"])
            cells = {key: to_si(float(cell), unit) if key in _IN_THE_UNIT else cell for key, cell in cells.items()}
        values |= {name: part(cells[name]) for name, part in parts if name in cells}
        return kind(**values)

    return read


def entry(options: Mapping[str, Row], text: str, what: str) -> Row:
    """The entry of a table by its id. Raises CatalogError with the nearest one."""
    if text not in options:
        raise CatalogError(f"no {what} {shown(text)}", "", did_you_mean(text, options))
    return options[text]


def _scaled(cell: str, times: float, over: float) -> str | float:
    return cell if (times, over) == _SAME or not cell else float(cell) * times / over


def _cell_reader(hint: Any, apart: str | None) -> Callable[[Any], Any]:
    """What turns a cell into a value of a type."""
    inner = [each for each in get_args(hint) if each not in (type(None), ...)]
    if get_origin(hint) is tuple:
        each = _cell_reader(inner[0], None)
        return lambda cell: tuple(
            each(word) for word in (filter(None, map(str.strip, cell.split(apart))) if isinstance(cell, str) else cell)
        )
    if get_origin(hint) is Mapping:
        each = _cell_reader(inner[1], None)
        return lambda cell: {key: each(value) for key, value in cell.items()}
    if inner:  # or None
        each = _cell_reader(inner[0], None)
        return lambda cell: None if cell in ("", None) else each(cell)
    if hint is Unit:
        return listed_unit
    if isinstance(hint, type) and is_dataclass(hint):
        read = reader(hint)
        return lambda cell: hint(*cell) if isinstance(cell, list) else read(cell)
    return (lambda cell: cell in ("yes", True)) if hint is bool else hint


def read_toml(path: Path, largest: int, error_kind: type[AdvisorError]) -> dict[str, Any]:
    """A TOML file of a user, of at most so many bytes. Raises error_kind for all that can be wrong with a file."""
    name = shown(str(path))
    try:
        if not path.is_file():
            what = "is a folder" if path.is_dir() else "is not a file" if path.exists() else "is not there"
            raise error_kind(f"cannot read {name}: it {what}", "a TOML file", "check the path")
        with path.open("rb") as stream:
            content = stream.read(largest + 1)
        if len(content) > largest:
            raise error_kind(f"{name} is too large", f"up to {largest} bytes", "is it the right file?")
        return tomllib.loads(content.decode("utf-8"))
    except OSError as error:
        raise error_kind(f"cannot read {name}: {error.strerror}", "", "check the path and who may read it") from error
    except (ValueError, RecursionError) as error:
        what = re.sub(r"'[^']{2,}'", "'…'", str(error))  # a key or a value may be a secret
        raise error_kind(f"{name} is not TOML: {what[:120]}", "", "see configs/ for one that works") from error
