"""What is said of a session ahead: how it was reckoned, where it fails, the ways out of it, vapour, and cold pieces.

Of vapour a share of the limit is said only where it is too much: under a quarter it would read as clean air, and is
tens of times over what may be breathed.
"""

from math import ceil, floor

from advisor.catalog.coatings import Coating
from advisor.judge.finding import Finding
from advisor.judge.plan import Plan, fan_flows
from advisor.judge.session import Session
from advisor.judge.vapour_rule import VapourNote
from advisor.judge.verdict import Verdict
from advisor.judge.warm_up import AT_LOW, DEW_MARGIN, LOW, OVER_DEW
from advisor.physics.room.piece import STACKED
from advisor.say.numbers import air, counted, difference, fan, percent, room, span, tank, temperature, trimmed, volume
from advisor.say.phrases import HEATER_OFF_FIRST, MEASURE_IT, STATE_WORDS
from advisor.shop.shop import US, Shop
from advisor.ways.tries import (
    FEWER,
    RETARDER,
    THINNER,
    WAIT_UNTIL,
    WARM_MAKE_UP,
    WARM_MAKE_UP_AND_PIECES,
    WARM_PIECES,
    WARM_ROOM,
    WARM_THROUGH,
    Way,
)

_HEATER_FIT = "Its heater stands outside the spray zone, or is proved fit for it."


def reckoned(session: Session, shop: Shop) -> str:
    """`Session of 16 min, one coat, outdoors 18 °C, 60 %`."""
    coats = counted(session.plan.coats, "one coat")
    return f"Session of {span(session.plan.length)}, {coats}, {outdoors(session, shop)}"


def by_which_fan(session: Session, shop: Shop) -> str:
    """Which of the two flows an unmeasured fan may have makes it fail."""
    least, most = fan_flows(shop)[0], fan_flows(shop)[-1]
    return "if the fan moves its full plate" if session.flow == most != least else "if it moves half its plate"


def outdoors(session: Session, shop: Shop) -> str:
    """`outdoors 18 °C, 60 %`."""
    return f"outdoors {air(*session.outdoors, shop.units)}"


def way_words(way: Way, coating: Coating, shop: Shop) -> str:
    """One way, what it costs, and what it comes to."""
    pieces = "" if way.pieces is None else temperature(way.pieces, shop.units, up=True)
    warm = "" if way.temperature is None else temperature(way.temperature, shop.units, 0)
    rise = "" if not way.rise else f"by {difference(way.rise, shop.units, 0)}"
    power = "" if way.power is None else f"{trimmed(way.power / 1e3, 1)} kW"
    energy = f"{trimmed(way.energy / 3.6e6, 1)} kWh"
    minutes = span(round(way.minutes) * 60.0)
    come_in = f"the air that comes in {rise} ({power} while the fan runs)" if rise else ""
    said = {
        THINNER: f"{(way.pot.thinner or '').capitalize()} thinner.",
        RETARDER: f"{percent(way.pot.retarder, 1)} of all solvent as {(*coating.retarders, 'retarder')[0]}.",
        FEWER: f"{counted(way.plan.coats, 'One coat')} only.",
        WARM_PIECES: f"Warm the pieces to {pieces} first, some {minutes} in a warm place.",
        WARM_ROOM: f"Heat room and pieces {minutes}, door shut, {power}, to {warm} ({energy}). {HEATER_OFF_FIRST}",
        WARM_MAKE_UP: f"Warm {come_in}. {_HEATER_FIT}",
        WARM_MAKE_UP_AND_PIECES: f"Warm the pieces to {pieces}, and {come_in}. {_HEATER_FIT}",
        WAIT_UNTIL: f"Wait some {span(round(way.minutes / 15.0) * 900.0)}: likely air then would do. Read again then.",
        WARM_THROUGH: f"Keep room, walls and pieces at {warm} from the day before"
        + (f", and warm {come_in}. {_HEATER_FIT}" if come_in else f". {HEATER_OFF_FIRST}"),
    }[way.kind]
    measure = f" {MEASURE_IT}" if way.measure else ""
    return said if way.kind == WAIT_UNTIL else f"{said}{measure} Then {STATE_WORDS[way.state]}."


