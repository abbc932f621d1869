"""What the fan moves, and for how long it and a mask stay on after a coat: said here for everything that asks.

A session as it is meant: coats, minutes, pauses, and how long the fan runs.
"""

from dataclasses import dataclass

from advisor.catalog.coatings import Coating
from advisor.physics.room.air_change import RATE_RANGE, flow_from_name_plate, removal_time
from advisor.physics.room.vapour import mask_and_fan_time
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


MINUTE = 60.0  # [s]
_LATER = 300.0  # [s] between the moments looked at once the last film has flashed off


@dataclass(frozen=True)
class Plan:
    """What is meant: coats, minutes of spraying a coat, flash-off, and pauses in between, all in [s].

    open_before: door open and fan on before the gun is picked up. pause: from the end of a flash to the next opening.
    fan_after: the fan runs on after each coat for so long, or until the next one. make_up_rise [K]: by how much the air
    that comes in is warmed. amount [m3]: what all coats together take of the ready mix; None: by the shop's rate.
    """

    coats: int
    spray: float
    flash: float
    pause: float
    open_before: float
    fan_after: float
    make_up_rise: float = 0.0
    amount: float | None = None

    @property
    def open_for(self) -> float:
        """Seconds from an opening to the end of the flash-off."""
        return self.open_before + self.spray + self.flash

    @property
    def period(self) -> float:
        """Seconds from one opening to the next."""
        return self.open_for + self.pause

    @property
    def length(self) -> float:
        """Seconds from the first opening to the end of the last flash-off."""
        return self.coats * self.open_for + (self.coats - 1) * self.pause

    @property
    def fan_between(self) -> float:
        """Seconds of fan after a coat that another follows."""
        return min(self.fan_after, self.flash + self.pause)

    @property
    def fan_time(self) -> float:
        """Seconds of fan in all."""
        gun = self.coats * (self.open_before + self.spray)
        return gun + (self.coats - 1) * self.fan_between + self.fan_after

    @property
    def end(self) -> float:
        """Seconds from the first opening until the fan may go off."""
        return (self.coats - 1) * self.period + self.open_before + self.spray + self.fan_after

    def since_opening(self, second: float) -> float:
        """Seconds since the last opening for a coat."""
        return second - min(second // self.period, self.coats - 1) * self.period

    def since_gun(self, second: float) -> float:
        """Seconds since the gun was last laid down; negative while it is in hand or about to be."""
        return self.since_opening(second) - self.open_before - self.spray

    def fan_runs(self, second: float) -> bool:
        """Whether the fan is on."""
        last = second >= (self.coats - 1) * self.period
        return self.since_gun(second) <= (self.fan_after if last else self.fan_between)

    def is_spraying(self, second: float) -> bool:
        """Whether the gun is in hand."""
        return bool(self.since_opening(second) >= self.open_before and self.since_gun(second) <= 0.0)

    def moments(self) -> tuple[float, ...]:
        """Seconds to look at while the fan runs: each minute until the last film has flashed off, every fifth later."""
        close = [n * MINUTE for n in range(int(self.length // MINUTE) + 1)]
        later = [self.length + n * _LATER for n in range(1, int((self.end - self.length) // _LATER) + 1)]
        return tuple(n for n in sorted({*close, self.length, *later, max(self.end, self.length)}) if self.fan_runs(n))


def plan_for(
    coating: Coating, shop: Shop, coats: int | None = None, spray: float | None = None, amount: float | None = None
) -> Plan:
    """The plan of so many coats, as long as nobody says more: flash-off and next coat by the coating's sheet."""
    flash, recoat = coating.numbers["flash_high"].value, coating.numbers["recoat_from_high"].value
    opening = shop.limit("open_before_spraying").value
    return Plan(
        coats=coats or round(shop.limit("session_coats").value),
        spray=shop.limit("session_spray").value if spray is None else spray,
        flash=flash,
        pause=max(0.0, recoat - flash - opening),
        open_before=opening,
        fan_after=max(flash, after_coat(coating, shop).fan),
        amount=amount,
    )
