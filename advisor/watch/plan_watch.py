"""Watches the planned sessions: judges those within their first lead each minute, and tells what is due of them.

A fault with one plan is logged and costs that plan its word; the coatings' verdicts go on.
"""

import sqlite3
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from functools import partial

import structlog

from advisor.errors import CatalogError
from advisor.film.film_map import Films
from advisor.judge.conditions import Conditions
from advisor.judge.verdict import Verdict, judge
from advisor.logbook import outbox
from advisor.logbook.plan_log import DONE, keep_told, open_plan, open_plans, stamp_plan, told_of
from advisor.logbook.verdict_log import load_announced, save_announced
from advisor.notices.announced import NOT_TOLD, Announced, is_worse, notice_of, settled_state
from advisor.notices.plan_notice import (
    ADDED,
    LEADS,
    RUNNING,
    Planned,
    Told,
    announced_now,
    due_lead,
    end_of,
    notice_text,
    session_left,
)
from advisor.shop.shop import Shop
from advisor.times import milliseconds

log = structlog.get_logger()


@dataclass(frozen=True)
class JudgedPlan:
    """A plan as judged this minute. end: when its session is over."""

    planned: Planned
    end: datetime
    verdict: Verdict
    announced: Announced


@dataclass(frozen=True)
class PlanRound:
    """What one minute found: the plans judged, and those that are over."""

    judged: tuple[JudgedPlan, ...] = ()
    over: tuple[Planned, ...] = ()


@dataclass
class PlanWatch:
    """The plans with what is announced of each. reading: a connection to read by, beside the writer's.
    films: those that are known, the daemon's."""

    shop: Shop
    reading: sqlite3.Connection
    destinations: tuple[str, ...]
    films: Films
    _announced: dict[int, Announced] = field(default_factory=dict)

    def begin_anew(self, now: datetime) -> None:
        """After a start or a gap: take up what was announced; how long something better has held is counted anew."""
        for planned in self._watched(now):
            one = self._announced.get(planned.id) or load_announced(self.reading, (planned.place, planned.subject))
            if one is not None:
                self._announced[planned.id] = replace(one, better_since=None)

    def catch_up(self, conditions: Conditions, moment: datetime) -> None:
        """One minute gone by, judged without telling anybody; only plans of which something was announced by then.

        What is announced now was announced knowing all that came before it.
        """
        for planned in self._watched(moment):
            one = self._announced.get(planned.id)
            if one is not None and one.since < milliseconds(moment):
                self._judge(planned, conditions, moment)

    def round(self, conditions: Conditions, now: datetime) -> PlanRound:
        """Judge the open plans within their first lead."""
        judged, over = [], []
        for planned in self._watched(now):
            one = self._judge(planned, conditions, now)
            if one is None or now > one.end:
                over += [planned] if one is not None or now >= planned.at else []
            else:
                judged.append(one)
        self._announced = {one.planned.id: one.announced for one in judged}
        return PlanRound(tuple(judged), tuple(over))

    def keep(self, connection: sqlite3.Connection, found: PlanRound, now: datetime) -> None:
        """Keep what is announced, and put what is due into the outbox; inside the caller's transaction."""
        for planned in found.over:
            stamp_plan(connection, planned, DONE, now)
        for one in found.judged:
            fresh = open_plan(connection, one.planned.id, now)  # it may have been dropped or seen since
            if fresh is None:
                continue
            save_announced(connection, one.announced)
            told = told_of(connection, fresh)
            lead = due_lead(fresh, one.announced, told, now, one.end, self.shop)
            if lead is not None:
                self._tell(connection, one, lead, told, now)

    def _watched(self, now: datetime) -> list[Planned]:
        first = max(self.shop.limit(f"plan_lead_{lead}").value for lead in LEADS)
        return open_plans(self.reading, now, now + timedelta(seconds=first))

    def _judge(self, planned: Planned, conditions: Conditions, now: datetime) -> JudgedPlan | None:
        """None when it cannot be judged at all."""
        try:
            coating = self.shop.coating(planned.coating)
            end = end_of(planned, coating, self.shop)
            left = session_left(planned, coating, self.shop, now)
            verdict = judge(conditions, coating, self.shop, now, plan=left, films=self.films)
            settled = partial(settled_state, conditions, self.shop, verdict)
            announced = announced_now(
                self._announced.get(planned.id), planned, told_of(self.reading, planned), verdict, settled,
                milliseconds(now), self.shop,
            )  # fmt: skip
        except CatalogError as error:  # a data sheet that is not there any more
            log.error("plan not judged", plan=planned.id, error=str(error))
            return None
        self._announced[planned.id] = announced
        return JudgedPlan(planned, end, verdict, announced)

    def _tell(
        self, connection: sqlite3.Connection, one: JudgedPlan, lead: str, told: Sequence[Told], now: datetime
    ) -> None:
        planned, announced, at = one.planned, one.announced, milliseconds(now)
        # what really reached somebody: sent, or printed as the plan was made
        printed = next((word.state.value for word in told if word.lead == ADDED), NOT_TOLD)
        heard = outbox.last_sent_state(connection, planned.subject, planned.place) or printed
        # near enough to wake somebody for: nobody acts by night on the air half a day ahead
        near = now >= planned.at - timedelta(seconds=self.shop.limit("plan_lead_second").value)
        text = notice_text(planned, lead, announced, one.verdict, now, self.shop)
        urgent = lead == RUNNING or (near and is_worse(announced, heard))
        notice = notice_of(announced, f"plan-{lead}", text, at, urgent, self.shop)
        notice = replace(notice, expires_at=min(notice.expires_at, milliseconds(one.end)))
        outbox.supersede(connection, planned.subject, planned.place)
        outbox.put(connection, notice, self.destinations, at)
        keep_told(connection, planned, Told(lead, now, announced.state, announced.cannot_tell, announced.reason))
