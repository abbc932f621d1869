"""The shop as the tool knows it: what the user described, and named defaults for the rest."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from advisor.catalog.coatings import Coating, coating_ids, load_coating
from advisor.catalog.limits import default_limits
from advisor.catalog.sourced import Sourced
from advisor.errors import CatalogError, did_you_mean, shown

METRIC, US = "metric", "us"


@dataclass(frozen=True)
class CsvDialect:
    """How a foreign CSV file is written; columns maps its headers to ours."""

    delimiter: str = ","
    decimal: str = "."
    encoding: str = "utf-8-sig"
    time_format: str | None = None  # strptime form; None means ISO 8601
    columns: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class TopicMap:
    """What one sensor says on one topic.

    form: number (the payload is a plain number), json (the number stands in a field), senml (RFC 8428), or will: the
    sensor is gone when `payload` comes.
    column: a quantity with its unit, like air_temperature_c; for SenML `names` maps record names to columns.
    clock: whose time counts, the payload's or that of arrival.
    """

    sensor: str
    place: str
    topic: str
    clock: str = "arrival"
    form: str = "number"
    column: str = ""
    value_field: str = ""
    time_field: str = ""
    payload: str = ""
    names: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class Broker:
    """The MQTT broker. password_source: how the password was stated, never the password itself."""

    host: str
    port: int = 1883
    protocol: str = "5"
    client_id: str = "spray-day-advisor"
    base: str = "spray-day-advisor"
    user: str | None = None
    password_env: str | None = None
    password_file: Path | None = None
    credential: str | None = None
    tls_ca: Path | None = None
    keepalive: int = 15  # [s]


@dataclass(frozen=True)
class Notices:
    """Where notices go, and the local hours in which the ones that can wait do wait (minutes of the day).

    destinations: addresses by name. An address holds a token or a password: the name is what is kept and shown.
    """

    destinations: Mapping[str, str] = field(default_factory=dict)
    quiet_from: int | None = None
    quiet_until: int | None = None


@dataclass(frozen=True)
class Shop:
    """One shop. Lengths [m], flows [m3/s], volume [m3]; every field has a default.

    The default room and fan are those of a double garage with one name-plated fan (common practice, no source).
    """

    name: str = "your shop"
    zone: str | None = None
    units: str = METRIC
    units_stated: bool = False  # only then may a typed value leave its unit out
    altitude: float = 0.0
    coatings: tuple[str, ...] = ()
    data_sheets: Mapping[str, Coating] = field(default_factory=dict)
    spray_place: str | None = None
    places: Mapping[str, str] = field(default_factory=dict)  # name -> "indoors" or "outdoors"
    sensors: Mapping[str, Mapping[str, float]] = field(default_factory=dict)  # accuracies by name and quantity
    room_volume: float = 90.0
    walls: str | None = None  # an id of catalog/walls.csv; None: nobody said, taken as brick
    wall_conductance: float | None = None  # [W/K] air to walls, as a fan-on trial finds it; None: by the volume
    heater: float | None = None  # [W] that reaches the room; None: the shop has none
    dehumidifier: float | None = None  # [kg/s] as rated; None: the shop has none
    room_stated: bool = False
    fan_flow: float = 0.5
    fan_stated: bool = False
    fan_flow_measured: bool = False
    air_supply: str = "compressor"
    csv: CsvDialect = CsvDialect()
    logbook: Path | None = None
    topics: tuple[TopicMap, ...] = ()
    forecast_topic: str | None = None  # an hourly forecast of the air outdoors comes in on it, as JSON
    broker: Broker | None = None
    notices: Notices = Notices()
    limits: Mapping[str, float] = field(default_factory=dict)

    def limit(self, key: str) -> Sourced:
        """A limit in SI: the shop's own where it states one, else the default table's with its source."""
        if key in self.limits:
            return Sourced(self.limits[key], "data sheet", "the shop's configuration")
        return default_limits()[key].number

    @property
    def booth(self) -> str:
        """By what place a coating's verdicts, plans and notices are kept; empty where the shop names none."""
        return self.spray_place or ""

    def accuracy(self, sensor: str | None, quantity: str) -> float:
        """Standard uncertainty of a sensor's reading in SI: stated for that sensor, else the default."""
        key, stated = f"{quantity}_accuracy", {} if sensor is None else self.sensors.get(sensor, {})
        if quantity in stated:
            return stated[quantity]
        return self.limit(key).value if key in default_limits() else 0.0

    def coating(self, coating_id: str) -> Coating:
        """A coating by id: the user's data sheets first, then the families. Raises CatalogError."""
        if coating_id in self.data_sheets:
            return self.data_sheets[coating_id]
        if self.data_sheets and coating_id not in coating_ids():
            known = (*self.data_sheets, *self.coatings)
            raise CatalogError(f"no coating {shown(coating_id)}", "", did_you_mean(coating_id, known))
        return load_coating(coating_id)
