"""`advisor compressor`: how long the tank lasts, and whether its line spits water."""

import json
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from advisor.advice import air_line_words
from advisor.advice.air_line import Compressor, IntakeAir, air_line
from advisor.advice.film_view import FILM_AIR
from advisor.catalog.units import parse_quantity, parse_relative_humidity
from advisor.cli.paper import print_wrapped
from advisor.cli.typed import typed_temperature
from advisor.errors import UsageError, shown
from advisor.shop.find import shop_from
from advisor.shop.shop import Shop

_TANK = (1e-3, 1.0, "1 l to 1000 l")  # [m3], an airbrush's to a workshop's
_PRESSURE = (0.0, 2e6, "0 to 20 bar, gauge")  # [Pa]
_FLOW = (1e-3 / 60.0, 0.1, "1 to 6000 l/min of free air")  # [m3/s]
_DRYER = (-70.0, 45.0)  # [°C], a desiccant dryer's to a warm shop's
_NEEDED = ("tank", "full", "least", "gun_air")
_OF_A_TANK = (*_NEEDED, "delivers", "line", "dryer")


@dataclass(frozen=True)
class AskedCompressor:
    """The command line of `advisor compressor`."""

    config: Path | None = None
    tank: str | None = None
    full: str | None = None
    least: str | None = None
    gun_air: str | None = None
    delivers: str | None = None
    air: str | None = None
    rh: str | None = None
    line: str | None = None
    dryer: str | None = None
    turbine: bool = False
    as_json: bool = False


def run_compressor(asked: AskedCompressor) -> int:
    """Compute and print; exit code 0."""
    now = datetime.now(UTC)
    shop = shop_from(asked.config)
    of_a_tank = [name for name in _OF_A_TANK if getattr(asked, name) is not None]
    if asked.turbine and of_a_tank:
        raise UsageError(f"--turbine with {_option(of_a_tank[0])}", "a turbine has no tank", "leave one of them out")
    turbine = asked.turbine or (shop.air_supply == "turbine" and not of_a_tank)
    compressor = None if turbine else _compressor(asked)
    air = _air(asked, shop)
    answer = None if compressor is None else air_line(compressor, air, shop)
    if asked.as_json:
        record = air_line_words.air_line_record(answer, compressor, air, shop, now)
        print(json.dumps(record, ensure_ascii=False, allow_nan=False))
    elif answer is None or compressor is None:
        print_wrapped(air_line_words.told_of_turbine(air, shop))
    else:
        print_wrapped(air_line_words.told(answer, compressor, air, shop))
    return 0


def _compressor(asked: AskedCompressor) -> Compressor:
    for name in _NEEDED:
        if getattr(asked, name) is None:
            example = "--tank 38l --full 8bar --least 4bar --gun-air 250l/min"
            raise UsageError(f"{_option(name)} is missing", example, "give all four, or --turbine")
    compressor = Compressor(
        tank=_quantity(asked.tank or "", "volume", "--tank", _TANK),
        full=_quantity(asked.full or "", "pressure", "--full", _PRESSURE),
        least=_quantity(asked.least or "", "pressure", "--least", _PRESSURE),
        gun_air=_quantity(asked.gun_air or "", "flow", "--gun-air", _FLOW),
        delivers=None if asked.delivers is None else _quantity(asked.delivers, "flow", "--delivers", _FLOW),
    )
    if not compressor.least < compressor.full:
        raise UsageError(f"--least {shown(asked.least or '')}", f"under --full {asked.full}", "check the gauge")
    return compressor


def _air(asked: AskedCompressor, shop: Shop) -> IntakeAir | None:
    if asked.air is None and asked.rh is None:
        for name in ("line", "dryer"):
            if getattr(asked, name) is not None:
                raise UsageError(f"--{name} without --air and --rh", "--air 22C --rh 60%", "add the air drawn in")
        return None
    if asked.air is None or asked.rh is None:
        raise UsageError("--air or --rh without the other", "--air 22C --rh 60%", "give both or none")
    return IntakeAir(
        temperature=typed_temperature(asked.air, "--air", shop, FILM_AIR),
        relative_humidity=parse_relative_humidity(asked.rh),
        line=None if asked.line is None else typed_temperature(asked.line, "--line", shop, FILM_AIR),
        dryer=None if asked.dryer is None else typed_temperature(asked.dryer, "--dryer", shop, _DRYER),
    )


def _quantity(text: str, dimension: str, name: str, allowed: tuple[float, float, str]) -> float:
    low, high, words = allowed
    value = parse_quantity(text, dimension, name)
    if not low * (1.0 - 1e-9) <= value <= high * (1.0 + 1e-9):
        raise UsageError(f"{name} {shown(text)}", words, "check the unit")
    return value


def _option(name: str) -> str:
    return f"--{name.replace('_', '-')}"
