"""The rules, in the order in which they are read out: each (conditions, coating, shop) -> Finding."""

from collections.abc import Callable
from contextlib import suppress
from dataclasses import replace

import numpy as np

from advisor.catalog.coatings import Band, Coating
from advisor.catalog.limits import DECIDING, WHILE_NEW, standings
from advisor.errors import OutOfRange
from advisor.judge.conditions import (
    AIR_QUANTITIES,
    MEASURED,
    STILL,
    Conditions,
    humidity_at,
    humidity_capped,
    surface_of_piece,
    surface_sensor_fault,
    usable,
    why_unusable,
)
from advisor.judge.finding import Finding, Level, Limits, Remedy, Side, against_floors
from advisor.physics.air import moist_air
from advisor.physics.air.moist_air import Values
from advisor.shop.shop import Shop

# by carrier or what hardens it; the last for all others
_TECHNIQUES = {
    ("air_temperature", Side.LOW): {"": "allow_longer"},
    ("air_temperature", Side.HIGH): {
        "water": "slow_it_down_water", "oxidation": "wet_coats", "": "slower_thinner_for_warm",
    },
    ("relative_humidity", Side.LOW): {
        "water": "extender_for_dry", "oxidation": "wet_coats_for_dry", "": "slower_thinner_for_dry",
    },
    # a two-pack's slower thinner holds more water, and there is no retarder: it is computed or not said
    ("relative_humidity", Side.HIGH): {
        "water": "thin_coats_moving_air", "oxidation": "allow_longer_damp", "two-pack": "panel_first",
        "": "slower_thinner_or_retarder",
    },
}  # fmt: skip
Rule = Callable[[Conditions, Coating, Shop], Finding]

_PIECE_REMEDIES = {Side.LOW: "warm_piece", Side.HIGH: "cool_piece"}


def readings(conditions: Conditions, coating: Coating, shop: Shop) -> Finding:
    """Air temperature and humidity must be there, fresh, plausible and agreeing; what stands still is told."""
    fresh_for, work = shop.limit("fresh_for"), [conditions.at_work(quantity) for quantity in AIR_QUANTITIES]
    reasons = [
        (each.age, quantity, why_unusable(conditions, quantity, shop))
        for quantity, each in zip(AIR_QUANTITIES, work, strict=True)
    ]
    oldest = max((each.age for each in work if each.age is not None), default=None)
    still = STILL if all(each.reason == STILL for each in work) else ""
    age, quantity, reason = next((each for each in reasons if each[-1]), (oldest, "", still))
    finding = Finding(
        "readings", Level.OK, measured=age, limit=fresh_for.value, go_limit=fresh_for.value, unit="s",
        margin=None if age is None else fresh_for.value - age, quantity=quantity, reason=reason,
        source=fresh_for.source,
    )  # fmt: skip
    return replace(finding, level=Level.UNKNOWN, remedies=(Remedy("read_again"),)) if quantity else finding


def air_temperature(conditions: Conditions, coating: Coating, shop: Shop) -> Finding:
    """Air temperature in the coating's band."""
    finding = _in_band("air_temperature", "°C", coating.air_temperature, conditions, shop)
    if finding.level in (Level.OK, Level.UNKNOWN) or finding.go_limit is None:
        return finding
    if finding.side is Side.HIGH:
        remedies = [Remedy("cool_room", finding.go_limit)]
    else:
        # a little past the limit: the heater goes off before the gun is picked up, and the room falls back
        target = min(finding.go_limit + shop.limit("warm_past").value, coating.air_temperature.go_high.value)
        hold = "never_fully_hard_hours" in coating.numbers
        kind = "warm_room_and_hold" if hold else "warm_room"
        remedies = [Remedy(kind, target, humidity_at(target, conditions, shop))]
    if finding.level is Level.CHANGE:
        remedies.insert(0, Remedy(technique("air_temperature", finding.side, coating)))
    return replace(finding, remedies=tuple(remedies))


