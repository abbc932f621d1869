"""The rules for a coat that dries while the fan still runs: the gun's band holds no more, dew and cold still do."""

from dataclasses import replace

from advisor.advice.conditions import MEASURED, Conditions, surface_of_piece
from advisor.advice.course import Moment
from advisor.advice.cure_floor import against_floors
from advisor.advice.finding import Finding, Level, Remedy, Side
from advisor.catalog.coatings import Coating
from advisor.shop.shop import Shop

CURING = "curing"


def dew_on_it(moment: Moment, conditions: Conditions, coating: Coating, shop: Shop) -> Finding:
    """No water on a coat that has flashed off: its face 1 K over the dew point, on the best estimate.

    The 3 K of the surface rule are for a wet film. A face that was not measured asks for a change, never for a WAIT.
    """
    needed = shop.limit("surface_margin_certain")
    above = round(moment.surface - moment.dew_point, 2)
    piece = surface_of_piece(conditions, shop)
    measured = piece is not None and piece.basis == MEASURED
    finding = Finding(
        "surface", Level.OK, measured=above, limit=needed.value, go_limit=needed.value, unit="K",
        margin=above - needed.value, quantity="surface_temperature", deciding=False, source=needed.source,
        reason="" if piece is None or measured else piece.basis,
    )  # fmt: skip
    if above >= needed.value:
        return finding
    level = Level.STOP if measured else Level.CHANGE
    warm = Remedy("warm_piece", moment.dew_point + needed.value)
    return replace(finding, level=level, side=Side.LOW, remedies=(warm,))


def curing(moment: Moment, conditions: Conditions, coating: Coating, shop: Shop) -> Finding:
    """The air warm enough for a coat that cures, by what the room model is sure of; lost only where it surely is."""
    celsius, after = moment.air_temperature, moment.since_gun
    sure = shop.limit("session_tolerance_temperature").value
    found, surely = (against_floors(CURING, celsius + by, after, conditions.held, coating) for by in (-sure, sure))
    if found.level is Level.OK:
        return found
    margin = None if found.margin is None else found.margin + sure
    found = replace(found, measured=celsius, margin=margin)
    if surely.level is Level.STOP:
        return replace(surely, measured=celsius, margin=margin)
    return replace(found, level=Level.CHANGE, limit=found.go_limit)


def slow_air(moment: Moment, conditions: Conditions, coating: Coating, shop: Shop) -> Finding:
    """Air no colder than the band while the coat dries: a change, for it takes longer.

    A two-pack is still reacting then: colder than the air that it may be sprayed in is a stop for it.
    """
    low, least = coating.air_temperature.go_low, coating.air_temperature.wait_below
    over = moment.air_temperature - low.value
    finding = Finding(
        "air_temperature", Level.OK, measured=moment.air_temperature, limit=low.value, go_limit=low.value, unit="°C",
        margin=over, quantity="air_temperature", deciding=False, source=low.source,
    )  # fmt: skip
    if over >= 0.0:
        return finding
    finding = replace(finding, level=Level.CHANGE, side=Side.LOW, remedies=(Remedy("allow_longer"),))
    if coating.hardens_by != "two-pack" or least is None or moment.air_temperature >= least.value:
        return finding
    return replace(finding, level=Level.STOP, limit=least.value)
