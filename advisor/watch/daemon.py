"""One tick of the daemon: the air as it is, each coating's verdict, what is announced, and what is to be told.

`Daemon.tick` is an ordinary function of a moment; a scheduler calls it every minute and a replay calls it itself.
"""

import gc
import sqlite3
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from functools import partial
from typing import Any

import structlog

from advisor.film.film_map import Films, films_of
from advisor.judge.conditions import Conditions
from advisor.judge.verdict import State, Verdict, judge
from advisor.logbook import outbox
from advisor.logbook.air_log import AirLog
from advisor.logbook.verdict_log import Subject, keep_verdict, load_announced, save_announced
from advisor.notices.announced import (
    Announced,
    announce,
    is_due,
    is_worse,
    notice_of,
    reason_of,
    settled_state,
    starting,
)
from advisor.say import words
from advisor.say.as_json import SCHEMA, utc
from advisor.say.record import advice_record, verdict_record
from advisor.shop.shop import Shop
from advisor.sources.log_air import LogAir, Panels
from advisor.times import milliseconds
from advisor.watch.clock import Now
from advisor.watch.job_watch import JobDue, JobWatch
from advisor.watch.plan_watch import PlanRound, PlanWatch
from advisor.watch.ways_watch import WaysWatch
from advisor.ways.advise import Advice, Beside, advise

INTERVAL = timedelta(minutes=1)
log = structlog.get_logger()

Writing = Callable[[Callable[[sqlite3.Connection], Any]], Any]


@dataclass(frozen=True)
class Judged:
    """What one tick found: the verdicts, what is announced, and the record to publish."""

    verdicts: tuple[Verdict, ...]
    announced: tuple[Announced, ...]
    record: dict[str, Any]
    stored: bool

    @property
    def doubt(self) -> str:
        """What of it is the daemon's own doubt, which nobody else can see from the logbook; empty for none."""
        if not self.stored:
            return "no-store"
        set_lately = any(each.reason == "clock-set" for verdict in self.verdicts for each in verdict.findings)
        return "clock-set" if set_lately else ""