def relative_humidity(conditions: Conditions, coating: Coating, shop: Shop) -> Finding:
    """Relative humidity in the coating's band."""
    finding = _in_band("relative_humidity", "fraction", coating.relative_humidity, conditions, shop)
    if finding.level in (Level.OK, Level.UNKNOWN) or finding.go_limit is None or finding.measured is None:
        return finding
    remedies: list[Remedy] = []
    if finding.level is Level.CHANGE:
        remedies.append(Remedy(technique("relative_humidity", finding.side, coating)))
    if finding.side is Side.HIGH:
        remedies.append(_drier(finding.measured, finding.go_limit, conditions, coating, shop))
    return replace(finding, remedies=tuple(remedies))


def surface(conditions: Conditions, coating: Coating, shop: Shop) -> Finding:
    """Surface far enough above the dew point: 3 K on the best estimate, and 1 K at 95 % certainty.

    The two are not stacked: the larger one rules. A surface that was not measured is taken from the air, with its
    allowance; it can ask for a change, never for a WAIT. A piece that came in lately must be measured.
    """
    limit, deciding = shop.limit("surface_margin"), surface_decides(conditions, coating, shop)
    finding = Finding(
        "surface", Level.UNKNOWN, limit=limit.value, unit="K", quantity="surface_temperature", deciding=deciding,
        reason="missing", remedies=(Remedy("measure_piece"),), source=limit.source,
    )  # fmt: skip
    air, humidity = (usable(conditions, quantity, shop) for quantity in AIR_QUANTITIES)
    piece = surface_of_piece(conditions, shop)
    if air is None or humidity is None or air.value is None or humidity.value is None or piece is None:
        return replace(finding, reason="air-unknown", deciding=False)
    measured = piece.basis == MEASURED
    if deciding and not measured:
        reason = why_unusable(conditions, "surface_temperature", shop)
        return replace(finding, reason=reason, measured=conditions.at_work("surface_temperature").age, unit="s")
    fraction = humidity_capped(humidity.value)
    dew = float(moist_air.dew_point(air.value, fraction))
    unsure = over_dew_uncertainty(air.value, fraction, (air.uncertainty, humidity.uncertainty, piece.uncertainty))
    limits = over_dew_limits(unsure if measured else None, shop)
    finding = replace(finding, uncertainty=float(unsure), reason="" if measured else piece.basis)
    finding = limits.held_against(finding, piece.value - dew)
    if finding.level is Level.OK:
        return replace(finding, remedies=())
    warm = Remedy("warm_piece", dew + float(limits.low))
    if measured:
        return replace(finding, remedies=(warm,))
    ask = Remedy("measure_or_settled" if conditions.piece_in_room is None and piece.basis == "air" else "measure_piece")
    return replace(finding, remedies=(ask, warm))


def surface_decides(conditions: Conditions, coating: Coating, shop: Shop) -> bool:
    """Whether a piece that was not measured makes a WAIT: of some families, and where it came in lately."""
    standing, stood = standings()["surface", coating.family], conditions.piece_in_room
    new = stood is not None and stood < shop.limit("piece_settles").value
    return standing == DECIDING or (standing == WHILE_NEW and new)


def over_dew_uncertainty(air: Values, humidity: Values, known: tuple[float, float, float]) -> Values:
    """Standard uncertainty [K] of piece over dew point, by those of air [K], humidity [fraction] and piece [K]."""
    dew = moist_air.dew_point_uncertainty(air, humidity, known[0], min(known[1], 1.0))
    uncertainty: Values = np.hypot(dew, known[2])
    return uncertainty


def over_dew_limits(uncertainty: Values | None, shop: Shop) -> Limits:
    """Of a wet film's surface over the dew point [K]; uncertainty: None for a piece that was not measured."""
    margin = shop.limit("surface_margin").value
    if uncertainty is None:
        return Limits(margin)
    certain = shop.limit("surface_margin_certain").value + shop.limit("certainty_factor").value * uncertainty
    needed = np.maximum(margin, certain)
    return Limits(needed, below=needed)


