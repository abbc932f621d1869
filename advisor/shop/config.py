"""The shop's configuration file: TOML, checked, turned into a Shop.

Only what a sprayer can answer; every field but the coatings may be left out. Values with a dimension are text with
a unit, as one would write them on the wall: "90 m3", "3 %", "0.3 C".
"""

import codecs
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Any, Literal
from zoneinfo import ZoneInfo

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, ValidationError, field_validator, model_validator

from advisor.catalog.coatings import Coating, coating_ids
from advisor.catalog.data_sheets import load_data_sheet
from advisor.catalog.limits import default_limits
from advisor.catalog.units import parse_quantity
from advisor.errors import ConfigError, UsageError, did_you_mean, shown
from advisor.shop.shop import CsvDialect, SensorAccuracy, Shop

_LARGEST_FILE = 1_000_000  # bytes
_NAME = r"^[A-Za-z0-9][A-Za-z0-9 _.-]{0,39}$"


def _measure(dimension: str, low: float, high: float) -> BeforeValidator:
    """Text with a unit to SI, within low..high."""

    def read(text: Any) -> float:
        if not isinstance(text, str):
            raise ValueError(f'got {text!r}; write it as text with a unit, like "{high:g} ..." in quotes')
        value = _typed(text, dimension, "value")
        if not low <= value <= high:
            raise ValueError(f"got {text!r}; allowed {low:g} to {high:g} in SI; check number and unit")
        return value

    return BeforeValidator(read)


def _typed(text: str, dimension: str, name: str) -> float:
    """A typed quantity; its error as the ValueError that pydantic gathers with the path of the key."""
    try:
        return parse_quantity(text, dimension, name)
    except UsageError as error:
        raise ValueError(str(error)) from error


Altitude = Annotated[float, _measure("length", -500, 5000)]
Volume = Annotated[float, _measure("volume", 1, 100_000)]
Flow = Annotated[float, _measure("flow", 0.005, 100)]
TemperatureAccuracy = Annotated[float, _measure("temperature_difference", 0.01, 10)]
HumidityAccuracy = Annotated[float, _measure("fraction", 0.001, 0.2)]
Name = Annotated[str, Field(pattern=_NAME)]


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


class SensorTable(Strict):
    """One sensor with the accuracy its maker states."""

    name: Name
    air_temperature_accuracy: TemperatureAccuracy | None = None
    relative_humidity_accuracy: HumidityAccuracy | None = None
    surface_temperature_accuracy: TemperatureAccuracy | None = None
    dew_point_accuracy: TemperatureAccuracy | None = None


class RoomTable(Strict):
    """The room one sprays in."""

    volume: Volume = Shop.room_volume


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

    @model_validator(mode="after")
    def _not_the_same_sign(self) -> "CsvTable":
        if self.delimiter == self.decimal:
            raise ValueError('delimiter and decimal are both ","; a decimal comma goes with delimiter ";"')
        return self


class ShopFile(Strict):
    """The whole file."""

    coatings: list[str] = Field(min_length=1)
    name: str = Field(default=Shop.name, max_length=60)
    zone: str | None = None
    units: Literal["metric", "us"] = "metric"
    altitude: Altitude = Shop.altitude
    data_sheets: list[str] = Field(default_factory=list)
    spray_place: Name | None = None
    places: dict[Name, Literal["indoors", "outdoors"]] = Field(default_factory=dict)
    sensors: list[SensorTable] = Field(default_factory=list)
    room: RoomTable = RoomTable()
    booth: BoothTable = BoothTable()
    air_supply: Literal["compressor", "turbine"] = "compressor"
    csv: CsvTable = CsvTable()
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
            _typed(text, limit.dimension, key)
        return table

    @model_validator(mode="after")
    def _places_named(self) -> "ShopFile":
        if self.spray_place is not None and self.places.get(self.spray_place, "indoors") != "indoors":
            raise ValueError(f"spray_place {self.spray_place} is outdoors; name the indoor place one sprays in")
        names = [sensor.name for sensor in self.sensors]
        if len(set(names)) != len(names):
            raise ValueError("two sensors have one name; give each its own")
        return self


