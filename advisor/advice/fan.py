"""What the fan moves, and for how long it and a mask stay on after a coat: said here for everything that asks."""

from dataclasses import dataclass

from advisor.catalog.coatings import Coating
from advisor.physics.air_change import RATE_RANGE, flow_from_name_plate, removal_time
from advisor.physics.vapour import mask_and_fan_time
from advisor.shop.shop import Shop

_LEFT = 0.01  # share of the vapour that remains: the 99 % column of the CDC's removal table


@dataclass(frozen=True)
class AfterCoat:
    """After the last coat, at the least and never a clearance [s]: fan on for; nobody in without a mask for."""

    fan: float
    mask: float


def fan_flow(shop: Shop) -> float:
    """The least that the fan moves [m3/s]: a name plate counts half."""
    return fan_flows(shop)[0]


def fan_flows(shop: Shop) -> tuple[float, ...]:
    """What the fan may move [m3/s], the least first: one flow where it was measured, else half its name plate and all.

    Little flow gathers vapour, much flow draws in more of the air outdoors: which is worse depends on what is asked.
    """
    return (shop.fan_flow,) if shop.fan_flow_measured else (flow_from_name_plate(shop.fan_flow), shop.fan_flow)


def after_coat(coating: Coating, shop: Shop) -> AfterCoat:
    """How long fan and mask stay after a coat of a coating.

    The fan: three times the removal of 99 % by the least flow, after the flash-off. The mask: as long; where isocyanate
    or formaldehyde is given off also until the coat can be handled (common practice, no source). The safety data sheet
    decides.
    """
    flash = coating.numbers["flash_high"].value
    removal = float(removal_time(min(fan_flow(shop) / shop.room_volume, RATE_RANGE[1]), _LEFT))
    fan = max(shop.limit("fan_after_coat").value, mask_and_fan_time(removal, flash))
    gives_off = coating.isocyanate or coating.gives_off_formaldehyde
    return AfterCoat(fan, max(fan, coating.numbers["handle_high"].value) if gives_off else fan)
