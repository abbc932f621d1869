"""The shop as the tool knows it: what the user described, and named defaults for the rest."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from advisor.catalog.coatings import Coating, load_coating
from advisor.catalog.limits import default_limits
from advisor.catalog.sourced import Sourced
from advisor.errors import CatalogError, did_you_mean, shown

METRIC, US = "metric", "us"


@dataclass(frozen=True)
class SensorAccuracy:
    """A sensor's stated accuracy by quantity, as a standard uncertainty in SI ([K], [fraction])."""

    name: str
    accuracies: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True)
class CsvDialect:
    """How a foreign CSV file is written; columns maps its headers to ours."""

    delimiter: str = ","
    decimal: str = "."
    encoding: str = "utf-8-sig"
    time_format: str | None = None  # strptime form; None means ISO 8601
    columns: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class Shop:
    """One shop. Lengths [m], flows [m3/s], volume [m3]; every field has a default.

    The default room and fan are those of a double garage with one name-plated fan (common practice, no source).
    """

    name: str = "your shop"
    zone: str | None = None
    units: str = METRIC
    altitude: float = 0.0
    coatings: tuple[str, ...] = ()
    data_sheets: Mapping[str, Coating] = field(default_factory=dict)
    spray_place: str | None = None
    places: Mapping[str, str] = field(default_factory=dict)  # name -> "indoors" or "outdoors"
    sensors: Mapping[str, SensorAccuracy] = field(default_factory=dict)
    room_volume: float = 90.0
    fan_flow: float = 0.5
    fan_flow_measured: bool = False
    air_supply: str = "compressor"
    csv: CsvDialect = CsvDialect()
    limits: Mapping[str, float] = field(default_factory=dict)

    def limit(self, key: str) -> Sourced:
        """A limit in SI: the shop's own where it states one, else the default table's with its source."""
        if key in self.limits:
            return Sourced(self.limits[key], "data sheet", "the shop's configuration")
        return default_limits()[key].number

    def accuracy(self, sensor: str | None, quantity: str) -> float:
        """Standard uncertainty of a sensor's reading in SI: stated for that sensor, else the default."""
        known = self.sensors.get(sensor) if sensor is not None else None
        stated = known.accuracies if known is not None else {}
        if quantity in stated:
            return stated[quantity]
        key = f"{quantity}_accuracy"
        return self.limit(key).value if key in default_limits() else 0.0

    def coating(self, coating_id: str) -> Coating:
        """A coating by id: the user's data sheets first, then the families. Raises CatalogError."""
        if coating_id in self.data_sheets:
            return self.data_sheets[coating_id]
        try:
            return load_coating(coating_id)
        except CatalogError as error:
            if not self.data_sheets:
                raise
            known = (*self.data_sheets, *self.coatings)
            raise CatalogError(f"no coating {shown(coating_id)}", "", did_you_mean(coating_id, known)) from error
