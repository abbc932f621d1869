"""`advisor calibrate`: a humidity sensor against one or two saturated salts, guided."""

import sys
from datetime import UTC, datetime
from pathlib import Path

import typer

from advisor.catalog.salts import salt_named, salts
from advisor.catalog.units import parse_quantity, parse_relative_humidity
from advisor.cli.paper import print_wrapped
from advisor.errors import ConfigError, UsageError, did_you_mean, shown
from advisor.logbook.calibration_log import keep_calibration
from advisor.logbook.conditions import milliseconds
from advisor.logbook.store import logbook, logbook_path, transaction
from advisor.readings.calibration import Point, calibrate
from advisor.say.numbers import percent
from advisor.shop.find import shop_from

HOW_TO = (
    "Stir a little water into the salt until it is a wet slush with dry grains in it. Put it with the sensor into a"
    " small closed box, not touching, and leave both for a night in a room of steady temperature, 15 to 30 °C.",
    "Table salt without additives (NaCl, 75 %) is one point; magnesium chloride (MgCl2, 33 %) a good second one.",
    "Type what the sensor itself shows or sends, not what the advisor shows: that may be corrected already.",
    "Keep salts out of mouth, eyes and sensor; read their safety data sheets.",
)


def run_calibrate(
    config: Path | None,
    sensor: str | None,
    readings: list[str],
    dry_run: bool,
) -> int:
    """Ask for what was not given, compute, print and keep. `readings`: texts like `NaCl 73% 22C`. Exit code 0."""
    shop = shop_from(config)
    if not shop.sensors:
        raise ConfigError("no sensors in the configuration", "[[sensors]] with a name", "add the sensor first")
    asking = sys.stdin.isatty() and not readings
    if asking:
        print_wrapped(HOW_TO)
    if sensor is None and asking:
        sensor = typer.prompt(f"Which sensor ({', '.join(shop.sensors)})")
    if sensor is None or sensor not in shop.sensors:
        raise UsageError(f"no sensor {shown(sensor or '')}", "", did_you_mean(sensor or "", shop.sensors))
    if asking:
        readings = _asked()
    if not readings:
        raise UsageError("no salt reading", '--reading "NaCl 73% 22C", once or twice', "give what the sensor shows")
    points = [_point(text) for text in readings]
    found = calibrate(points, shop.accuracy(sensor, "relative_humidity"))
    for text, point in zip(readings, points, strict=True):
        sure = percent(point.uncertainty, 1)
        print_wrapped([f"{text}: true {percent(point.true, 1)} ±{sure}, shown {percent(point.shown, 1)}."])
    line = f"true = {found.gain:.3f} x shown {found.offset * 100:+.1f} %"
    print_wrapped([f"{sensor}: {line}, good to ±{percent(found.uncertainty, 1)}."])
    if not dry_run:
        now = datetime.now(UTC)
        with logbook(logbook_path(shop.logbook), now, migrate=False) as connection, transaction(connection):
            keep_calibration(connection, sensor, milliseconds(now), found, points)
    print_wrapped(["Not kept." if dry_run else "Kept; new readings are corrected from the daemon's next start."])
    return 0


def _asked() -> list[str]:
    readings = []
    for number in ("first", "second"):
        salt = typer.prompt(f"The {number} salt ({', '.join(salts())}; empty for none)", default="", show_default=False)
        if not salt:
            break
        shown_now = typer.prompt("What the sensor shows, like 73%")
        temperature = typer.prompt("Temperature in the box, like 22C")
        readings.append(f"{salt} {shown_now} {temperature}")
    return readings


def _point(text: str) -> Point:
    parts = text.split()
    if len(parts) != 3:
        raise UsageError(f"salt reading {shown(text)}", "salt, shown humidity and temperature", 'like "NaCl 73% 22C"')
    salt = salt_named(parts[0])
    temperature = parse_quantity(parts[2], "temperature", "temperature")
    return Point(
        parse_relative_humidity(parts[1], "shown humidity"), salt.relative_humidity(temperature), salt.uncertainty
    )
