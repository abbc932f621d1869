"""The tables of the configuration file, as pydantic models: what may stand in them, and what is refused and why."""

import codecs
import re
from datetime import datetime
from typing import Annotated, Any, Literal
from zoneinfo import ZoneInfo

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field, field_validator, model_validator

from advisor.catalog.limits import default_limits
from advisor.catalog.quantities import find_column
from advisor.catalog.units import from_si, parse_quantity
from advisor.catalog.walls import walls
from advisor.errors import UsageError, did_you_mean, shown
from advisor.shop.shop import Shop

QUIET = re.compile(r"([01][0-9]|2[0-3]):([0-5][0-9])-([01][0-9]|2[0-3]):([0-5][0-9])")
_NAME = r"^[A-Za-z0-9][A-Za-z0-9 _.-]{0,39}$"


def _measure(dimension: str, low: float, high: float) -> BeforeValidator:
    """Text with a unit to SI, within low..high."""

    def read(text: Any) -> float:
        if not isinstance(text, str):
            raise ValueError(f'got {shown(repr(text))}; write it as text with a unit, like "{high:g} ..." in quotes')
        value = _typed(text, dimension, "value")
        if not low <= value <= high:
            raise ValueError(f"got {shown(text)}; allowed {low:g} to {high:g} in SI; check number and unit")
        return value

    return BeforeValidator(read)


def _typed(text: str, dimension: str, name: str) -> float:
    """A typed quantity; its error as the ValueError that pydantic gathers with the path of the key."""
    try:
        return parse_quantity(text, dimension, name)
    except UsageError as error:
        raise ValueError(str(error)) from error


def _one_topic(value: str) -> str:
    if "#" in value or "+" in value or not value.isprintable():
        raise ValueError(f"got {shown(value)}; name one topic, without # or +")
    return value


Altitude = Annotated[float, _measure("length", -500, 5000)]
Volume = Annotated[float, _measure("volume", 1, 100_000)]
Flow = Annotated[float, _measure("flow", 0.005, 100)]
Conductance = Annotated[float, _measure("heat_conductance", 1, 100_000)]
Power = Annotated[float, _measure("power", 50, 100_000)]
Drying = Annotated[float, _measure("water_flow", 1e-6, 0.01)]
TemperatureAccuracy = Annotated[float, _measure("temperature_difference", 0.01, 10)]
HumidityAccuracy = Annotated[float, _measure("fraction", 0.001, 0.2)]
Name = Annotated[str, Field(pattern=_NAME)]
Topic = Annotated[str, Field(min_length=1, max_length=200), AfterValidator(_one_topic)]


class Strict(BaseModel):
    """A table of the file: unknown keys are refused with the nearest known one."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    @model_validator(mode="before")
    @classmethod
    def _known_keys(cls, table: Any) -> Any:
        if isinstance(table, dict):
            for key in table:
                if key not in cls.model_fields:
                    raise ValueError(f"unknown key {shown(str(key))}; {did_you_mean(str(key), cls.model_fields)}")
        return table


class TopicTable(Strict):
    """What a sensor says on one topic."""

    topic: Topic
    form: Literal["number", "json", "senml"] = "number"
    column: str = ""
    value_field: str = ""
    time_field: str = ""
    names: dict[str, str] = Field(default_factory=dict)

    @model_validator(mode="after")
    def _complete(self) -> "TopicTable":
        for column in (self.column, *self.names.values()):
            if column and find_column(column) is None:
                raise ValueError(f"column {shown(column)}; write a quantity with its unit, like air_temperature_c")
        if self.form != "senml" and not self.column:
            raise ValueError("column is missing; write a quantity with its unit, like air_temperature_c")
        if (self.form == "json") != bool(self.value_field):
            raise ValueError('value_field goes with form = "json", and form = "json" needs it')
        return self


class WillTable(Strict):
    """Where the sensor's last will comes in, and what it says there when the sensor is gone."""

    topic: Topic
    payload: str = Field(default="offline", min_length=1, max_length=200)


class SensorTable(Strict):
    """One sensor with the accuracy its maker states, and the topics it speaks on."""

    name: Name
    place: Name = "shop"
    clock: Literal["arrival", "payload"] = "arrival"
    topics: list[TopicTable] = Field(default_factory=list)
    will: WillTable | None = None
    air_temperature_accuracy: TemperatureAccuracy | None = None
    relative_humidity_accuracy: HumidityAccuracy | None = None
    surface_temperature_accuracy: TemperatureAccuracy | None = None
    dew_point_accuracy: TemperatureAccuracy | None = None


class RoomTable(Strict):
    """The room one sprays in."""

    volume: Volume = Shop.room_volume
    walls: str | None = None
    wall_conductance: Conductance | None = None
    heater: Power | None = None
    dehumidifier: Drying | None = None

    @field_validator("walls")
    @classmethod
    def _known_walls(cls, value: str | None) -> str | None:
        if value is not None and value not in walls():
            raise ValueError(f"got {shown(value)}; allowed {', '.join(walls())}")
        return value


class BoothTable(Strict):
    """The booth's fan; a name-plate flow counts half unless it was measured."""

    fan_flow: Flow = Shop.fan_flow
    flow_measured: bool = Shop.fan_flow_measured


