"""The rules, in the order in which they are read out: each (conditions, coating, shop) -> Finding."""

from collections.abc import Callable
from dataclasses import replace
from math import hypot

from advisor.advice.conditions import (
    NOTHING,
    STILL,
    Conditions,
    air_at_work,
    humidity_capped,
    surface_of_piece,
    surface_sensor_fault,
    usable,
    why_unusable,
)
from advisor.advice.cure_floor import against_floors
from advisor.advice.finding import Finding, Level, Remedy, Side
from advisor.catalog.coatings import Band, Coating
from advisor.catalog.limits import DECIDING, WHILE_NEW, standings
from advisor.errors import OutOfRange
from advisor.physics import moist_air
from advisor.shop.shop import Shop

Rule = Callable[[Conditions, Coating, Shop], Finding]

_NEEDED = ("air_temperature", "relative_humidity")


def readings(conditions: Conditions, coating: Coating, shop: Shop) -> Finding:
    """Air temperature and humidity must be there, fresh, plausible and agreeing; what stands still is told."""
    fresh_for = shop.limit("fresh_for")
    ages = [conditions.at_work(quantity).age for quantity in _NEEDED]
    known = [age for age in ages if age is not None]
    oldest = max(known) if known else None
    finding = Finding(
        "readings",
        Level.OK,
        measured=oldest,
        limit=fresh_for.value,
        go_limit=fresh_for.value,
        unit="s",
        margin=None if oldest is None else fresh_for.value - oldest,
        source=fresh_for.source,
    )
    for quantity in _NEEDED:
        reason = why_unusable(conditions, quantity, shop)
        if reason:
            age = conditions.at_work(quantity).age
            return replace(
                finding,
                level=Level.UNKNOWN,
                measured=age,
                margin=None if age is None else fresh_for.value - age,
                quantity=quantity,
                reason=reason,
                remedies=(Remedy("read_again"),),
            )
    still = all(conditions.at_work(quantity).reason == STILL for quantity in _NEEDED)
    return replace(finding, reason=STILL) if still else finding


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
        remedies = [Remedy(kind, target, _humidity_if_brought_to(target, conditions, shop))]
    if finding.level is Level.CHANGE:
        remedies.insert(0, Remedy(_technique("air_temperature", finding.side, coating)))
    return replace(finding, remedies=tuple(remedies))


def relative_humidity(conditions: Conditions, coating: Coating, shop: Shop) -> Finding:
    """Relative humidity in the coating's band."""
    finding = _in_band("relative_humidity", "fraction", coating.relative_humidity, conditions, shop)
    if finding.level in (Level.OK, Level.UNKNOWN) or finding.go_limit is None or finding.measured is None:
        return finding
    remedies: list[Remedy] = []
    if finding.level is Level.CHANGE:
        remedies.append(Remedy(_technique("relative_humidity", finding.side, coating)))
    if finding.side is Side.HIGH:
        remedies.append(_drier(finding.measured, finding.go_limit, conditions, coating, shop))
    return replace(finding, remedies=tuple(remedies))


def surface(conditions: Conditions, coating: Coating, shop: Shop) -> Finding:
    """Surface far enough above the dew point: 3 K on the best estimate, and 1 K at 95 % certainty.

    The two are not stacked: the larger one rules. A surface that was not measured is taken from the air, with its
    allowance; it can ask for a change, never for a WAIT. A piece that came in lately must be measured.
    """
    limit = shop.limit("surface_margin")
    deciding = standings()["surface", coating.family] == DECIDING or (
        standings()["surface", coating.family] == WHILE_NEW
        and conditions.piece_in_room is not None
        and conditions.piece_in_room < shop.limit("piece_settles").value
    )
    finding = Finding(
        "surface", Level.UNKNOWN, limit=limit.value, unit="K", quantity="surface_temperature", deciding=deciding,
        reason="missing", remedies=(Remedy("measure_piece"),), source=limit.source,
    )  # fmt: skip
    air, humidity = (usable(conditions, quantity, shop) for quantity in _NEEDED)
    piece = surface_of_piece(conditions, shop)
    if air is None or humidity is None or air.value is None or humidity.value is None or piece is None:
        return replace(finding, reason="air-unknown", deciding=False)
    if piece.basis != "measured" and deciding:
        reason = why_unusable(conditions, "surface_temperature", shop)
        return replace(finding, reason=reason, measured=conditions.at_work("surface_temperature").age, unit="s")
    fraction = humidity_capped(humidity.value)
    dew = float(moist_air.dew_point(air.value, fraction))
    dew_uncertainty = float(
        moist_air.dew_point_uncertainty(air.value, fraction, air.uncertainty, min(humidity.uncertainty, 1.0))
    )
    uncertainty = hypot(dew_uncertainty, piece.uncertainty)
    needed = limit.value
    if piece.basis == "measured":
        certain = shop.limit("surface_margin_certain").value + shop.limit("certainty_factor").value * uncertainty
        needed = max(needed, certain)
    above = piece.value - dew
    finding = replace(
        finding, measured=above, limit=needed, go_limit=needed, margin=above - needed, uncertainty=uncertainty,
        reason="" if piece.basis == "measured" else piece.basis,
    )  # fmt: skip
    if above >= needed:
        return replace(finding, level=Level.OK, remedies=())
    warm = Remedy("warm_piece", dew + needed)
    if piece.basis == "measured":
        return replace(finding, level=Level.STOP, side=Side.LOW, remedies=(warm,))
    ask = Remedy("measure_or_settled" if conditions.piece_in_room is None and piece.basis == "air" else "measure_piece")
    return replace(finding, level=Level.CHANGE, side=Side.LOW, remedies=(ask, warm))


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
    value, band, lag = measured.value, coating.air_temperature, shop.limit("piece_lag").value
    film = coating.numbers.get("minimum_film_forming_temperature")
    below = band.wait_below.value - lag if band.wait_below is not None else None
    if film is not None:
        below = film.value if below is None else max(below, film.value)
    low, high, above = band.go_low.value - lag, band.go_high.value + lag, band.wait_above.value + lag
    finding = replace(finding, measured=value, uncertainty=measured.uncertainty)
    if low <= value <= high:
        nearest = low if value - low < high - value else high
        return replace(finding, limit=nearest, go_limit=nearest, margin=min(value - low, high - value))
    if value < low:
        stop = below is not None and not value >= below
        return replace(
            finding, level=Level.STOP if stop else Level.CHANGE, side=Side.LOW, limit=below if stop else low,
            go_limit=low, margin=value - low, remedies=(Remedy("warm_piece", low),),
        )  # fmt: skip
    stop = not value <= above
    return replace(
        finding, level=Level.STOP if stop else Level.CHANGE, side=Side.HIGH, limit=above if stop else high,
        go_limit=high, margin=high - value, remedies=(Remedy("cool_piece", high),),
    )  # fmt: skip


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


