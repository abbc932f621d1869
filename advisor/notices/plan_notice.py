"""A session meant for a time, and what is to be told of it when, before the booth is opened. Pure.

A notice at each set lead, and between them when the state changes: worse at once, better only after the patience of
announced.py. Nothing is kept here: what was told before is handed in.

What is said of a planned session: never as a promise, and in one short line.
"""

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from advisor.catalog.coatings import Coating
from advisor.judge.plan import Plan, plan_for
from advisor.judge.session import SESSION
from advisor.judge.vapour_rule import VAPOUR
from advisor.judge.verdict import RANK, State, Verdict, worst_findings
from advisor.notices.announced import Announced, announce, reason_of
from advisor.say import session_words
from advisor.say.as_json import keyed
from advisor.say.finding_words import distance, reason, remedy
from advisor.say.fitting import Paragraph, given_way, paragraph
from advisor.say.numbers import capital, clock, counted, percent, temperature
from advisor.say.phrases import state_said
from advisor.shop.shop import Shop
from advisor.times import local_day

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
    if previous is None:
        state, cannot_tell = (last or verdict).state, (last or verdict).cannot_tell
        reason = reason_of(verdict) if last is None else last.reason
        told_state = state.value
        previous = Announced(
            planned.subject, state, cannot_tell, reason, at, told_state=told_state, place=planned.place
        )
    return announce(previous, verdict, settled, at, dwell)


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


LONGEST_NOTICE = 260  # characters
_LONGEST_NAME = 40  # characters of a coating's name
_NOT_SURELY = "Better just now, not yet for sure."


def notice_text(planned: Planned, lead: str, announced: Announced, verdict: Verdict, now: datetime, shop: Shop) -> str:
    """State, coating, time, why, and when it will be read again."""
    state = state_said(announced.state, announced.cannot_tell)
    name = verdict.coating.name[:_LONGEST_NAME]
    when = day_and_clock(planned.at, now, shop)
    if lead == RUNNING:
        head, tail = f"{state}: {name}, begun {when} ({planned.subject}).", "Before the next coat: advisor check."
    elif is_near(planned, now, shop):
        head = f"{state}: {name}, {when}, {counted(planned.coats, 'one coat')} ({planned.subject})."
        waits = announced.state is State.WAIT
        tail = "Before opening: advisor check." if waits else "After 10 min of fan, read again."
    else:
        head = (
            f"As the air is now: {state} for {name}, {when}, {counted(planned.coats, 'one coat')} ({planned.subject})."
        )
        tail = f"Read again {day_and_clock(words_to_come(planned, now, shop)[0], now, shop)}."
    allowed = announced.state is not State.WAIT and verdict.vapour is not None
    end = f"{tail} {session_words.in_short(verdict.vapour, verdict.coating)}" if allowed and verdict.vapour else tail
    whys = _whys(announced, verdict, shop)
    why = Paragraph(whys[0], (*zip(range(len(whys), 0, -1), (*whys[1:], ""), strict=True),))
    parts = given_way([paragraph(head), why, paragraph(end)], lambda texts: len(" ".join(texts)) <= LONGEST_NOTICE)
    text = " ".join(parts)
    # mask and fan are never what is cut
    return text if len(text) <= LONGEST_NOTICE else f"{head[: LONGEST_NOTICE - len(end) - 1]} {end}"


def _whys(announced: Announced, verdict: Verdict, shop: Shop) -> list[str]:
    """Why, from the fullest wording to the shortest."""
    if RANK[verdict.state] < RANK[announced.state]:
        return [_NOT_SURELY]
    if announced.state is State.GO:
        return [air_words(verdict, shop)]
    finding = worst_findings(verdict)[0]
    full, far = reason(finding, verdict, shop), distance(finding, shop)
    failure = verdict.session and (verdict.session.stop or verdict.session.change)
    if finding.rule == SESSION and failure:
        far = f"Door open, fan on: {distance(failure.finding, shop) or reason(failure.finding, verdict, shop)}"
    with_remedy = [f"{full} {remedy(finding, verdict.coating, shop)}"] if finding.rule == VAPOUR else []
    shorter = [re.sub(r" \([^()]*\)\.$", ".", full), re.sub(r" \([^()]*\)", "", full)]
    return [*with_remedy, full, *shorter, *([f"{capital(far)}."] if far else [])]


def air_words(verdict: Verdict, shop: Shop) -> str:
    """The air as it is, and whether the air outdoors was counted with; empty when the air is unknown."""
    if verdict.air is None:
        return ""
    room = f"Room {temperature(verdict.air.air_temperature, shop.units)}, {percent(verdict.air.relative_humidity)}"
    return f"{room}; {'door open and fan on reckoned' if verdict.session else 'air outdoors not known'}."


def as_it_looks(verdict: Verdict, shop: Shop) -> str:
    """The verdict on a session as if it began now, worded as no more than that."""
    would = state_said(verdict.state, verdict.cannot_tell)
    worst = worst_findings(verdict)
    why = reason(worst[0], verdict, shop) if worst else air_words(verdict, shop)
    return f"Now it would be {would}. {why} The air at the time decides, not this."


def when_told(planned: Planned, shop: Shop) -> str:
    """When notices will come."""
    moments = [day_and_clock(moment, planned.made_at, shop) for moment in words_to_come(planned, planned.made_at, shop)]
    if not moments:
        return "Notices when it changes."
    listed = f"{', '.join(moments[:-1])} and {moments[-1]}" if len(moments) > 1 else moments[0]
    return f"Notices at {listed}, and when it changes."


def day_and_clock(when: datetime, now: datetime, shop: Shop) -> str:
    """`15:00` today, `Tue 15:00` on another day."""
    today = local_day(when, shop.zone) == local_day(now, shop.zone)
    return clock(when, shop.zone, "%H:%M" if today else "%a %H:%M")


def words_ahead(planned: Planned, told: Sequence[Told], now: datetime, shop: Shop) -> list[datetime]:
    """The set moments at which it is told, if nothing changes; none once it is acknowledged."""
    if planned.seen_at is not None:
        return []
    since = told[-1].at if told else planned.made_at
    return [when for when in words_to_come(planned, since, shop) if when > now]


_PLAN = (
    "id=planned.id at=planned.at ends coating=planned.coating coats=planned.coats spray=planned.spray"
    " note=planned.note made_at=planned.made_at seen_at=planned.seen_at notices told"
)


def plan_record(
    planned: Planned, told: Sequence[Told], ends: datetime | None, now: datetime, shop: Shop
) -> dict[str, Any]:
    """The record for JSON."""
    asked = {"planned": planned, "ends": ends, "notices": words_ahead(planned, told, now, shop), "told": told}
    return keyed(_PLAN, asked)