@dataclass
class Daemon:
    """The judge with its memory. write: runs a job inside one transaction; air_log: reads on a connection of its own.

    doubt: why nothing read may be believed at all just now; set by whoever watches the clock, and here when the logbook
    holds what is later than now, until that has been marked so.
    """

    shop: Shop
    coatings: tuple[str, ...]
    air_log: AirLog
    write: Writing
    destinations: tuple[str, ...] = ()
    interval: timedelta = INTERVAL
    doubt: str = ""
    last: Judged | None = None
    _announced: dict[Subject, Announced] = field(default_factory=dict)
    _caught_up: datetime | None = None
    _air: LogAir = field(init=False)
    _plans: PlanWatch = field(init=False)
    _jobs: JobWatch = field(init=False)
    _panels: Panels = field(init=False)
    _ways: WaysWatch = field(init=False)
    _films: Films = field(init=False)
    _judged: list[Advice] = field(default_factory=list)

    def __post_init__(self) -> None:
        self._air = LogAir(self.air_log, self.shop)
        self._films = films_of(self.shop)
        self._plans = PlanWatch(self.shop, self.air_log.connection, self.destinations, self._films)
        self._jobs = JobWatch(self.shop, self._air, self.destinations)
        self._panels = Panels(self._air)
        self._ways = WaysWatch(self.shop, self._air)

    def tick(self, now: Now) -> Judged:
        """Judge this minute, keep it, and put what is due into the outbox, all in one transaction."""
        if self._caught_up is None or not timedelta(0) <= now.wall - self._caught_up <= 3 * self.interval:
            self._catch_up(now.wall)
        conditions = self._conditions(now.wall)
        beside = Beside(room=self._air.outlook(now.wall, conditions.place))
        self._judged = [
            advise(conditions, self.shop.coating(name), self.shop, now.wall, beside=beside, films=self._films)
            for name in self.coatings
        ]
        verdicts = tuple(each.verdict for each in self._judged)
        announced = tuple(self._announce(each.conditions, each.verdict, now.wall) for each in self._judged)
        records = [self._record(each, now.wall) for each in self._judged]
        plans, jobs = self._plans.round(conditions, now.wall), self._jobs.round(now.wall)
        try:
            announced = self.write(
                lambda connection: self._keep(connection, verdicts, announced, records, plans, jobs, now)
            )
            stored = True
        except Exception as error:
            # an unwritable logbook: what cannot be kept is not said either, and the verdict is a WAIT
            log.error("verdict not kept", error=f"{type(error).__name__}: {error}")
            stored = False
            blind = replace(conditions, doubt="no-store")
            verdicts = tuple(self._judge(blind, name, now.wall) for name in self.coatings)
            self._judged = []
            records = [verdict_record(verdict, self.shop, now.wall) for verdict in verdicts]
        self._announced = {(one.place, one.coating): one for one in announced}
        if not stored:  # said, but not remembered: what the air itself made of it goes on in the next minute
            announced = tuple(
                replace(one, state=verdict.state, cannot_tell=True, reason="no-store")
                for one, verdict in zip(announced, verdicts, strict=True)
            )
        self._caught_up = now.wall
        record = {
            "schema": SCHEMA,
            "as_of": utc(now.wall),
            "computed_at": utc(now.wall),
            "valid_until": utc(self._valid_until(verdicts, now.wall)),
            "verdicts": records,
            "announced": {one.coating: one.state.value for one in announced},
        }
        self.last = Judged(verdicts, announced, record, stored)
        return self.last

    def look_ahead(self) -> dict[str, Any] | None:
        """After a tick, before the next: seek ways to a better verdict; the tick's record with them, None without new.

        What it computes is what the next minute may ask for, so that a minute's word never waits. Rubbish is looked for
        here too: in the middle of a minute's word that would cost it a fifth of a second, now and then.
        """
        found = self.last is not None and self._ways.look(self._judged)
        gc.collect()
        if self.last is None or not found:
            return None
        as_of = self.last.verdicts[0].as_of
        self.last = replace(
            self.last, record={**self.last.record, "verdicts": [self._record(each, as_of) for each in self._judged]}
        )
        return self.last.record

    def _record(self, advice: Advice, now: datetime) -> dict[str, Any]:
        return advice_record(self._ways.of(advice), self.shop, now)

    def _valid_until(self, verdicts: tuple[Verdict, ...], now: datetime) -> datetime:
        """Two intervals, and no longer than the readings under a GO; a WAIT needs no reading."""
        goes = [verdict.valid_until for verdict in verdicts if verdict.state is not State.WAIT]
        return min([*goes, now + 2 * self.interval])

    def _conditions(self, moment: datetime, past: bool = False) -> Conditions:
        place = self._air.place()
        conditions = self._air.conditions(moment, place, past)
        self.doubt = self.doubt or conditions.doubt
        return replace(conditions, doubt=self.doubt, panels=self._panels.of_the_day(moment, place))

    def _catch_up(self, now: datetime) -> None:
        """Fill the dwell from the logbook: step through the minutes since the last tick, without telling anybody."""
        dwell = timedelta(seconds=self.shop.limit("announce_dwell").value)
        first = self._caught_up is None
        place = self.shop.booth
        for of in ((place, name) for name in self.coatings):
            kept = load_announced(self.air_log.connection, of) if first else None
            one = kept or self._announced.get(of) or starting(of[1], milliseconds(now), place)
            self._announced[of] = replace(one, better_since=None)
        self._plans.begin_anew(now)
        minutes = int(dwell / INTERVAL)
        for moment in (now - INTERVAL * back for back in range(minutes, 0, -1)):
            conditions = self._conditions(moment, past=True)
            for name in self.coatings:
                verdict = self._judge(conditions, name, moment)
                self._announced[place, name] = self._announce(conditions, verdict, moment)
            self._plans.catch_up(conditions, moment)

    def _judge(self, conditions: Conditions, coating: str, moment: datetime) -> Verdict:
        return judge(conditions, self.shop.coating(coating), self.shop, moment, films=self._films)

    def _announce(self, conditions: Conditions, verdict: Verdict, moment: datetime) -> Announced:
        dwell = timedelta(seconds=self.shop.limit("announce_dwell").value)

        before = self._announced[self.shop.booth, verdict.coating.id]
        settled = partial(settled_state, conditions, self.shop, verdict)
        return announce(before, verdict, settled, milliseconds(moment), dwell)

    def _keep(
        self,
        connection: sqlite3.Connection,
        verdicts: tuple[Verdict, ...],
        announced: tuple[Announced, ...],
        records: list[dict[str, Any]],
        plans: PlanRound,
        jobs: tuple[JobDue, ...],
        now: Now,
    ) -> tuple[Announced, ...]:
        at = milliseconds(now.wall)
        kept = []
        for verdict, one, record in zip(verdicts, announced, records, strict=True):
            expires = milliseconds(self._valid_until((verdict,), now.wall))
            said = (verdict.state.value, verdict.cannot_tell, reason_of(verdict))
            keep_verdict(connection, (one.place, one.coating), said, record, at, now.boot, expires)
            told = self._tell_if_due(connection, one, verdict, at)
            save_announced(connection, told)
            kept.append(told)
        self._plans.keep(connection, plans, now.wall)
        self._jobs.keep(connection, jobs, now.wall)
        return tuple(kept)

    def _tell_if_due(self, connection: sqlite3.Connection, one: Announced, verdict: Verdict, at: int) -> Announced:
        told_same = outbox.last_told_at(connection, one.coating, one.state.value, one.reason, one.place)
        dwell, again = (timedelta(seconds=self.shop.limit(key).value) for key in ("announce_dwell", "told_again_after"))
        if not is_due(one, told_same, at, dwell, again):
            return one
        # against what really reached somebody: a WAIT that never went out leaves its GO standing
        heard = outbox.last_sent_state(connection, one.coating, one.place) or one.told_state
        kind = "cannot-tell" if one.cannot_tell else one.state.value
        text = words.notice_text(one.state, verdict, self.shop)
        outbox.supersede(connection, one.coating, one.place)
        notice = notice_of(one, kind, text, at, is_worse(one, heard), self.shop)
        outbox.put(connection, notice, self.destinations, at)
        return replace(one, told_state=one.state.value, told_cannot_tell=one.cannot_tell)
