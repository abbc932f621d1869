"""What the wood in a shop settles at in its air: advice for the bench, it decides nothing."""

from dataclasses import dataclass

import numpy as np

from advisor.advice.air_track import AirTrack
from advisor.advice.measures import percent, percent_range, temperature, trimmed
from advisor.advice.record import SCHEMA, number
from advisor.advice.trace import AIR, HUMIDITY
from advisor.physics.wood import DAY, LEAST_DAYS, LONGEST_GAP, mean_moisture, moisture_content
from advisor.shop.shop import Shop

_WORTH_TELLING = 0.01  # share of the log outside the equation's table


@dataclass(frozen=True)
class WoodMoisture:
    """moisture [fraction of the dry mass] that wood in this air settles at; None: too little of it was read.

    days: of log that count; None: the air was typed. air [°C] and humidity [fraction]: as typed. beyond: share of the
    log outside what the equation reaches, counted as at its edge.
    """

    moisture: float | None
    days: float | None = None
    air_temperature: float | None = None
    relative_humidity: float | None = None
    beyond: float = 0.0


def wood_of_air(air_temperature: float, relative_humidity: float) -> WoodMoisture:
    """Wood in air that stays: [°C], -1.2 to 132.2, and [fraction], 0.05 to 0.95. Raises OutOfRange."""
    settles = float(moisture_content(air_temperature, relative_humidity))
    return WoodMoisture(settles, None, air_temperature, relative_humidity)


def wood_of_log(room: AirTrack) -> WoodMoisture:
    """Wood in the air of the last four weeks of a log; None where under two weeks of it were read."""
    damp = room.trace(HUMIDITY)
    found = mean_moisture(damp.times, room.trace(AIR).values, damp.values)
    if found is not None:
        return WoodMoisture(found.mean, found.days, beyond=found.beyond)
    gaps = np.diff(damp.times)
    return WoodMoisture(None, float(gaps[gaps <= LONGEST_GAP].sum()) / DAY)


def told(wood: WoodMoisture, place: str, shop: Shop) -> list[str]:
    """In short paragraphs: what it settles at against what furniture wants, and what a change does."""
    low, high, paint = (shop.limit(f"wood_{edge}").value for edge in ("furniture_low", "furniture_high", "paint_most"))
    wants = f"furniture wants {percent_range(low, high)}"
    if wood.moisture is None:
        return [
            f"Cannot tell: wood follows the room over weeks, and of the {LEAST_DAYS:g} days of log that takes there are"
            f" {trimmed(wood.days or 0.0, 1)}.",
            "Keep logging, or give the usual air: --air 21C --rh 50%.",
        ]
    moisture = round(wood.moisture, 3)  # a tenth of a percent: what is shown is what is judged
    said = f"about {trimmed(moisture * 100.0, 1)} %"
    if wood.days is not None:
        lines = [f"The wood in {_where(place)} settles at {said} ({wood.days:.0f} days of log; {wants})."]
    else:
        air = f"{temperature(wood.air_temperature or 0.0, shop.units)}, {percent(wood.relative_humidity or 0.0, 1)}"
        lines = [f"In air of {air} wood settles at {said} ({wants})."]
    if moisture > paint:
        lines.append(f"Over {percent(paint)} it is too damp to be painted: dry it first, slowly.")
    elif moisture > high:
        lines.append("Damper than that: in a heated home it will shrink, and joints and panels with it.")
    elif moisture < low:
        lines.append("Drier than that: in a damper home it will swell, and drawers and panels bind.")
    lines.append("Change it slowly: a fast change swells or shrinks joints and cracks a finish. Measure a board of it.")
    if wood.beyond >= _WORTH_TELLING:
        lines.append(f"{percent(wood.beyond)} of the log lay outside 5 to 95 % humidity, and counts as at that edge.")
    return lines


def wood_record(wood: WoodMoisture, place: str | None, shop: Shop, computed_at: str) -> dict[str, object]:
    """The record for JSON: fractions, °C, seconds."""
    return {
        "schema": SCHEMA,
        "computed_at": computed_at,
        "place": place,
        "moisture_content": number(wood.moisture),
        "cannot_tell": wood.moisture is None,
        "log_seconds": None if wood.days is None else number(wood.days * DAY),
        "air_temperature": number(wood.air_temperature),
        "relative_humidity": number(wood.relative_humidity),
        "outside_table": number(wood.beyond),
        "furniture_low": number(shop.limit("wood_furniture_low").value),
        "furniture_high": number(shop.limit("wood_furniture_high").value),
        "paint_most": number(shop.limit("wood_paint_most").value),
    }


def _where(place: str) -> str:
    return "this shop" if place in ("shop", "booth") else place
