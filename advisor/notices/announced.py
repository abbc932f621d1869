"""What is announced: the verdict with memory, so that notices do not flap. Pure; worse at once, better with patience.

Something better is announced only after it has held, with some distance from the limits, for a quarter of an hour.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import timedelta

from advisor.catalog.coatings import Coating
from advisor.catalog.sourced import Sourced
from advisor.judge.conditions import Conditions
from advisor.judge.finding import Level
from advisor.judge.verdict import RANK, State, Verdict, judge, worst_findings
from advisor.shop.shop import Shop

NOT_TOLD = ""


@dataclass(frozen=True)
class Announced:
    """What is announced of one coating at one place. Times [ms UTC].

    reason: the rule that decides, or why it cannot tell. better_since, better_state: since when something better has
    held, and the worst of it. told_state, told_cannot_tell: what the person was last told; empty when nothing yet.
    """

    coating: str
    state: State
    cannot_tell: bool
    reason: str
    since: int
    better_since: int | None = None
    better_state: State = State.WAIT
    told_state: str = NOT_TOLD
    told_cannot_tell: bool = False
    place: str = ""


def reason_of(verdict: Verdict) -> str:
    """The rule that makes the state, or why it cannot tell; empty for a GO."""
    worst = worst_findings(verdict)
    if not worst:
        return ""
    return worst[0].reason if worst[0].level is Level.UNKNOWN else worst[0].rule


def starting(coating: str, now: int, place: str = "") -> Announced:
    """Before anything is known: WAIT, and nobody told."""
    return Announced(coating, State.WAIT, True, "starting", now, place=place)


def announce(
    previous: Announced, verdict: Verdict, settled: Callable[[], State], now: int, dwell: timedelta
) -> Announced:
    """The next announced state, from this minute's verdict.

    settled: gives the state with every limit moved inwards by the hysteresis, asked for only when it matters.
    dwell: how long something better must hold.
    """
    reason = reason_of(verdict)
    if RANK[verdict.state] >= RANK[previous.state]:
        return replace(
            previous,
            state=verdict.state,
            cannot_tell=verdict.cannot_tell,
            reason=reason,
            since=now if verdict.state is not previous.state else previous.since,
            better_since=None,
            better_state=State.WAIT,
        )
    # nothing was announced before: there is no limit to keep a distance from, only the time to wait
    first = previous.told_state == NOT_TOLD
    candidate = verdict.state if first else max(verdict.state, settled(), key=RANK.__getitem__)
    if RANK[candidate] >= RANK[previous.state]:
        return replace(previous, better_since=None, better_state=State.WAIT)
    if previous.better_since is None:
        return replace(previous, better_since=now, better_state=candidate)
    worst = max(previous.better_state, candidate, key=RANK.__getitem__)
    if now - previous.better_since < dwell // timedelta(milliseconds=1):
        return replace(previous, better_state=worst)
    return replace(
        previous,
        state=worst,
        cannot_tell=False,
        reason="" if worst is State.GO else reason,
        since=now,
        better_since=None,
        better_state=State.WAIT,
    )


def settled_state(conditions: Conditions, coating: Coating, shop: Shop, verdict: Verdict) -> State:
    """The state were every limit the hysteresis further in, for the same session."""
    narrower, stricter = _moved_in(coating, shop)
    plan = None if verdict.session is None else verdict.session.plan
    return judge(conditions, narrower, stricter, verdict.as_of, plan=plan, films=verdict.films).state


def _moved_in(coating: Coating, shop: Shop) -> tuple[Coating, Shop]:
    kelvin = shop.limit("hysteresis_temperature").value
    fraction = shop.limit("hysteresis_humidity").value
    moves = {
        "air_temperature_go_low": kelvin,
        "air_temperature_wait_below": kelvin,
        "air_temperature_go_high": -kelvin,
        "air_temperature_wait_above": -kelvin,
        "relative_humidity_go_low": fraction,
        "relative_humidity_go_high": -fraction,
        "relative_humidity_wait_above": -fraction,
    }
    numbers = {
        key: Sourced(number.value + moves[key], number.tag, number.source) if key in moves else number
        for key, number in coating.numbers.items()
    }
    margin = shop.limit("surface_margin").value + kelvin
    return replace(coating, numbers=numbers), replace(shop, limits={**shop.limits, "surface_margin": margin})


def is_due(announced: Announced, told_same_at: int | None, now: int, dwell: timedelta, quiet: timedelta) -> bool:
    """Whether the person is to be told now.

    told_same_at: when the same state for the same reason was last told [ms UTC]. Worse news is told at once; better
    news not twice for one reason within `quiet`. The very first word waits one dwell, so that it is no guess.
    """
    if announced.told_state == NOT_TOLD:
        return announced.state is not State.WAIT or now - announced.since >= dwell // timedelta(milliseconds=1)
    if (announced.told_state, announced.told_cannot_tell) == (announced.state, announced.cannot_tell):
        return False
    if RANK[announced.state] > RANK[State(announced.told_state)] or announced.cannot_tell:
        return True
    # told in what is now the future: the clock was wrong then, and the saying of it counts for nothing
    return told_same_at is None or not 0 <= now - told_same_at < quiet // timedelta(milliseconds=1)
