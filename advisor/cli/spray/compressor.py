"""`advisor compressor`: how long the tank lasts, and whether its line spits water."""

from collections.abc import Mapping
from datetime import datetime
from typing import Annotated

import typer

from advisor.bench.air_line import Compressor, IntakeAir, air_line
from advisor.cli.options import JsonOption
from advisor.cli.paper import Answer
from advisor.desk.typed import typed_air, typed_temperature, typed_within
from advisor.errors import UsageError, refuse, shown
from advisor.judge.film_rules import FILM_AIR
from advisor.say.craft import air_line_words
from advisor.shop.shop import Shop

_TANK = (1e-3, 1.0), "1 l to 1000 l"  # [m3], an airbrush's to a workshop's
_PRESSURE = (0.0, 2e6), "0 to 20 bar, gauge"  # [Pa]
_FLOW = (1e-3 / 60.0, 0.1), "1 to 6000 l/min of free air"  # [m3/s]
_DRYER = (-70.0, 45.0)  # [°C], a desiccant dryer's to a warm shop's


def run_compressor(
    shop: Shop,
    now: datetime,
    tank: Annotated[str | None, typer.Option("--tank", help="The tank's volume: 38l, 10gal.")] = None,
    full: Annotated[str | None, typer.Option("--full", help="Gauge pressure of the full tank: 8bar, 120psi.")] = None,
    least: Annotated[
        str | None, typer.Option("--least", help="Gauge pressure under which the gun starves: 4bar, 60psi.")
    ] = None,
    gun_air: Annotated[str | None, typer.Option("--gun-air", help="Free air the gun takes: 250l/min, 9cfm.")] = None,
    delivers: Annotated[
        str | None, typer.Option("--delivers", help="Free air the compressor delivers: 150l/min; else none counts.")
    ] = None,
    air: Annotated[str | None, typer.Option("--air", help="Air the compressor draws in, with --rh: 22C.")] = None,
    rh: Annotated[str | None, typer.Option("--rh", help="Its relative humidity: 60%.")] = None,
    line: Annotated[
        str | None, typer.Option("--line", help="Temperature of the line at the gun: 18C; else the air's.")
    ] = None,
    dryer: Annotated[str | None, typer.Option("--dryer", help="Pressure dew point of a dryer, if any: 3C.")] = None,
    turbine: Annotated[bool, typer.Option("--turbine", help="A turbine feeds the gun: no tank.")] = False,
    as_json: JsonOption = False,
) -> Answer:
    """Say how long the tank lasts, how long it refills, and whether the line spits water."""
    needed = {"--tank": tank, "--full": full, "--least": least, "--gun-air": gun_air}
    of_a_tank = {**needed, "--delivers": delivers, "--line": line, "--dryer": dryer}
    given = [name for name, text in of_a_tank.items() if text is not None]
    if turbine and given:
        raise UsageError(f"--turbine with {given[0]}", "a turbine has no tank", "leave one of them out")
    compressor = None
    if not (turbine or (shop.air_supply == "turbine" and not given)):
        compressor = _compressor(needed, delivers)
    intake = typed_air(air, rh, shop, FILM_AIR, "--air 22C --rh 60%")
    for name in ("--line", "--dryer"):
        refuse((
            name in given and intake is None,
            f"{name} without --air and --rh", "--air 22C --rh 60%", "add the air drawn in",
        ))  # fmt: skip
    drawn = (
        None
        if intake is None
        else IntakeAir(
            *intake,
            line=None if line is None else typed_temperature(line, "--line", shop, FILM_AIR),
            dryer=None if dryer is None else typed_temperature(dryer, "--dryer", shop, _DRYER),
        )
    )
    answer = None if compressor is None else air_line(compressor, drawn, shop)
    if as_json:
        return air_line_words.air_line_record(answer, compressor, drawn, shop, now), 0
    if answer is None or compressor is None:
        return air_line_words.told_of_turbine(drawn, shop), 0
    return air_line_words.told(answer, compressor, drawn, shop), 0


def _compressor(needed: Mapping[str, str | None], delivers: str | None) -> Compressor:
    """needed: tank, full, least and gun air by their options. Raises UsageError."""
    texts = {name: text for name, text in needed.items() if text is not None}
    if missing := [name for name in needed if name not in texts]:
        example = "--tank 38l --full 8bar --least 4bar --gun-air 250l/min"
        raise UsageError(f"{missing[0]} is missing", example, "give all four, or --turbine")
    compressor = Compressor(
        tank=typed_within(texts["--tank"], "volume", "--tank", *_TANK),
        full=typed_within(texts["--full"], "pressure", "--full", *_PRESSURE),
        least=typed_within(texts["--least"], "pressure", "--least", *_PRESSURE),
        gun_air=typed_within(texts["--gun-air"], "flow", "--gun-air", *_FLOW),
        delivers=None if delivers is None else typed_within(delivers, "flow", "--delivers", *_FLOW),
    )
    refuse((
        not compressor.least < compressor.full,
        f"--least {shown(texts['--least'])}", f"under --full {texts['--full']}", "check the gauge",
    ))  # fmt: skip
    return compressor
