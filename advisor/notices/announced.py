"""What is announced: the verdict with memory, so that notices do not flap, and the notice of it. Pure.

Worse is announced at once, better with patience.

Something better is announced only after it has held, with some distance from the limits, for a quarter of an hour.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import timedelta
from zoneinfo import ZoneInfo

from advisor.catalog.coatings import Coating
from advisor.catalog.sourced import Sourced
from advisor.judge.conditions import Conditions
from advisor.judge.finding import Level
from advisor.judge.verdict import RANK, State, Verdict, judge, worst_findings
from advisor.shop.shop import Shop
from advisor.times import milliseconds, moment_of

NOT_TOLD = ""
_MINUTES_A_DAY = 1440


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


def settled_state(conditions: Conditions, shop: Shop, verdict: Verdict) -> State:
    """The state were every limit the hysteresis further in, for the same session."""
    narrower, stricter = _moved_in(verdict.coating, shop)
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
    # told in what is now the future: the clock was wrong then, and the saying of it counts for nothing
    told_lately = told_same_at is not None and 0 <= now - told_same_at < quiet // timedelta(milliseconds=1)
    return is_worse(announced, announced.told_state) or not told_lately


def is_worse(announced: Announced, heard: str) -> bool:
    """Whether it is worse than the state that somebody heard last; never so where nobody heard any."""
    return heard != NOT_TOLD and (RANK[announced.state] > RANK[State(heard)] or announced.cannot_tell)


@dataclass(frozen=True)
class Notice:
    """Something to tell of a coating at a place. Times [ms UTC]. urgent: quiet hours do not hold it back."""

    at: int
    kind: str
    coating: str
    state: str
    reason: str
    text: str
    urgent: bool
    expires_at: int
    place: str = ""


def notice_of(announced: Announced, kind: str, text: str, at: int, urgent: bool, shop: Shop) -> Notice:
    """The notice of what is announced, at [ms UTC]; one held back through the night lasts into the morning."""
    lasting = urgent or announced.state is State.WAIT
    lasts = shop.limit("wait_notice_expires" if lasting else "go_notice_expires").value
    expires_at = (at if urgent else quiet_end(at, shop)) + round(lasts * 1000)
    state, reason = announced.state.value, announced.reason
    return Notice(at, kind, announced.coating, state, reason, text, urgent, expires_at, announced.place)


def quiet_end(at: int, shop: Shop) -> int:
    """When the quiet hours that hold at a moment end [ms UTC]; the moment itself where none hold."""
    begin, end = shop.notices.quiet_from, shop.notices.quiet_until
    if begin is None or end is None:
        return at
    local = moment_of(at).astimezone(ZoneInfo(shop.zone or "UTC"))
    left = (end - local.hour * 60 - local.minute) % _MINUTES_A_DAY
    if not 0 < left <= (end - begin) % _MINUTES_A_DAY:
        return at
    # by the clock on the wall, on a night that is an hour longer too
    return milliseconds((local + timedelta(minutes=left)).replace(second=0, microsecond=0))
