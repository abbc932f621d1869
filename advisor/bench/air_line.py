"""The air that feeds the gun: how long a tank lasts, whether its line spits water, and what to do.

Judged at the full tank's pressure with the regulator at the gun: the line at its wettest. What is to be done never cuts
the shop's ventilation.
"""

import math
from dataclasses import dataclass

from advisor.physics.air import compressed_air
from advisor.physics.air.moist_air import pressure_at_altitude
from advisor.shop.shop import Shop

DRAIN, COOL_LINE, DRYER, LET_DOWN = "drain", "cool_line", "dryer", "let_down"


@dataclass(frozen=True)
class Compressor:
    """What stands in the shop: tank [m3], gauge pressures [Pa], flows of free air [m3/s].

    least: under it the gun starves; delivers: what the compressor delivers, None where nobody said.
    """

    tank: float
    full: float
    least: float
    gun_air: float
    delivers: float | None = None


@dataclass(frozen=True)
class IntakeAir:
    """Air drawn in [°C, fraction]; the line at the gun [°C], None: as warm as that air; a dryer's dew point [°C]."""

    temperature: float
    relative_humidity: float
    line: float | None = None
    dryer: float | None = None


@dataclass(frozen=True)
class Water:
    """Water on its way to the gun: temperatures [°C], flows [kg/s] while the trigger is pulled.

    pressure_dew_point: of the air as compressed; line_dew_point: of what reaches the line, after tank and dryer.
    dry_below: gauge pressure [Pa], let down at the tank, up to which the line stays dry; None where none does.
    """

    pressure_dew_point: float
    tank_temperature: float
    line_temperature: float
    line_dew_point: float
    spits: bool
    entering: float
    in_tank: float
    in_line: float
    dry_below: float | None


@dataclass(frozen=True)
class AirLine:
    """The answer: seconds of trigger, the compressor running where it delivers, and of refilling with the gun at rest.

    trigger and trigger_least (the tank gone cold): None where the compressor keeps up; refill: None then, and where
    nobody said what it delivers. water: None without the intake air. to_do: keys, least effort first.
    """

    keeps_up: bool
    trigger: float | None
    trigger_least: float | None
    refill: float | None
    water: Water | None
    to_do: tuple[str, ...]


def air_line(compressor: Compressor, air: IntakeAir | None, shop: Shop) -> AirLine:
    """What tank and line do; air None where not known. Raises OutOfRange for figures that are none."""
    outside = float(pressure_at_altitude(shop.altitude))
    tank = (compressor.tank, compressor.full, compressor.least)
    trigger = compressed_air.spraying_time(*tank, compressor.gun_air, compressor.delivers or 0.0, outside)
    keeps_up = math.isinf(trigger)
    # filled at a flow is emptied at it, turned round
    refill = compressed_air.spraying_time(*tank, compressor.delivers, 0.0, outside) if compressor.delivers else None
    water = None if air is None else _water(compressor, air, outside, shop)
    return AirLine(
        keeps_up=keeps_up,
        trigger=None if keeps_up else trigger,
        trigger_least=None if keeps_up else trigger * (1.0 - shop.limit("emptied_fast_less").value),
        refill=None if keeps_up else refill,
        water=water,
        to_do=_to_do(compressor, water),
    )


def _water(compressor: Compressor, air: IntakeAir, outside: float, shop: Shop) -> Water:
    """In steady use all the gun takes has come through the intake, so its flow is the gun's."""
    intake = (air.temperature, air.relative_humidity, compressor.full)

    def dropped(cooled_to: float) -> float:
        return compressed_air.water_condensed(*intake, cooled_to, outside) * compressor.gun_air

    pressed = compressed_air.pressure_dew_point(*intake, outside)
    tank = air.temperature + shop.limit("tank_warmer").value
    line = air.temperature if air.line is None else air.line
    dew_point = compressed_air.line_dew_point(pressed, tank)
    if air.dryer is not None:
        dew_point = min(dew_point, air.dryer)
    spits = compressed_air.line_condenses(line, dew_point)
    return Water(
        pressure_dew_point=pressed,
        tank_temperature=tank,
        line_temperature=line,
        line_dew_point=dew_point,
        spits=spits,
        entering=compressed_air.water_entering(air.temperature, air.relative_humidity, compressor.gun_air),
        in_tank=dropped(tank),
        in_line=dropped(line) - dropped(dew_point) if spits else 0.0,
        dry_below=compressed_air.dry_line_pressure(line, dew_point, compressor.full, outside),
    )


def _to_do(compressor: Compressor, water: Water | None) -> tuple[str, ...]:
    """A tank is drained whatever its air: what was damp yesterday lies in it today."""
    if water is None or not water.spits:
        return (DRAIN,)
    reachable = water.dry_below is not None and water.dry_below > compressor.least
    return (DRAIN, LET_DOWN, COOL_LINE, DRYER) if reachable else (DRAIN, COOL_LINE, DRYER)