@dataclass(frozen=True)
class ReadConfig:
    """A shop with the file it came from and the dotted names of the fields the file states."""

    shop: Shop
    path: Path
    stated: frozenset[str]


def read_config(path: Path) -> ReadConfig:
    """Read and check a configuration file. Raises ConfigError with file, key and what to do; all faults at once."""
    table = _parsed(path)
    try:
        file = ShopFile.model_validate(table)
    except ValidationError as error:
        faults = "; ".join(_fault(entry) for entry in error.errors())
        raise ConfigError(f"{path}: {faults}") from error
    sheets = _data_sheets(file, path)
    for coating in file.coatings:
        if coating not in sheets and coating not in coating_ids():
            raise ConfigError(
                f"{path}: coatings: no coating {shown(coating)}", "", did_you_mean(coating, (*sheets, *coating_ids()))
            )
    return ReadConfig(_shop(file, sheets), path, frozenset(_stated(table)))


def _parsed(path: Path) -> dict[str, Any]:
    try:
        if path.stat().st_size > _LARGEST_FILE:
            raise ConfigError(
                f"{path}: too large for a configuration", f"{_LARGEST_FILE} bytes", "is it the right file?"
            )
        return tomllib.loads(path.read_text("utf-8"))
    except OSError as error:
        raise ConfigError(f"cannot read {path}: {error.strerror}", "", "check the path and who may read it") from error
    except (UnicodeDecodeError, tomllib.TOMLDecodeError, RecursionError) as error:
        raise ConfigError(f"{path} is not TOML: {error}", "", "see configs/ for one that works") from error


def _fault(entry: Any) -> str:
    """One fault of the file: where, what was got, what to do."""
    where = ".".join(str(part) for part in entry["loc"])
    what = entry["msg"].removeprefix("Value error, ")
    if entry["type"] == "missing":
        what = (
            'is missing; write for example coatings = ["nitrocellulose-lacquer"]'
            if where == "coatings"
            else "is missing"
        )
    elif not entry["type"].startswith("value_error"):
        what = f"{what} (got {shown(str(entry['input']))})"
    return "".join(sign if sign.isprintable() else "?" for sign in (f"{where}: {what}" if where else what))


def _data_sheets(file: ShopFile, path: Path) -> dict[str, Coating]:
    sheets: dict[str, Coating] = {}
    for name in file.data_sheets:
        coating = load_data_sheet(path.parent / name)
        if coating.id in sheets:
            raise ConfigError(f"{path}: two data sheets are both {shown(coating.id)}", "", "give each its own id")
        sheets[coating.id] = coating
    return sheets


def _shop(file: ShopFile, sheets: Mapping[str, Coating]) -> Shop:
    return Shop(
        name=file.name,
        zone=file.zone,
        units=file.units,
        altitude=file.altitude,
        coatings=tuple(dict.fromkeys(file.coatings)),
        data_sheets=sheets,
        spray_place=file.spray_place,
        places=file.places,
        sensors={sensor.name: _accuracy(sensor) for sensor in file.sensors},
        room_volume=file.room.volume,
        fan_flow=file.booth.fan_flow,
        fan_flow_measured=file.booth.flow_measured,
        air_supply=file.air_supply,
        csv=CsvDialect(**file.csv.model_dump()),
        limits={key: parse_quantity(text, default_limits()[key].dimension, key) for key, text in file.limits.items()},
    )


def _accuracy(sensor: SensorTable) -> SensorAccuracy:
    stated = sensor.model_dump(exclude={"name"}, exclude_none=True)
    return SensorAccuracy(sensor.name, {key.removesuffix("_accuracy"): value for key, value in stated.items()})


def _stated(table: Mapping[str, Any], prefix: str = "") -> list[str]:
    names = []
    for key, value in table.items():
        names.append(prefix + key)
        if isinstance(value, dict):
            names += _stated(value, f"{prefix}{key}.")
    return names
