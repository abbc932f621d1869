"""What is said of tank and line, in at most eight lines."""

from datetime import datetime
from typing import Any

from advisor.bench.air_line import COOL_LINE, LET_DOWN, AirLine, Compressor, IntakeAir, Water
from advisor.physics.air.moist_air import dew_point
from advisor.say.as_json import headed, keyed
from advisor.say.fitting import fitted, paragraph
from advisor.say.numbers import difference, flow, percent, pressure, pressures, span, tank, temperature, volume
from advisor.shop.shop import Shop

_MOST_LINES = 8
_WATER_DENSITY = 1000.0  # [kg/m3], rounded
_HOUR = 3600.0  # [s]
_DRAIN = "Drain the tank before and after spraying."
_SHORT_CAUTION = "Pressure vessel: manual and local inspection rules decide. Not breathing air."
_SHORT_TURBINE_CAUTION = "Motor out of the spray area unless rated for it. Not breathing air."
CAUTIONS = (
    "Tank and vessel stand under pressure: the maker's manual and local inspection rules decide, for draining too.",
    "Compressor air is not breathing air: supplied-air masks need air made and tested for it.",
    "Water in the line or none says nothing of the air you breathe: mask and fan as the safety data sheet says.",
)
TURBINE_CAUTIONS = (
    "The turbine's motor stands outside the spray area unless it is rated for it.",
    "Turbine air is not breathing air.",
    CAUTIONS[-1],
)


def told(answer: AirLine, compressor: Compressor, air: IntakeAir | None, shop: Shop) -> list[str]:
    """The answer as short paragraphs, one thought each."""
    first = [_trigger(answer, compressor, shop), _pause(answer, compressor, shop)]
    water = answer.water
    if water is None:
        return [*first, "Water: cannot tell without --air and --rh of the air drawn in.", _DRAIN, _SHORT_CAUTION]
    dried = air is not None and air.dryer is not None
    return fitted(
        [
            *map(paragraph, first),
            paragraph(_spitting(water, dried, shop)),
            paragraph(_amounts(water, shop), 1),
            paragraph(_do(answer, water, dried, shop)),
            paragraph(_let_down(answer, water, shop), 2),
            paragraph(_SHORT_CAUTION),
        ],
        _MOST_LINES,
    )


def told_of_turbine(air: IntakeAir | None, shop: Shop) -> list[str]:
    """What a turbine's air is: it has no tank, and the shop's humidity comes with it."""
    warmer = difference(shop.limit("gun_air_warmer").value, shop.units)
    lines = [
        "A turbine has no tank: no minutes to count, and no water to spit.",
        f"Its air is the shop's, {warmer} warmer: the shop's humidity comes with it.",
    ]
    if air is not None:
        dew = temperature(float(dew_point(air.temperature, air.relative_humidity)), shop.units)
        shop_air = f"{temperature(air.temperature, shop.units)}, {percent(air.relative_humidity)}"
        lines.append(f"From a shop of {shop_air} it comes with a dew point of {dew}.")
    return [*lines, "Whether the coat stays clear in it: advisor check --gun turbine.", _SHORT_TURBINE_CAUTION]


def _trigger(answer: AirLine, compressor: Compressor, shop: Shop) -> str:
    said = f"Tank {tank(compressor.tank, shop.units)}, {pressures(compressor.full, compressor.least, shop.units)}"
    said += f", gun {flow(compressor.gun_air, shop.units)}"
    keeps_up = answer.trigger is None or answer.trigger_least is None
    times = f"trigger {_counted(answer.trigger or 0.0)}, cooled {_counted(answer.trigger_least or 0.0)}."
    return f"{said}: {'the compressor keeps up, no pause.' if keeps_up else times}"


def _pause(answer: AirLine, compressor: Compressor, shop: Shop) -> str:
    if answer.keeps_up:
        return "It runs as long as the trigger is pulled: its manual says for how long it may."
    if answer.refill is None or compressor.delivers is None:
        return "The tank alone: without --delivers the compressor counts as nothing."
    rest = f"Then {_counted(answer.refill)} at rest to refill at {flow(compressor.delivers, shop.units)}"
    return f"{rest}; long passes on a full tank."


