"""The vapour that a session makes: a caution, never a permission. It tightens nothing and turns nothing green."""

from dataclasses import dataclass
from typing import Any

from advisor.advice.measures import percent, span
from advisor.advice.mix import Mix
from advisor.advice.record import exact, number
from advisor.advice.session import Plan, fan_flow
from advisor.catalog.coatings import Coating
from advisor.catalog.flammability import lowest_limit
from advisor.catalog.solvents import solvents
from advisor.physics.air_change import removal_time
from advisor.physics.vapour import (
    SHARE_ALLOWED,
    Volatile,
    exhaust_for,
    mask_and_fan_time,
    share_of_limit,
    vapour_flow,
    vapour_of,
)
from advisor.shop.shop import Shop

_LEFT = 0.01  # share of the vapour that remains: the 99 % column of the CDC's removal table
_SOLIDS_DENSITY = 1200.0  # [kg/m3] of resin and pigment, from memory


@dataclass(frozen=True)
class VapourNote:
    """Vapour of a session in the room: made [m3/s] and as a share of its lower flammable limit at the end of a coat.

    share None: nothing in it burns. too_much: over a quarter of the limit. exhaust_needed [m3/s]: holds it at a quarter
    for good. mask_and_fan [s]: after the last coat, at the least.
    """

    made: float
    share: float | None
    too_much: bool
    exhaust_needed: float | None
    mask_and_fan: float


def vapour_note(coating: Coating, mix: Mix, plan: Plan, shop: Shop) -> VapourNote:
    """The note for a mix sprayed as planned, by the lowest limits published and a mixing factor of 3."""
    flow = fan_flow(shop)
    stay = mask_and_fan_time(float(removal_time(flow / shop.room_volume, _LEFT)), plan.flash)
    volatiles, density = _of_the_whole(mix)
    vapour = vapour_of(volatiles)
    if vapour is None:
        return VapourNote(0.0, None, False, None, stay)
    made = vapour_flow(shop.limit("spray_rate").value * density, vapour)
    share = share_of_limit(made, flow, vapour.lower_limit, shop.room_volume, plan.spray)
    return VapourNote(
        made, share, not share <= SHARE_ALLOWED, exhaust_for(made, vapour.lower_limit), stay
    )  # fmt: skip


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


def vapour_words(note: VapourNote) -> str:
    """One line: how long mask and fan stay, and how near the vapour comes to where it burns."""
    stay = f"Mask and fan at least {span(note.mask_and_fan)} after it"
    if note.share is None:
        return f"{stay}."
    near = f"vapour to {percent(note.share)} of explosive limit"
    return f"TOO MUCH VAPOUR, {near}: more fan. {stay}." if note.too_much else f"{stay}; {near}."


def vapour_record(note: VapourNote | None) -> dict[str, Any] | None:
    """The note for JSON: m3/s, fractions, s."""
    if note is None:
        return None
    return {
        "made": exact(note.made),
        "share_of_lower_limit": note.share,
        "too_much": note.too_much,
        "exhaust_needed": exact(note.exhaust_needed),
        "mask_and_fan_at_least": number(note.mask_and_fan),
    }
