"""A CSV header: what each column holds."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from advisor.catalog.quantities import SHORT_NAMES, find_column, kind_of, normal_name, quantity_kinds
from advisor.errors import FileError, nearest, refuse, shown
from advisor.units import UNITS, Unit

TIME, PLACE, SENSOR = "time", "place", "sensor"
_MOST_COLUMNS = 200
_EXAMPLES = "air_temperature_c, air_temperature_f, relative_humidity_pct, surface_temperature_c, dew_point_c"


@dataclass(frozen=True)
class ValueColumn:
    """A column of values: its position, quantity and unit."""

    position: int
    quantity: str
    unit: Unit


@dataclass(frozen=True)
class Columns:
    """What a file's columns hold; `unread` are headers that are no quantity of ours, kept to be shown."""

    count: int
    time: int
    place: int | None
    sensor: int | None
    values: tuple[ValueColumn, ...]
    unread: tuple[str, ...]


def read_header(headers: Sequence[str], renamed: Mapping[str, str], where: str) -> Columns:
    """What the header row says. `renamed` maps the file's own headers to ours.

    Raises FileError when there is no time column, no value column, a column twice, a column without its unit, or a
    header that looks like a slip of ours.
    """
    if len(headers) > _MOST_COLUMNS:
        raise FileError(f"{where}: {len(headers)} columns", f"up to {_MOST_COLUMNS}", "is it a readings file?")
    ours = [renamed.get(header.strip(), header.strip()).strip().casefold() for header in headers]
    singles: dict[str, int] = {}
    values: list[ValueColumn] = []
    unread: list[str] = []
    for position, name in enumerate(ours):
        single = name in (TIME, PLACE, SENSOR)
        column = None if single else _value_column(position, name, where)
        if name in singles:
            raise FileError(f"{where}: two columns are {name}", "one", "rename one, or map it in [csv.columns]")
        if single:
            singles[name] = position
        elif column is None:
            unread.append(headers[position].strip())
        elif any(column.quantity == other.quantity for other in values):
            raise FileError(f"{where}: two columns hold {column.quantity}", "one", "give each sensor rows of its own")
        else:
            values.append(column)
    refuse(
        (
            TIME not in singles,
            f"{where}: no column time in the header {shown(','.join(headers))}",
            "time, then quantity_unit columns such as air_temperature_c,relative_humidity_pct",
            "add a header row, or map your names in [csv.columns]",
        ),
        (not values, f"{where}: no column of readings", _EXAMPLES, "rename the columns, or map them"),
        kind=FileError,
    )
    return Columns(len(headers), singles[TIME], singles.get(PLACE), singles.get(SENSOR), tuple(values), tuple(unread))


def _value_column(position: int, name: str, where: str) -> ValueColumn | None:
    """A header one slip away from one of ours must not pass as a column nobody reads."""
    found = find_column(name)
    if found is not None:
        return ValueColumn(position, *found)
    quantity = normal_name(SHORT_NAMES.get(name, name))
    if quantity is not None:
        raise FileError(
            f"{where}: column {shown(name)} does not say its unit", ", ".join(_spelled(quantity)), "rename the column"
        )
    known = [spelling for quantity in quantity_kinds() if normal_name(quantity) for spelling in _spelled(quantity)]
    known += [f"{short}_{unit}" for short in ("temperature", "humidity") for unit in ("c", "f", "pct")]
    near = nearest(name, known, likeness=0.85)
    unknown = f"{where}: unknown column {shown(name)}"
    refuse((near, unknown, "", f"did you mean {near}? Or map it in [csv.columns]"), kind=FileError)
    return None


def _spelled(quantity: str) -> list[str]:
    """The headers that would do for a quantity."""
    dimension = kind_of(quantity).dimension
    endings = {unit.spelling.casefold() for unit in UNITS if unit.dimension == dimension}
    return [f"{quantity}_{ending}" for ending in sorted(endings) if ending.replace("_", "").isalnum()]
