"""The tables of the configuration file, as pydantic models: what may stand in them, and what is refused and why."""

import codecs
import re
from collections import Counter
from datetime import datetime
from typing import Annotated, ClassVar, Literal
from zoneinfo import ZoneInfo

from pydantic import Field, field_validator, model_validator

from advisor.catalog.materials import walls
from advisor.catalog.quantities import column_of, find_column
from advisor.errors import shown
from advisor.shop.fields import (
    Altitude,
    Conductance,
    Drying,
    Flow,
    HumidityAccuracy,
    Keepalive,
    Limits,
    Name,
    Power,
    Strict,
    TemperatureAccuracy,
    Text,
    Topic,
    Volume,
    require,
    so_that,
)  # fmt: skip
from advisor.shop.shop import Shop

QUIET = re.compile(r"([01][0-9]|2[0-3]):([0-5][0-9])-([01][0-9]|2[0-3]):([0-5][0-9])")
_LABEL = r"[A-Za-z0-9_]([A-Za-z0-9_-]{0,61}[A-Za-z0-9])?"
_HOST = re.compile(rf"(?=.{{1,253}}$)({_LABEL}(\.{_LABEL})*\.?|[0-9A-Fa-f]*:[0-9A-Fa-f:.]+)")
_KNOWN_WALLS = f"got {{got}}; allowed {', '.join(walls())}"
_A_MOMENT = datetime(2025, 10, 14, 13, 47)  # noqa: DTZ001 - any, to the minute
_DESTINATION = re.compile(r"[a-z][a-z0-9]{0,19}://\S{1,2000}")


def _read_back(form: str) -> datetime:
    """A moment as a form writes it and reads it again. Raises ValueError or re.error where it cannot."""
    return datetime.strptime(_A_MOMENT.strftime(form), form)  # noqa: DTZ007 - a form is tried, no moment is meant


class TopicTable(Strict):
    """What a sensor says on one topic."""

    topic: Topic
    form: Literal["number", "json", "senml"] = "number"
    column: str = ""
    value_field: str = ""
    time_field: str = ""
    names: dict[str, str] = Field(default_factory=dict)

    @property
    def quantities(self) -> list[str]:
        """What it says, by its columns; a SenML record that no name is given for may say more."""
        return [column_of(column)[0] for column in (self.column, *self.names.values()) if column]

    @model_validator(mode="after")
    def _complete(self) -> "TopicTable":
        for column in (self.column, *self.names.values()):
            known = not column or find_column(column)
            require((known, f"column {shown(column)}; write a quantity with its unit, like air_temperature_c"))
        json = self.form == "json"
        require(
            (
                self.column or self.form == "senml",
                "column is missing; write a quantity with its unit, like air_temperature_c",
            ),
            (json == bool(self.value_field), 'value_field goes with form = "json", and form = "json" needs it'),
        )
        return self


class WillTable(Strict):
    """Where the sensor's last will comes in, and what it says there when the sensor is gone."""

    topic: Topic
    payload: Text = "offline"


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
    walls: Annotated[str, so_that(lambda name: name in walls(), _KNOWN_WALLS)] | None = None
    wall_conductance: Conductance | None = None
    heater: Power | None = None
    dehumidifier: Drying | None = None


class BoothTable(Strict):
    """The booth's fan; a name-plate flow counts half unless it was measured."""

    fan_flow: Flow = Shop.fan_flow
    flow_measured: bool = Shop.fan_flow_measured


class CsvTable(Strict):
    """How the logger writes its CSV files."""

    delimiter: Literal[",", ";", "\t", "|"] = ","
    decimal: Literal[".", ","] = "."
    encoding: Annotated[
        str,
        so_that(codecs.lookup, "got {got}; known are utf-8, utf-16, cp1252 and the like", LookupError, ValueError),
        so_that(
            lambda name: codecs.lookup(name)._is_text_encoding,
            "{got} is no text encoding; use utf-8, utf-16 or cp1252",
        ),
    ] = "utf-8-sig"
    time_format: (
        Annotated[
            str,
            so_that(_read_back, "got {got}; write it like %d.%m.%Y %H:%M", ValueError, re.error),
            so_that(
                lambda form: _read_back(form) == _A_MOMENT,
                "got {got}, which loses day or minute; write it like %d.%m.%Y %H:%M",
            ),
        ]
        | None
    ) = None
    columns: dict[str, str] = Field(default_factory=dict)

    @field_validator("columns")
    @classmethod
    def _known_columns(cls, table: dict[str, str]) -> dict[str, str]:
        for ours in table.values():
            known = ours.casefold() in ("time", "place", "sensor") or find_column(ours.casefold())
            require((known, f"unknown column {shown(ours)}; write time or a quantity like air_temperature_c"))
        return table

    @model_validator(mode="after")
    def _not_the_same_sign(self) -> "CsvTable":
        both = 'delimiter and decimal are both ","; a decimal comma goes with delimiter ";"'
        require((self.delimiter != self.decimal, both))
        return self


