"""A session meant for a time, and what is to be told of it when, before the booth is opened. Pure.

A notice at each set lead, and between them when the state changes: worse at once, better only after the patience of
announced.py. Nothing is kept here: what was told before is handed in.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from advisor.advice.announced import Announced, announce, reason_of
from advisor.advice.plan import Plan, plan_for
from advisor.advice.verdict import RANK, State, Verdict
from advisor.catalog.coatings import Coating
from advisor.shop.shop import Shop

FIRST, SECOND, LAST = "first", "second", "last"  # the set leads
ADDED, WORSE, BETTER, RUNNING = "added", "worse", "better", "running"  # and what else makes a word
LEADS = (FIRST, SECOND, LAST)


@dataclass(frozen=True)
class Planned:
    """A session meant to start `at`: coats, and seconds of spraying a coat. seen_at: acknowledged; None: not yet.

    place: where; empty where the shop names none.
    """

    id: int
    made_at: datetime
    at: datetime
    coating: str
    coats: int
    spray: float
    note: str = ""
    seen_at: datetime | None = None
    place: str = ""

    @property
    def subject(self) -> str:
        """By what name its notices go."""
        return f"plan {self.id}"


@dataclass(frozen=True)
class Told:
    """What was told of a plan, when and for which lead; `added` is what was printed as it was made."""

    lead: str
    at: datetime
    state: State
    cannot_tell: bool
    reason: str


def whole_session(planned: Planned, coating: Coating, shop: Shop) -> Plan:
    """The session meant, from its first opening to the end of its last flash-off."""
    return plan_for(coating, shop, planned.coats, planned.spray)


def end_of(planned: Planned, coating: Coating, shop: Shop) -> datetime:
    """When it is over, were it begun in time."""
    return planned.at + timedelta(seconds=whole_session(planned, coating, shop).length)


def session_left(planned: Planned, coating: Coating, shop: Shop, now: datetime) -> Plan:
    """The session that is judged at a moment: the whole one ahead of its start, then the coats that are left."""
    whole = whole_session(planned, coating, shop)
    begun = max(0.0, (now - planned.at).total_seconds())
    gone = int(begun // whole.period)
    return plan_for(coating, shop, max(1, planned.coats - gone), planned.spray)


def lead_moments(planned: Planned, shop: Shop) -> tuple[tuple[str, datetime], ...]:
    """The set leads and their moments, in the order of time."""
    moments = [(lead, planned.at - timedelta(seconds=shop.limit(f"plan_lead_{lead}").value)) for lead in LEADS]
    return tuple(sorted(moments, key=lambda each: each[1]))


def watched_from(planned: Planned, shop: Shop) -> datetime:
    """From when it is judged each minute."""
    return lead_moments(planned, shop)[0][1]


def is_near(planned: Planned, now: datetime, shop: Shop) -> bool:
    """Whether its start is so near that the air in the room now may count as the session's."""
    return now >= planned.at - timedelta(seconds=shop.limit("plan_lead_last").value)


def words_to_come(planned: Planned, since: datetime, shop: Shop) -> tuple[datetime, ...]:
    """The set moments at which it is told after a word at `since`, if nothing changes.

    A word shortly before a lead stands for it: what changes is told as it changes. Not so for the last lead: only that
    one goes by the air of the last minutes.
    """
    again = timedelta(seconds=shop.limit("told_again_after").value)
    leads = lead_moments(planned, shop)
    return tuple(moment for lead, moment in leads if moment > since and (lead == LAST or moment - since > again))


def announced_now(
    previous: Announced | None,
    planned: Planned,
    told: Sequence[Told],
    verdict: Verdict,
    settled: Callable[[], State],
    at: int,
    shop: Shop,
) -> Announced:
    """What is announced of it at a minute, `at` [ms UTC].

    previous: what was announced the minute before; without it what was last told since the plan is watched stands for
    it, else this minute's verdict is taken as it is. settled: as for `announce`.
    """
    dwell = timedelta(seconds=shop.limit("announce_dwell").value)
    last = told[-1] if told and told[-1].at >= watched_from(planned, shop) else None
    if previous is None and last is not None:
        previous = Announced(
            planned.subject,
            last.state,
            last.cannot_tell,
            last.reason,
            at,
            told_state=last.state.value,
            place=planned.place,
        )
    if previous is not None:
        return announce(previous, verdict, settled, at, dwell)
    return Announced(
        planned.subject, verdict.state, verdict.cannot_tell, reason_of(verdict), at, told_state=verdict.state.value,
        place=planned.place,
    )  # fmt: skip


def due_lead(
    planned: Planned, announced: Announced, told: Sequence[Told], now: datetime, end: datetime, shop: Shop
) -> str | None:
    """For which lead or change a word is due now; None: for none.

    told: in the order it was said. Before the start: each lead once, the latest that has passed; worse than what was
    last told at once; better or other not twice for one reason within `told_again_after`. Acknowledged: worse alone.
    From the start to the end one word, when it turns to WAIT.
    """
    last = told[-1] if told else None
    if now >= planned.at:
        turned = announced.state is State.WAIT and (last is None or last.state is not State.WAIT)
        return RUNNING if turned and now <= end and all(word.lead != RUNNING for word in told) else None
    worse = _is_worse(announced, last)
    if planned.seen_at is not None:
        return WORSE if worse else None
    lead = _lead_passed(planned, told, now, shop)
    if lead is not None or worse:
        return lead or WORSE
    if last is None or (last.state, last.cannot_tell) == (announced.state, announced.cannot_tell):
        return None
    if announced.state is not State.GO and not announced.reason:
        return None  # the air is a GO by now and on trial: one word when that has held, not two
    again = timedelta(seconds=shop.limit("told_again_after").value)
    # told in what is now the future: the clock was wrong then, and the saying of it counts for nothing
    said = any(_is_same(word, announced) and timedelta(0) <= now - word.at < again for word in told)
    return None if said else BETTER


def _is_worse(announced: Announced, last: Told | None) -> bool:
    if last is None:
        return announced.state is State.WAIT
    return RANK[announced.state] > RANK[last.state] or (announced.cannot_tell and not last.cannot_tell)


def _is_same(word: Told, announced: Announced) -> bool:
    return (word.state, word.cannot_tell, word.reason) == (announced.state, announced.cannot_tell, announced.reason)


def _lead_passed(planned: Planned, told: Sequence[Told], now: datetime, shop: Shop) -> str | None:
    """The latest lead that has passed since the plan was made, unless a word was said that stands for it."""
    passed = [each for each in lead_moments(planned, shop) if planned.made_at < each[1] <= now]
    if not passed:
        return None
    lead, moment = passed[-1]
    stands = any(word.at <= now and moment not in words_to_come(planned, word.at, shop) for word in told)
    return None if stands else lead