_CUP = 0.6e-3  # [m3] of a gravity gun's cup; common practice, no source
_HOUR = 3600.0


def vapour_reason(finding: Finding, _: Verdict, shop: Shop) -> str:
    """`Vapour comes to 43 % of where it burns (3 l an hour, room 90 m3, fan 0.25 m3/s taken).`"""
    rate, size, flow = (finding.figure(name) or 0.0 for name in ("rate", "room_volume", "exhaust_flow"))
    guessed = [name for name in ("rate", "room", "fan") if finding.figure(f"{name}_guessed")]
    known = f"{_amount(rate * _HOUR, shop)} an hour, room {room(size, shop.units)}, fan {fan(flow, shop.units)}"
    return (
        f"Vapour comes to {percent(finding.measured or 0.0)} of where it burns ({known}{' taken' if guessed else ''})."
    )


def vapour_remedy(finding: Finding, shop: Shop) -> str:
    """`More fan (0.81 m3/s), or spray no more than 3 cups, 1.9 l, an hour.`"""
    needed, most = (finding.figure(name) or 0.0 for name in ("exhaust_needed", "most_rate"))
    return f"More fan ({fan(needed, shop.units, up=True)}), or spray no more than {_cups(most * _HOUR, shop)} an hour."


def after_words(note: VapourNote, coating: Coating, plan: Plan, shop: Shop) -> str:
    """`Mask on; fan on at least 1 h 38 min after it, nobody in without a mask before (taken: room 90 m3).`"""
    mask = "Mask, supplied air where the sheet asks" if coating.isocyanate else "Mask on"
    between = ", also between coats" if plan.coats > 1 else ""
    entry = "before" if note.no_entry <= note.fan_on else f"for {span(note.no_entry)}"
    named = {
        "rate": f"{_amount(note.rate * _HOUR, shop)} an hour", "room": f"room {room(note.room, shop.units)}",
        "fan": f"fan {fan(note.flow, shop.units)}",
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
    small = cubic_metres < 1e-3
    return volume(cubic_metres, shop.units, -1, up=False) if small else tank(cubic_metres, shop.units, up=False)


def _cups(cubic_metres: float, shop: Shop) -> str:
    whole = floor(cubic_metres / _CUP + 1e-6)
    cups = f"{counted(whole, '1 cup')}, {_amount(whole * _CUP, shop)},"
    return _amount(cubic_metres, shop) if whole < 1 else cups


def warm_up_words(finding: Finding, shop: Shop) -> str:
    """`Free-standing it is over the dew point's 3.3 °C in about 12 min, at 18 °C in 30 min (stacked: 2 h). ...`

    Empty where no such time is known: then only the temperature to reach is said.
    """
    over, margin, at, low = (finding.figure(name) for name in (OVER_DEW, DEW_MARGIN, AT_LOW, LOW))
    if over is None or margin is None or low is None:
        return ""
    warm = temperature(low, shop.units)
    if over == 0.0:
        return "" if at is None else f"Free-standing it is at {warm} in about {_time(at)} ({_stacked(at)})."
    said = f"Free-standing it is over the dew point's {difference(margin, shop.units)} in about {_time(over)}"
    if at is not None and at > over:
        said += f", at {warm} in {_time(at)}"
    return f"{said} ({_stacked(max(over, at or 0.0))}). Then see that it is dry."


def _stacked(seconds: float) -> str:
    return f"stacked: {_time(STACKED * seconds)}"


def _time(seconds: float) -> str:
    """Rounded up: a minute to the quarter hour, five after it."""
    step = 60.0 if seconds <= 900.0 else 300.0
    return span(max(step, ceil(seconds / step - 1e-9) * step))