class MqttTable(Strict):
    """The broker the sensors speak to; a password never stands in the file itself."""

    _secret: ClassVar[bool] = True
    host: Annotated[
        str,
        so_that(
            _HOST.fullmatch,
            "it is no host (not shown: it may hold a password); allowed a name or number alone, like 192.168.1.5; port "
            "and user have keys of their own",
        ),
    ]
    port: int = Field(default=1883, ge=1, le=65535)
    protocol: Literal["5", "3.1.1"] = "5"
    client_id: str | None = Field(default=None, pattern=r"^[A-Za-z0-9_.-]{1,60}$")
    base: Text = Field(default="spray-day-advisor", pattern=r"^[^#+$/][^#+]{0,99}$")
    user: Text | None = None
    password_env: str | None = Field(default=None, pattern=r"^[A-Za-z_][A-Za-z0-9_]{0,99}$")
    password_file: Text | None = None
    credential: str | None = Field(default=None, pattern=r"^[A-Za-z0-9_][A-Za-z0-9_.@-]{0,99}$")
    tls_ca: Text | None = None
    keepalive: Keepalive = 15.0

    def says(self, topic: str) -> bool:
        """Whether a topic is one the advisor itself publishes on."""
        return topic.startswith(tuple(f"{self.base}/{name}" for name in ("verdict", "status", "heartbeat/")))

    @model_validator(mode="after")
    def _one_password(self) -> "MqttTable":
        stated = [name for name in (self.password_env, self.password_file, self.credential) if name]
        safe = self.tls_ca or self.host in ("127.0.0.1", "localhost", "::1")
        require(
            (len(stated) <= 1, "state one of password_env, password_file and credential"),
            (self.user or not stated, "a password without a user; add user"),
            (
                safe or not stated,
                "a password over plain text to another machine; add tls_ca, or put the broker on this one",
            ),
        )
        return self


class NoticesTable(Strict):
    """Where notices go (apprise addresses), and the quiet hours."""

    _secret: ClassVar[bool] = True
    destinations: list[str] = Field(default_factory=list)
    quiet: (
        Annotated[
            str,
            so_that(QUIET.fullmatch, "got {got}; write it like 22:00-07:00"),
            so_that(
                lambda hours: hours[:5] != hours[6:],
                "got {got}, no hours at all; write it like 22:00-07:00, or leave it out",
            ),
        ]
        | None
    ) = None

    @field_validator("destinations")
    @classmethod
    def _addresses(cls, addresses: list[str]) -> list[str]:
        for number, address in enumerate(addresses, 1):
            fits = _DESTINATION.fullmatch(address) and address.isprintable()
            require(
                (fits, f"number {number} is no address; write each like json://127.0.0.1:8080/notices"),
                (address not in addresses[: number - 1], f"number {number} stands there twice; take one out"),
            )
        return addresses


class ForecastTable(Strict):
    """Where somebody else's hourly forecast of the air outdoors comes in."""

    topic: Topic | None = None


class ShopFile(Strict):
    """The whole file."""

    coatings: list[str] = Field(min_length=1)
    name: Text = Field(default=Shop.name, max_length=60)
    zone: (
        Annotated[
            str,
            so_that(ZoneInfo, "got {got}; write a zone name like Europe/London", KeyError, ValueError, OSError),
        ]
        | None
    ) = None
    units: Literal["metric", "us"] | None = None
    altitude: Altitude = Shop.altitude
    data_sheets: list[Text] = Field(default_factory=list)
    spray_place: Name | None = None
    places: dict[Name, Literal["indoors", "outdoors"]] = Field(default_factory=dict)
    sensors: list[SensorTable] = Field(default_factory=list)
    room: RoomTable = RoomTable()
    booth: BoothTable = BoothTable()
    air_supply: Literal["compressor", "turbine"] = "compressor"
    csv: CsvTable = CsvTable()
    logbook: Text | None = None
    mqtt: MqttTable | None = None
    forecast: ForecastTable = ForecastTable()
    notices: NoticesTable = NoticesTable()
    limits: Limits = Field(default_factory=dict)

    @model_validator(mode="after")
    def _places_named(self) -> "ShopFile":
        place, names = self.spray_place, [sensor.name for sensor in self.sensors]
        indoors = place is None or self.places.get(place, "indoors") == "indoors"
        require(
            (indoors, f"spray_place {place} is outdoors; name the indoor place one sprays in"),
            (len(set(names)) == len(names), "two sensors have one name; give each its own"),
        )
        return self

    @model_validator(mode="after")
    def _topics_apart(self) -> "ShopFile":
        """One value on a topic is one quantity of one sensor, and what we say ourselves is no reading."""
        maps = [(sensor.name, topic) for sensor in self.sensors for topic in sensor.topics]
        forms = {topic.topic: topic.form for _, topic in maps}
        wills = {sensor.will.topic for sensor in self.sensors if sensor.will is not None}
        for topic in filter(None, (*forms, *wills, self.forecast.topic)):
            uses = (topic in forms) + (topic in wills) + (topic == self.forecast.topic)
            ours = self.mqtt is not None and self.mqtt.says(topic)
            require(
                (not ours, f"topic {shown(topic)} is the advisor's own; name the one the sensor speaks on"),
                (uses == 1, f"topic {shown(topic)} has two uses; values, last will and forecast each need their own"),
            )
        for _, each in maps:
            said = f"topic {shown(each.topic)} has two forms; allowed is one; correct form"
            require((each.form == forms[each.topic], said))
        for (topic, field), count in Counter((each.topic, each.value_field) for _, each in maps).items():
            what = f"topic {shown(topic)}{f', field {shown(field)},' if field else ''}"
            require((count == 1, f"{what} is named twice; one value is one quantity of one sensor; take one out"))
        for (name, quantity), count in Counter((name, kind) for name, each in maps for kind in each.quantities).items():
            require((count == 1, f"sensor {name} has {quantity} twice; allowed once; make it two sensors"))
        return self
