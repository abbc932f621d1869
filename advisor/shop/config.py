"""The shop's configuration file: TOML, checked, turned into a Shop.

Only what a sprayer can answer; every field but the coatings may be left out. Values with a dimension are text with
a unit, as one would write them on the wall: "90 m3", "3 %", "0.3 C".
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from advisor.catalog.coatings import Coating, coating_ids, load_data_sheet
from advisor.catalog.limits import default_limits
from advisor.catalog.sourced import read_toml
from advisor.errors import ADDRESS, ConfigError, did_you_mean, printable, shown
from advisor.shop.shop import METRIC, Broker, CsvDialect, Notices, Shop, TopicMap
from advisor.shop.tables import QUIET, MqttTable, NoticesTable, SensorTable, ShopFile
from advisor.units import parse_quantity

_LARGEST_FILE = 1_000_000  # bytes
_MOST_FAULTS = 3  # told at once
_LONGEST_FAULT = 160  # characters


@dataclass(frozen=True)
class ReadConfig:
    """A shop with the dotted names of the fields its file states."""

    shop: Shop
    stated: frozenset[str]


def read_config(path: Path) -> ReadConfig:
    """Read and check a configuration file. Raises ConfigError with file, key and what to do; all faults at once."""
    table = read_toml(path, _LARGEST_FILE, ConfigError)
    here = shown(str(path))
    try:
        file = ShopFile.model_validate(table)
    except ValidationError as error:
        faults = [_fault(entry) for entry in error.errors()]
        more = f"; and {len(faults) - _MOST_FAULTS} more" if len(faults) > _MOST_FAULTS else ""
        raise ConfigError(f"{here}: {'; '.join(faults[:_MOST_FAULTS])}{more}") from error
    sheets = _data_sheets(file, path)
    for coating in file.coatings:
        known = (*sheets, *coating_ids())
        if coating not in known:
            raise ConfigError(f"{here}: coatings: no coating {shown(coating)}", "", did_you_mean(coating, known))
    return ReadConfig(_shop(file, sheets, path.parent), frozenset(_stated(table)))


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
    elif not entry["type"].startswith("value_error") and not where.startswith(("notices", "mqtt")):  # secrets
        what = f"{what} (got {shown(str(entry['input']))})"
    return printable(f"{ADDRESS.sub('…', where)}: {what}" if where else what)[:_LONGEST_FAULT]


def _data_sheets(file: ShopFile, path: Path) -> dict[str, Coating]:
    sheets: dict[str, Coating] = {}
    for name in file.data_sheets:
        coating = load_data_sheet(path.parent / name)
        if coating.id in sheets:
            raise ConfigError(
                f"{shown(str(path))}: two data sheets are both {shown(coating.id)}", "", "give each its own id"
            )
        sheets[coating.id] = coating
    return sheets


def _shop(file: ShopFile, sheets: Mapping[str, Coating], folder: Path) -> Shop:
    return Shop(
        name=file.name,
        zone=file.zone,
        units=file.units or METRIC,
        units_stated=file.units is not None,
        altitude=file.altitude,
        coatings=tuple(dict.fromkeys(file.coatings)),
        data_sheets=sheets,
        spray_place=file.spray_place,
        places=file.places,
        sensors={sensor.name: _accuracies(sensor) for sensor in file.sensors},
        room_volume=file.room.volume,
        room_stated="volume" in file.room.model_fields_set,
        walls=file.room.walls,
        wall_conductance=file.room.wall_conductance,
        heater=file.room.heater,
        dehumidifier=file.room.dehumidifier,
        fan_flow=file.booth.fan_flow,
        fan_stated="fan_flow" in file.booth.model_fields_set,
        fan_flow_measured=file.booth.flow_measured,
        air_supply=file.air_supply,
        csv=CsvDialect(**file.csv.model_dump()),
        logbook=None if file.logbook is None else folder / file.logbook,
        topics=tuple(topic for sensor in file.sensors for topic in _topics(sensor)),
        forecast_topic=file.forecast.topic,
        broker=None if file.mqtt is None else _broker(file.mqtt, folder, file.logbook),
        notices=_notices(file.notices),
        limits={
            key: parse_quantity(text, default_limits()[key].unit.dimension, key) for key, text in file.limits.items()
        },
    )


def _broker(table: MqttTable, folder: Path, logbook: str | None) -> Broker:
    stated = table.model_dump(exclude={"password_file", "tls_ca", "keepalive", "client_id"})
    # two daemons with one client id throw each other off the broker for ever: the default differs by folder
    place = sha256(str((folder / (logbook or "")).resolve()).encode()).hexdigest()[:8]
    return Broker(
        **stated,
        client_id=table.client_id or f"spray-day-advisor-{place}",
        password_file=None if table.password_file is None else folder / table.password_file,
        tls_ca=None if table.tls_ca is None else folder / table.tls_ca,
        keepalive=round(table.keepalive),
    )


def _notices(table: NoticesTable) -> Notices:
    """Each destination by its kind, from the second of a kind on with its number: json, json-2."""
    kinds = [address.partition("://")[0] for address in table.destinations]
    numbers = [kinds[: place + 1].count(kind) for place, kind in enumerate(kinds)]
    names = [kind if number == 1 else f"{kind}-{number}" for kind, number in zip(kinds, numbers, strict=True)]
    destinations = dict(zip(names, table.destinations, strict=True))
    hours = QUIET.fullmatch(table.quiet or "")
    if hours is None:
        return Notices(destinations)
    start, end = (int(hours[n]) * 60 + int(hours[n + 1]) for n in (1, 3))
    return Notices(destinations, start, end)


def _topics(sensor: SensorTable) -> list[TopicMap]:
    own = (sensor.name, sensor.place)
    topics = [TopicMap(*own, clock=sensor.clock, **topic.model_dump()) for topic in sensor.topics]
    if sensor.will is not None:
        topics.append(TopicMap(*own, sensor.will.topic, sensor.clock, "will", payload=sensor.will.payload))
    return topics


def _accuracies(sensor: SensorTable) -> dict[str, float]:
    stated = sensor.model_dump(exclude={"name", "place", "clock", "topics", "will"}, exclude_none=True)
    return {key.removesuffix("_accuracy"): value for key, value in stated.items()}


def _stated(table: Mapping[str, Any], prefix: str = "") -> Iterator[str]:
    for key, value in table.items():
        yield prefix + key
        if isinstance(value, dict):
            yield from _stated(value, f"{prefix}{key}.")