def _in_band(quantity: str, unit: str, band: Band, conditions: Conditions, shop: Shop) -> Finding:
    reason = why_unusable(conditions, quantity, shop)
    measured = conditions.at_work(quantity) if not reason else NOTHING
    finding = Finding(
        quantity, Level.UNKNOWN, unit=unit, quantity=quantity, reason=reason, source=_source(band),
        remedies=(Remedy("read_again"),) if reason else (),
    )  # fmt: skip
    value = measured.value
    if value is None:
        return replace(finding, measured=conditions.at_work(quantity).age, unit="s")
    finding = replace(finding, measured=value, uncertainty=measured.uncertainty)
    low, high = band.go_low.value, band.go_high.value
    if low <= value <= high:
        nearest = low if value - low < high - value else high
        return replace(finding, level=Level.OK, limit=nearest, go_limit=nearest, margin=min(value - low, high - value))
    if value < low:
        wait = band.wait_below.value if band.wait_below is not None else None
        stop = wait is not None and not value >= wait
        return replace(
            finding, level=Level.STOP if stop else Level.CHANGE, side=Side.LOW, limit=wait if stop else low,
            go_limit=low, margin=value - low,
        )  # fmt: skip
    if value > high:
        stop = not value <= band.wait_above.value
        return replace(
            finding, level=Level.STOP if stop else Level.CHANGE, side=Side.HIGH,
            limit=band.wait_above.value if stop else high, go_limit=high, margin=high - value,
        )  # fmt: skip
    return replace(finding, reason="not-a-number")


def _source(band: Band) -> str:
    """Where a band comes from; two limits may differ when a data sheet states one of them."""
    numbers = [band.go_low, band.go_high, band.wait_above, *([band.wait_below] if band.wait_below else [])]
    return "; ".join(dict.fromkeys(f"{number.tag}: {number.source}" for number in numbers))


def _humidity_if_brought_to(temperature: float, conditions: Conditions, shop: Shop) -> float | None:
    """Humidity [fraction] the present moisture would show at another temperature; None when it is not known."""
    air = air_at_work(conditions, shop)
    return None if air is None else float(moist_air.relative_humidity_at(*air, temperature))


def _drier(humidity: float, target: float, conditions: Conditions, coating: Coating, shop: Shop) -> Remedy:
    """Warm room and pieces where that reaches the target within the coating's band, else dry the air."""
    air = usable(conditions, "air_temperature", shop)
    if air is not None and air.value is not None:
        try:
            needed = float(moist_air.temperature_for_relative_humidity(air.value, humidity_capped(humidity), target))
        except OutOfRange:
            return Remedy("dry_air", relative_humidity=target)
        band = coating.air_temperature
        if band.go_low.value <= needed <= band.go_high.value:
            return Remedy("warm_room_and_pieces", needed, target)
    return Remedy("dry_air", relative_humidity=target)


def _technique(rule: str, side: Side, coating: Coating) -> str:
    """What a sprayer does differently in air on this side of the band, within what the coating allows."""
    water, two_pack, oil = (
        coating.carrier == "water",
        coating.hardens_by == "two-pack",
        coating.hardens_by == "oxidation",
    )
    if rule == "air_temperature" and side is Side.LOW:
        return "allow_longer"
    if side is Side.HIGH and rule == "relative_humidity":
        if water:
            return "thin_coats_moving_air"
        if oil:
            return "allow_longer_damp"
        if two_pack:
            # a slower thinner holds more water, and there is no retarder: it is computed or not said
            return "panel_first"
        return "slower_thinner_or_retarder"
    if rule == "air_temperature":
        return "slow_it_down_water" if water else "wet_coats" if oil else "slower_thinner_for_warm"
    if water:
        return "extender_for_dry"
    return "wet_coats_for_dry" if oil else "slower_thinner_for_dry"
