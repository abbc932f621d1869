"""What is said of the vapour of a session, of mask and fan: a share of the limit only where it is too much.

Under a quarter no share is said: it would read as clean air, and is tens of times over what may be breathed.
"""

from math import ceil, floor

from advisor.advice.finding import Finding
from advisor.advice.measures import percent, span, trimmed, volume
from advisor.advice.plan import Plan
from advisor.advice.vapour_rule import VapourNote
from advisor.catalog.coatings import Coating
from advisor.shop.shop import US, Shop

_CUP = 0.6e-3  # [m3] of a gravity gun's cup; common practice, no source
_HOUR = 3600.0
_CFM = 0.3048**3 / 60.0  # [m3/s], NIST SP 811 (2008) Appendix B


def reason(finding: Finding, shop: Shop) -> str:
    """`Vapour comes to 43 % of where it burns (3 l an hour, room 90 m3, fan 0.25 m3/s taken).`"""
    rate, room, flow = (finding.figure(name) or 0.0 for name in ("rate", "room_volume", "exhaust_flow"))
    guessed = [name for name in ("rate", "room", "fan") if finding.figure(f"{name}_guessed")]
    known = f"{_amount(rate * _HOUR, shop)} an hour, {_room(room, shop)}, {_fan(flow, shop)}"
    return (
        f"Vapour comes to {percent(finding.measured or 0.0)} of where it burns ({known}{' taken' if guessed else ''})."
    )


def remedy(finding: Finding, shop: Shop) -> str:
    """`More fan (0.81 m3/s), or spray no more than 3 cups, 1.9 l, an hour.`"""
    needed, most = (finding.figure(name) or 0.0 for name in ("exhaust_needed", "most_rate"))
    return f"More fan ({_flow(needed, shop, up=True)}), or spray no more than {_cups(most * _HOUR, shop)} an hour."


def after_words(note: VapourNote, coating: Coating, plan: Plan, shop: Shop) -> str:
    """`Mask on; fan on at least 1 h 38 min after it, nobody in without a mask before (taken: room 90 m3).`"""
    mask = "Mask, supplied air where the sheet asks" if coating.isocyanate else "Mask on"
    between = ", also between coats" if plan.coats > 1 else ""
    entry = "before" if note.no_entry <= note.fan_on else f"for {span(note.no_entry)}"
    named = {
        "rate": f"{_amount(note.rate * _HOUR, shop)} an hour", "room": _room(note.room, shop),
        "fan": _fan(note.flow, shop),
    }  # fmt: skip
    taken = f" (taken: {', '.join(named[name] for name in note.guessed)})" if note.guessed else ""
    return f"{mask}; fan on at least {span(note.fan_on)} after it{between}, nobody in without a mask {entry}{taken}."


def in_short(note: VapourNote, coating: Coating) -> str:
    """Mask and fan for a notice."""
    mask = "Mask, supplied air where the sheet asks" if coating.isocyanate else "Mask"
    return f"{mask}; fan on at least {span(note.fan_on)} after it."


def _amount(cubic_metres: float, shop: Shop) -> str:
    """Rounded down, for it is an upper limit or near one."""
    if shop.units == US:
        return volume(cubic_metres, shop.units)
    if cubic_metres < 1e-3:
        return f"{floor(cubic_metres * 1e5 + 1e-6) * 10} ml"
    return f"{trimmed(floor(cubic_metres * 1e4 + 1e-6) / 10.0, 1)} l"


def _cups(cubic_metres: float, shop: Shop) -> str:
    whole = floor(cubic_metres / _CUP + 1e-6)
    if whole < 1:
        return _amount(cubic_metres, shop)
    return f"{whole} {'cup' if whole == 1 else 'cups'}, {_amount(whole * _CUP, shop)},"


def _room(cubic_metres: float, shop: Shop) -> str:
    if shop.units == US:
        return f"room {trimmed(cubic_metres / 0.3048**3, 0)} ft3"
    return f"room {trimmed(cubic_metres, 1)} m3"


def _fan(flow: float, shop: Shop) -> str:
    return f"fan {_flow(flow, shop)}"


def _flow(flow: float, shop: Shop, up: bool = False) -> str:
    value, decimals, unit = (flow / _CFM, 0, "cfm") if shop.units == US else (flow, 2, "m3/s")
    scale = 10.0**decimals
    shown = ceil(value * scale - 1e-6) / scale if up else value
    return f"{trimmed(shown, decimals)} {unit}"
