"""`advisor calibrate`: a humidity sensor against one or two saturated salts, guided."""

import sys
from datetime import UTC, datetime
from typing import Annotated

import typer

from advisor.catalog.materials import salts
from advisor.cli.options import ConfigOption
from advisor.cli.paper import print_answer
from advisor.desk.salt import keep_salt_check, known_sensor, salt_check
from advisor.errors import ConfigError
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
    config: ConfigOption = None,
    sensor: Annotated[str | None, typer.Option("--sensor", help="The humidity sensor's name.")] = None,
    reading: Annotated[
        list[str] | None, typer.Option("--reading", help='Salt, shown humidity, temperature: "NaCl 73% 22C".')
    ] = None,
    dry_run: Annotated[bool, typer.Option("--dry-run", help="Compute, but keep nothing.")] = False,
) -> int:
    """Check a humidity sensor against one or two saturated salts, and correct it from then on."""
    shop, readings = shop_from(config), reading or []
    if not shop.sensors:
        raise ConfigError("no sensors in the configuration", "[[sensors]] with a name", "add the sensor first")
    asking = sys.stdin.isatty() and not readings
    if asking:
        print_answer(HOW_TO)
    if sensor is None and asking:
        sensor = typer.prompt(f"Which sensor ({', '.join(shop.sensors)})")
    sensor = known_sensor(sensor or "", shop)
    readings = _asked() if asking else readings
    checked = salt_check(sensor, readings, shop)
    for text, point in zip(readings, checked.points, strict=True):
        sure = percent(point.uncertainty, 1)
        print_answer([f"{text}: true {percent(point.true, 1)} ±{sure}, shown {percent(point.shown, 1)}."])
    line = f"true = {checked.found.gain:.3f} x shown {checked.found.offset * 100:+.1f} %"
    print_answer([f"{sensor}: {line}, good to ±{percent(checked.found.uncertainty, 1)}."])
    if not dry_run:
        keep_salt_check(checked, shop, datetime.now(UTC))
    print_answer(["Not kept." if dry_run else "Kept; new readings are corrected from the daemon's next start."])
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