class CsvTable(Strict):
    """How the logger writes its CSV files."""

    delimiter: Literal[",", ";", "\t", "|"] = ","
    decimal: Literal[".", ","] = "."
    encoding: str = "utf-8-sig"
    time_format: str | None = None
    columns: dict[str, str] = Field(default_factory=dict)

    @field_validator("encoding")
    @classmethod
    def _text_encoding(cls, value: str) -> str:
        try:
            known = codecs.lookup(value)
        except LookupError as error:
            raise ValueError(f"got {shown(value)}; known are utf-8, utf-16, cp1252 and the like") from error
        if not known._is_text_encoding:
            raise ValueError(f"{shown(value)} is no text encoding; use utf-8, utf-16 or cp1252")
        return value

    @field_validator("time_format")
    @classmethod
    def _round_trip(cls, value: str | None) -> str | None:
        """A form must write a moment to the minute and read it back."""
        if value is not None:
            moment = datetime(2025, 10, 14, 13, 47)  # noqa: DTZ001 - a form is tried, no moment is meant
            try:
                same = datetime.strptime(moment.strftime(value), value) == moment  # noqa: DTZ007
            except (ValueError, re.error) as error:
                raise ValueError(f"got {shown(value)}; write it like %d.%m.%Y %H:%M") from error
            if not same:
                raise ValueError(f"got {shown(value)}, which loses day or minute; write it like %d.%m.%Y %H:%M")
        return value

    @field_validator("columns")
    @classmethod
    def _known_columns(cls, table: dict[str, str]) -> dict[str, str]:
        for ours in table.values():
            if ours.casefold() not in ("time", "place", "sensor") and find_column(ours.casefold()) is None:
                raise ValueError(f"unknown column {shown(ours)}; write time or a quantity like air_temperature_c")
        return table

    @model_validator(mode="after")
    def _not_the_same_sign(self) -> "CsvTable":
        if self.delimiter == self.decimal:
            raise ValueError('delimiter and decimal are both ","; a decimal comma goes with delimiter ";"')
        return self


class MqttTable(Strict):
    """The broker the sensors speak to; a password never stands in the file itself."""

    host: str = Field(min_length=1, max_length=255)
    port: int = Field(default=1883, ge=1, le=65535)
    protocol: Literal["5", "3.1.1"] = "5"
    client_id: str | None = Field(default=None, pattern=r"^[A-Za-z0-9_.-]{1,60}$")
    base: str = Field(default="spray-day-advisor", pattern=r"^[^#+\x00-\x1f/][^#+\x00-\x1f]{0,99}$")
    user: str | None = None
    password_env: str | None = None
    password_file: str | None = None
    credential: str | None = None
    tls_ca: str | None = None
    keepalive: Annotated[float, _measure("time", 5, 120)] = 15.0

    @model_validator(mode="after")
    def _one_password(self) -> "MqttTable":
        stated = [name for name in (self.password_env, self.password_file, self.credential) if name]
        if len(stated) > 1:
            raise ValueError("state one of password_env, password_file and credential")
        if stated and not self.user:
            raise ValueError("a password without a user; add user")
        if stated and not self.tls_ca and self.host not in ("127.0.0.1", "localhost", "::1"):
            raise ValueError("a password over plain text to another machine; add tls_ca, or put the broker on this one")
        return self


class NoticesTable(Strict):
    """Where notices go (apprise addresses), and the quiet hours."""

    destinations: list[str] = Field(default_factory=list)
    quiet: str | None = None

    @field_validator("quiet")
    @classmethod
    def _hours(cls, value: str | None) -> str | None:
        if value is not None and not QUIET.fullmatch(value):
            raise ValueError(f"got {shown(value)}; write it like 22:00-07:00")
        return value


class ForecastTable(Strict):
    """Where somebody else's hourly forecast of the air outdoors comes in."""

    topic: Topic | None = None


class ShopFile(Strict):
    """The whole file."""

    coatings: list[str] = Field(min_length=1)
    name: str = Field(default=Shop.name, max_length=60)
    zone: str | None = None
    units: Literal["metric", "us"] | None = None
    altitude: Altitude = Shop.altitude
    data_sheets: list[str] = Field(default_factory=list)
    spray_place: Name | None = None
    places: dict[Name, Literal["indoors", "outdoors"]] = Field(default_factory=dict)
    sensors: list[SensorTable] = Field(default_factory=list)
    room: RoomTable = RoomTable()
    booth: BoothTable = BoothTable()
    air_supply: Literal["compressor", "turbine"] = "compressor"
    csv: CsvTable = CsvTable()
    logbook: str | None = None
    mqtt: MqttTable | None = None
    forecast: ForecastTable = ForecastTable()
    notices: NoticesTable = NoticesTable()
    limits: dict[str, str] = Field(default_factory=dict)

    @field_validator("zone")
    @classmethod
    def _known_zone(cls, value: str | None) -> str | None:
        if value is not None:
            try:
                ZoneInfo(value)
            except (KeyError, ValueError, OSError) as error:
                raise ValueError(f"got {shown(value)}; write a zone name like Europe/London") from error
        return value

    @field_validator("limits")
    @classmethod
    def _known_limits(cls, table: dict[str, str]) -> dict[str, str]:
        for key, text in table.items():
            limit = default_limits().get(key)
            if limit is None:
                raise ValueError(f"unknown limit {shown(key)}; {did_you_mean(key, default_limits())}")
            value = _typed(text, limit.dimension, key)
            if not limit.low <= value <= limit.high:
                low, high = (f"{from_si(edge, limit.unit):g}" for edge in (limit.low, limit.high))
                unit = "" if limit.unit.spelling == "ratio" else f" {limit.unit.spelling}"
                raise ValueError(f"{key} {shown(text)}; allowed {low} to {high}{unit}")
        return table

    @model_validator(mode="after")
    def _places_named(self) -> "ShopFile":
        if self.spray_place is not None and self.places.get(self.spray_place, "indoors") != "indoors":
            raise ValueError(f"spray_place {self.spray_place} is outdoors; name the indoor place one sprays in")
        names = [sensor.name for sensor in self.sensors]
        if len(set(names)) != len(names):
            raise ValueError("two sensors have one name; give each its own")
        return self