def _counted(seconds: float) -> str:
    """As `span`, but not rounded to minutes while seconds count: `36 s`, `2 min 15 s`."""
    whole = round(seconds)
    return f"{whole // 60} min {whole % 60} s" if 90 <= whole < 600 and whole % 60 else span(seconds)


def _spitting(water: Water, dried: bool, shop: Shop) -> str:
    line, dew = (temperature(value, shop.units) for value in (water.line_temperature, water.line_dew_point))
    if not water.spits:
        return f"No water will spit: line {line}, its air gives off water only under {dew}."
    said = f"Water{' or ice' if water.line_temperature < 0.0 else ''} will spit: line {line},"
    if water.line_dew_point == water.tank_temperature:
        return f"{said} tank taken as {dew}; water drops on the way."
    by_dryer = dried and water.line_dew_point < water.pressure_dew_point
    return f"{said} under the {'dryer' if by_dryer else 'compressed air'}'s dew point of {dew}."


def _amounts(water: Water, shop: Shop) -> str:
    places = [(water.in_tank, "left in tank"), (water.in_line, "in line")]
    drops = ", ".join(f"{_hourly(rate, shop)} {place}" for rate, place in places if rate > 0.0)
    return f"An hour of trigger: {_hourly(water.entering, shop)} of water in, {drops or 'none drops out'}."


def _hourly(rate: float, shop: Shop) -> str:
    said = volume(rate * _HOUR / _WATER_DENSITY, shop.units)
    return "a trace" if said.startswith("0 ") else said


def _do(answer: AirLine, water: Water, dried: bool, shop: Shop) -> str:
    if COOL_LINE not in answer.to_do:
        return _DRAIN
    under = temperature(water.line_temperature, shop.units, up=False)
    dryer = f"{'a better dryer' if dried else 'a dryer'}, dew point under {under}"
    return f"{_DRAIN} Longer line to cool the air, water trap at its far end; or {dryer}."


def _let_down(answer: AirLine, water: Water, shop: Shop) -> str:
    return "" if LET_DOWN not in answer.to_do or water.dry_below is None else (
        f"Or regulator at the tank: up to {pressure(water.dry_below, shop.units, up=False)} in the line it stays dry."
    )  # fmt: skip


_AIR_LINE = (  # one form for both: what a turbine does not have is null
    "air_supply tank_volume~=compressor.tank full_pressure~=compressor.full lowest_pressure~=compressor.least"
    " gun_flow~=compressor.gun_air compressor_flow~=compressor.delivers keeps_up trigger_seconds=answer.trigger"
    " trigger_seconds_least=answer.trigger_least refill_seconds=answer.refill air_temperature=air.temperature"
    " relative_humidity=air.relative_humidity gun_air_warmer dryer_dew_point=air.dryer"
    " tank_temperature=water.tank_temperature line_temperature=water.line_temperature"
    " pressure_dew_point=water.pressure_dew_point line_dew_point=water.line_dew_point spits"
    " water_entering~=water.entering water_condensed_in_tank~=water.in_tank water_condensed_in_line~=water.in_line"
    " line_dry_up_to~=water.dry_below to_do cautions"
)


def air_line_record(
    answer: AirLine | None, compressor: Compressor | None, air: IntakeAir | None, shop: Shop, now: datetime
) -> dict[str, Any]:
    """The record for JSON: SI; without an answer, of a turbine."""
    turbine = answer is None
    water = None if answer is None else answer.water
    asked = {
        "air_supply": "turbine" if turbine else "compressor",
        "compressor": compressor,
        "answer": answer,
        "air": air,
        "water": water,
        "keeps_up": answer is None or answer.keeps_up,
        "gun_air_warmer": shop.limit("gun_air_warmer").value if turbine else None,
        "spits": False if turbine else water and water.spits,
        "to_do": [] if answer is None else answer.to_do,
        "cautions": TURBINE_CAUTIONS if turbine else CAUTIONS,
    }
    return headed(now, keyed(_AIR_LINE, asked))