def piece_temperature(conditions: Conditions, coating: Coating, shop: Shop) -> Finding:
    """A measured piece not much colder or warmer than the air the coating wants.

    The limits are those of the air, moved outwards by what a piece may lag the room; water-borne film also needs its
    MFFT. A piece that was not measured is not judged; a sensor that fell silent or lies within the day asks for a look.
    """
    source = shop.limit("piece_lag").source
    finding = Finding(
        "piece_temperature", Level.OK, unit="°C", quantity="surface_temperature", deciding=False, source=source
    )
    measured = usable(conditions, "surface_temperature", shop)
    if measured is None or measured.value is None:
        fault = surface_sensor_fault(conditions, shop)
        if not fault:
            return finding
        age = conditions.at_work("surface_temperature").age
        look = (Remedy("measure_piece"),)
        return replace(finding, level=Level.CHANGE, reason=fault, measured=age, unit="s", remedies=look)
    limits = piece_limits(coating, shop)
    finding = limits.held_against(replace(finding, uncertainty=measured.uncertainty), measured.value)
    if finding.level is Level.OK or finding.go_limit is None:
        return finding
    return replace(finding, remedies=(Remedy(_PIECE_REMEDIES[finding.side], finding.go_limit),))


def piece_limits(coating: Coating, shop: Shop) -> Limits:
    """Of a measured piece's temperature [°C]."""
    air, lag = coating.air_temperature, shop.limit("piece_lag").value
    film = coating.numbers.get("minimum_film_forming_temperature")
    known = [*([] if air.wait_below is None else [air.wait_below.value - lag]), *([] if film is None else [film.value])]
    return Limits(air.go_low.value - lag, air.go_high.value + lag, max(known, default=None), air.wait_above.value + lag)


def night(conditions: Conditions, coating: Coating, shop: Shop) -> Finding:
    """The room not falling below what the coat needs to get hard, while it cures.

    A WAIT for a coat that does not catch up after a cold night, unless the room is kept heated; the others ask for the
    heater. An unknown night decides nothing.
    """
    low = conditions.night_low
    if low is None:
        return Finding("night", Level.OK, unit="°C", deciding=False)
    return against_floors("night", low, conditions.night_from, conditions.held, coating)


RULES: tuple[Rule, ...] = (readings, air_temperature, relative_humidity, surface, piece_temperature, night)


def band_limits(band: Band) -> Limits:
    """The limits of a coating's band."""
    below = None if band.wait_below is None else band.wait_below.value
    return Limits(band.go_low.value, band.go_high.value, below, band.wait_above.value)


def _in_band(quantity: str, unit: str, band: Band, conditions: Conditions, shop: Shop) -> Finding:
    reason, measured = why_unusable(conditions, quantity, shop), conditions.at_work(quantity)
    # two limits may differ when a data sheet states one of them
    numbers = filter(None, (band.go_low, band.go_high, band.wait_above, band.wait_below))
    source = "; ".join(dict.fromkeys(f"{number.tag}: {number.source}" for number in numbers))
    finding = Finding(quantity, Level.UNKNOWN, unit=unit, quantity=quantity, source=source)
    if reason or measured.value is None:
        return replace(finding, measured=measured.age, unit="s", reason=reason, remedies=(Remedy("read_again"),))
    return band_limits(band).held_against(replace(finding, uncertainty=measured.uncertainty), measured.value)


def _drier(humidity: float, target: float, conditions: Conditions, coating: Coating, shop: Shop) -> Remedy:
    """Warm room and pieces where that reaches the target within the coating's band, else dry the air."""
    air, band = usable(conditions, "air_temperature", shop), coating.air_temperature
    with suppress(OutOfRange):
        if air is not None and air.value is not None:
            needed = float(moist_air.temperature_for_relative_humidity(air.value, humidity_capped(humidity), target))
            if band.go_low.value <= needed <= band.go_high.value:
                return Remedy("warm_room_and_pieces", needed, target)
    return Remedy("dry_air", relative_humidity=target)


def technique(rule: str, side: Side, coating: Coating) -> str:
    """What a sprayer does differently in air on this side of the band, within what the coating allows."""
    ways = _TECHNIQUES[rule, side]
    return ways.get("water" if coating.carrier == "water" else coating.hardens_by, ways[""])
