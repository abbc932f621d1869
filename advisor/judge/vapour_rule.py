"""The rule on the vapour that a session makes: over a quarter of where it burns a change, from half of it a WAIT.

It never makes anything greener: air far under the limit is still tens of times over what may be breathed.
"""

from dataclasses import dataclass, replace
from math import nextafter

from advisor.catalog.coatings import Coating
from advisor.catalog.solvents import lowest_limit, solvents
from advisor.film.mix import Mix
from advisor.judge.conditions import Conditions, usable
from advisor.judge.finding import Finding, Level, Limits, Remedy, Side
from advisor.judge.plan import Plan, after_coat, fan_flow
from advisor.physics.room.vapour import (
    MIXING_FACTOR,
    SHARE_ALLOWED,
    TEMPERATURE_RANGE,
    Volatile,
    exhaust_for,
    share_after_coats,
    share_of_limit,
    vapour_flow,
    vapour_of,
)
from advisor.shop.shop import Shop

VAPOUR = "vapour"
SHARE_STOPPED = 0.5  # of the lower limit; common practice, no source: twice what the regulation allows
_LIMITS = Limits(high=SHARE_ALLOWED, above=nextafter(SHARE_STOPPED, 0.0))  # at half it is a WAIT
_SOLIDS_DENSITY = 1200.0  # [kg/m3] of resin and pigment, from memory
_USUAL = 20.0  # [°C] where the air is not known
_HOUR = 3600.0
_SOURCE = "29 CFR 1910.94(c)(6)(ii), from memory: a quarter of the lower limit; mixing factor 3 by common practice"


@dataclass(frozen=True)
class VapourNote:
    """Vapour of a session in the room: made [m3/s], and the most it comes to as a share of its lower flammable limit.

    share None: nothing in it burns. exhaust_needed [m3/s]: holds it at a quarter for good. rate [m3/s] of the mix, and
    most_rate: so much can be sprayed for good at a quarter with the fan that there is. room [m3], flow [m3/s]: as
    taken; guessed: which of rate, room and fan nobody said. fan_on,
    no_entry [s] after the last coat: the fan; nobody in without a mask.
    """

    made: float
    share: float | None
    exhaust_needed: float | None
    rate: float
    most_rate: float | None
    room: float
    flow: float
    guessed: tuple[str, ...]
    fan_on: float
    no_entry: float

    @property
    def too_much(self) -> bool:
        """Over a quarter of the limit."""
        return self.share is not None and not self.share <= SHARE_ALLOWED


def vapour_note(coating: Coating, mix: Mix, plan: Plan, shop: Shop, conditions: Conditions | None = None) -> VapourNote:
    """The note for a mix sprayed as planned, by the lowest limits published, a mixing factor of 3, the least flow.

    conditions: for warmth and pressure of the air; warm or thin air holds more vapour of a kilogram.
    """
    after, flow = after_coat(coating, shop), fan_flow(shop)
    rate = shop.limit("spray_rate").value if plan.amount is None else plan.amount / (plan.coats * plan.spray)
    said = {
        "rate": plan.amount is not None,
        "room": shop.room_stated,
        "fan": shop.fan_stated or shop.fan_flow_measured,
    }
    guessed = tuple(name for name, known in said.items() if not known)
    volatiles, density = _of_the_whole(mix)
    air = None if conditions is None else usable(conditions, "air_temperature", shop)
    value = _USUAL if air is None or air.value is None else air.value
    celsius = min(max(value, TEMPERATURE_RANGE[0]), TEMPERATURE_RANGE[1])
    pressure = {} if conditions is None else {"air_pressure": conditions.pressure}
    vapour = vapour_of(volatiles, celsius, **pressure)
    taken = (shop.room_volume, flow, guessed, after.fan, after.mask)
    if vapour is None:
        return VapourNote(0.0, None, None, rate, None, *taken)
    made = vapour_flow(rate * density, vapour)
    first = share_of_limit(made, flow, vapour.lower_limit, shop.room_volume, plan.spray)
    fan = plan.open_before + plan.fan_between
    rest = max(0.0, plan.period - plan.open_before - plan.spray - plan.fan_between)
    leak = shop.room_volume * shop.limit("closed_room_leaks").value / _HOUR
    share = share_after_coats(first, flow, shop.room_volume, [(plan.spray, fan, rest)] * plan.coats, leak)
    allowed = flow / MIXING_FACTOR * SHARE_ALLOWED * vapour.lower_limit  # [m3/s] of vapour
    return VapourNote(
        made, share, exhaust_for(made, vapour.lower_limit), rate, allowed / (density * vapour.volume), *taken
    )  # fmt: skip


def vapour(note: VapourNote) -> Finding:
    """The note as a finding of the verdict; no panel, dwell or hysteresis lifts it."""
    blank = Finding(
        VAPOUR, Level.OK, limit=SHARE_ALLOWED, go_limit=SHARE_ALLOWED, unit="fraction", deciding=False, source=_SOURCE
    )
    finding = blank if note.share is None else _LIMITS.held_against(blank, note.share)
    if finding.level is Level.OK:
        return finding
    figures = (
        ("exhaust_needed", note.exhaust_needed), ("most_rate", note.most_rate), ("room_volume", note.room),
        ("exhaust_flow", note.flow), ("rate", note.rate), *((f"{name}_guessed", 1.0) for name in note.guessed),
    )  # fmt: skip
    known = tuple((name, value) for name, value in figures if value is not None)
    return replace(finding, side=Side.HIGH, remedies=(Remedy("less_vapour"),), figures=known)


def _of_the_whole(mix: Mix) -> tuple[list[Volatile], float]:
    """The volatiles as mass fractions of the whole mix, and its density [kg/m3]."""
    known = solvents()
    volume = sum(part / known[name].density for name, part in mix.fractions)  # [m3] of a kilogram of volatiles
    solids = mix.volume_solids / (1.0 - mix.volume_solids) * volume * _SOLIDS_DENSITY  # [kg] with it
    found = []
    for name, part in mix.fractions:
        limit = lowest_limit(name)
        found.append(Volatile(part / (1.0 + solids), known[name].molar_mass, None if limit is None else limit.value))
    return found, (1.0 + solids) / (volume / (1.0 - mix.volume_solids))
