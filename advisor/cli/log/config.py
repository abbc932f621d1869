"""`advisor config check`: what the file holds, and which defaults stand in for the rest."""

from advisor.catalog.limits import default_limits
from advisor.catalog.materials import UNSAID
from advisor.cli.options import ConfigOption
from advisor.errors import ConfigError
from advisor.shop.config import ReadConfig, read_config
from advisor.shop.find import FILE_NAME, find_config
from advisor.shop.shop import Shop
from advisor.units import from_si


def run_config_check(config: ConfigOption = None) -> int:
    """Read the configuration, say what it holds and which defaults stand in for the rest."""
    path = find_config(config)
    if path is None:
        raise ConfigError(
            "no configuration file found", f"./{FILE_NAME} or --config FILE", "start from configs/minimal.toml"
        )
    rows = _rows(read_config(path))
    print(f"{path} is in order.")
    for name, value, default in rows:
        print(f"{name:<15} {value}{f'  (default: {default})' if default else ''}")
    return 0


def _rows(read: ReadConfig) -> list[tuple[str, str, str]]:
    """Field, value, and the name of the default where the file does not state it."""
    shop, stated = read.shop, read.stated

    def unless(key: str, default: str) -> str:
        return "" if key in stated else default

    places = ", ".join(f"{name} ({kind})" for name, kind in shop.places.items())
    flow = f"{shop.fan_flow:g} m3/s, {'measured' if shop.fan_flow_measured else 'name-plate'}"
    rows = [
        ("coatings", ", ".join(shop.coatings), ""),
        ("data sheets", ", ".join(shop.data_sheets) or "none", unless("data_sheets", "the families' own numbers")),
        ("shop", shop.name, unless("name", "no name")),
        ("zone", shop.zone or "none", unless("zone", "times without offset are refused; clocks show UTC")),
        ("units", shop.units, unless("units", "metric")),
        ("altitude", f"{shop.altitude:g} m", unless("altitude", "sea level")),
        ("spray place", shop.spray_place or "any", unless("spray_place", "booth, shop, or the only indoor place read")),
        ("places", places or "none", unless("places", "all indoors but one named outdoors")),
        ("sensors", ", ".join(shop.sensors) or "none", unless("sensors", "0.5 °C, 3 % RH, surface 1 °C")),
        ("room", f"{shop.room_volume:g} m3", unless("room.volume", "double garage")),
        ("walls", shop.walls or UNSAID, unless("room.walls", "taken as brick; a fan-on trial says better")),
        ("air to walls", _or_none(shop.wall_conductance, "W/K"), unless("room.wall_conductance", "by the volume")),
        ("heater", _or_none(shop.heater, "W"), unless("room.heater", "no heater")),
        ("dehumidifier", _or_none(shop.dehumidifier, "kg/s"), unless("room.dehumidifier", "no dehumidifier")),
        ("booth fan", flow, unless("booth.fan_flow", "one booth fan; a name-plate flow counts half")),
        ("air supply", shop.air_supply, unless("air_supply", "compressor")),
        ("logbook", str(shop.logbook or "by default"), unless("logbook", "the user's data folder")),
        ("broker", _broker(shop), unless("mqtt", "no sensors over MQTT")),
        ("forecast", shop.forecast_topic or "none", unless("forecast.topic", "the shop's own log")),
        ("notices", _notices(shop), unless("notices", "kept in the logbook only")),
        ("csv", f"delimiter {shop.csv.delimiter!r}, decimal {shop.csv.decimal!r}", unless("csv", "plain CSV")),
    ]
    own = [(key, value, default_limits()[key].unit) for key, value in shop.limits.items()]
    return [*rows, *((key, f"{from_si(value, unit):g} {unit.spelling}", "") for key, value, unit in own)]


def _or_none(value: float | None, unit: str) -> str:
    return "none" if value is None else f"{value:.3g} {unit}"


def _broker(shop: Shop) -> str:
    if shop.broker is None:
        return "none"
    secure = "TLS" if shop.broker.tls_ca else "plain"
    return f"{shop.broker.host}:{shop.broker.port}, MQTT {shop.broker.protocol}, {secure}, {len(shop.topics)} topics"


def _notices(shop: Shop) -> str:
    if not shop.notices.destinations:
        return "none"
    from advisor.watch.sender import AppriseNotifier  # noqa: PLC0415 - only where an address is to be looked at

    AppriseNotifier(shop.notices.destinations)
    return ", ".join(shop.notices.destinations)
