"""What is said of a planned session: never as a promise, and in one short line."""

import re
from collections.abc import Sequence
from datetime import datetime
from typing import Any

from advisor.advice import session_words
from advisor.advice.announced import Announced
from advisor.advice.finding_words import distance, reason, remedy
from advisor.advice.phrases import state_said
from advisor.advice.plan_notice import RUNNING, Planned, Told, is_near, words_to_come
from advisor.advice.session import SESSION
from advisor.advice.vapour_rule import VAPOUR
from advisor.advice.verdict import RANK, State, Verdict, worst_findings
from advisor.say.as_json import keyed
from advisor.say.fitting import Paragraph, given_way, paragraph
from advisor.say.numbers import capital, clock, counted, percent, temperature
from advisor.shop.shop import Shop
from advisor.times import local_day

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
