"""A humidity sensor checked against one or two saturated salts, and corrected from then on."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from advisor.catalog.materials import salt_named
from advisor.errors import did_you_mean, refuse, shown
from advisor.logbook.calibration_log import keep_calibration
from advisor.logbook.store import logbook, logbook_path, transaction
from advisor.readings.reading import Calibration, Point, calibrate
from advisor.shop.shop import Shop
from advisor.times import milliseconds
from advisor.units import parse_quantity, parse_relative_humidity


@dataclass(frozen=True)
class SaltCheck:
    """What a sensor showed over salts, and the correction found."""

    sensor: str
    points: tuple[Point, ...]
    found: Calibration


def known_sensor(name: str, shop: Shop) -> str:
    """A sensor of the configuration. Raises UsageError for another."""
    refuse((name not in shop.sensors, f"no sensor {shown(name)}", "", did_you_mean(name, shop.sensors)))
    return name


def salt_check(sensor: str, readings: Sequence[str], shop: Shop) -> SaltCheck:
    """readings: texts like `NaCl 73% 22C`, one or two. Raises UsageError, OutOfRange where the sensor is broken."""
    refuse((not readings, "no salt reading", '--reading "NaCl 73% 22C", once or twice', "give what the sensor shows"))
    points = tuple(_point(text) for text in readings)
    return SaltCheck(sensor, points, calibrate(points, shop.accuracy(known_sensor(sensor, shop), "relative_humidity")))


def keep_salt_check(check: SaltCheck, shop: Shop, now: datetime) -> None:
    """Keep the correction: it counts from the daemon's next start. Raises LogbookError."""
    with logbook(logbook_path(shop.logbook), now, migrate=False) as connection, transaction(connection):
        keep_calibration(connection, check.sensor, milliseconds(now), check.found, check.points)


def _point(text: str) -> Point:
    parts = text.split()
    refuse(
        (len(parts) != 3, f"salt reading {shown(text)}", "salt, shown humidity and temperature", 'like "NaCl 73% 22C"')
    )
    salt = salt_named(parts[0])
    temperature = parse_quantity(parts[2], "temperature", "temperature")
    return Point(
        parse_relative_humidity(parts[1], "shown humidity"), salt.relative_humidity(temperature), salt.uncertainty
    )
