"""One tick of the daemon: the air as it is, each coating's verdict, what is announced, and what is to be told.

`Daemon.tick` is an ordinary function of a moment; a scheduler calls it every minute and a replay calls it itself.
"""

import gc
import sqlite3
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from typing import Any

import structlog

from advisor.advice import words
from advisor.advice.announced import (
    NOT_TOLD,
    Announced,
    announce,
    is_due,
    settled_state,
    starting,
)
from advisor.advice.conditions import Conditions
from advisor.advice.film_map import Films, films_of
from advisor.advice.night_ahead import night_ahead, with_night
from advisor.advice.outlook import Outlook
from advisor.advice.record import SCHEMA, utc, verdict_record
from advisor.advice.verdict import RANK, State, Verdict, judge
from advisor.logbook import outbox
from advisor.logbook.air_log import AirLog
from advisor.logbook.conditions import milliseconds
from advisor.logbook.day_ahead import outlook_from_log
from advisor.logbook.panels import Panels
from advisor.logbook.present import conditions_at, place_to_spray
from advisor.logbook.verdict_log import keep_verdict, load_announced, save_announced
from advisor.shop.shop import Shop
from advisor.watch.clock import Now
from advisor.watch.job_watch import JobDue, JobWatch
from advisor.watch.plan_watch import PlanRound, PlanWatch
from advisor.watch.quiet import quiet_end
from advisor.watch.ways_watch import Seen, WaysWatch

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
    _announced: dict[str, Announced] = field(default_factory=dict)
    _caught_up: datetime | None = None
    _outlook: tuple[datetime, Outlook | None] | None = None
    _plans: PlanWatch = field(init=False)
    _jobs: JobWatch = field(init=False)
    _panels: Panels = field(init=False)
    _ways: WaysWatch = field(init=False)
    _films: Films = field(init=False)
    _judged: list[Seen] = field(default_factory=list)

    def __post_init__(self) -> None:
        self._films = films_of(self.shop)
        self._plans = PlanWatch(self.shop, self.air_log.connection, self.destinations, self._films)
        self._jobs = JobWatch(self.shop, self.air_log, self.destinations)
        self._panels = Panels(self.air_log, self.shop)
        self._ways = WaysWatch(self.shop, self.air_log)

    def tick(self, now: Now) -> Judged:
        """Judge this minute, keep it, and put what is due into the outbox, all in one transaction."""
        if self._caught_up is None or not timedelta(0) <= now.wall - self._caught_up <= 3 * self.interval:
            self._catch_up(now.wall)
        conditions = self._conditions(now.wall)
        known = {name: self._through_the_night(conditions, name, now.wall) for name in self.coatings}
        verdicts = tuple(self._judge(there, name, now.wall) for name, there in known.items())
        announced = tuple(
            self._announce(there, verdict, now.wall) for there, verdict in zip(known.values(), verdicts, strict=True)
        )
        self._judged = [Seen(verdict, there) for verdict, there in zip(verdicts, known.values(), strict=True)]
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
            verdicts = tuple(self._judge(blind, name, now.wall) for name in known)
            self._judged = []
            records = [verdict_record(verdict, self.shop, now.wall) for verdict in verdicts]
        self._announced = {one.coating: one for one in announced}
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
        found = self.last is not None and self._ways.look(
            self._judged, None if self._outlook is None else self._outlook[1]
        )
        gc.collect()
        if self.last is None or not found:
            return None
        as_of = self.last.verdicts[0].as_of
        self.last = replace(
            self.last, record={**self.last.record, "verdicts": [self._record(each, as_of) for each in self._judged]}
        )
        return self.last.record

    def _record(self, seen: Seen, now: datetime) -> dict[str, Any]:
        ways = self._ways.of(seen)
        if ways is None:
            return verdict_record(seen.verdict, self.shop, now)
        verdict = self._ways.with_numbers(seen.verdict, ways)
        return verdict_record(verdict, self.shop, now, ways.changes, session_ways=ways.remedies, ways_as_of=ways.as_of)

    def _through_the_night(self, conditions: Conditions, name: str, now: datetime) -> Conditions:
        """The conditions with the night ahead, by the outlook as of the last full hour where there is one."""
        hour = now.replace(minute=0, second=0, microsecond=0)
        if self._outlook is None or self._outlook[0] != hour:
            self._outlook = (hour, outlook_from_log(self.air_log, now, conditions.place))
        ahead = self._outlook[1]
        if ahead is None:
            return conditions
        return with_night(conditions, night_ahead(ahead, self.shop.coating(name), self.shop), now)

    def _valid_until(self, verdicts: tuple[Verdict, ...], now: datetime) -> datetime:
        """Two intervals, and no longer than the readings under a GO; a WAIT needs no reading."""
        goes = [verdict.valid_until for verdict in verdicts if verdict.state is not State.WAIT]
        return min([*goes, now + 2 * self.interval])

    def _conditions(self, moment: datetime, past: bool = False) -> Conditions:
        place = place_to_spray(self.shop, self.air_log.all_series())
        conditions = conditions_at(self.air_log, moment, place, self.shop, past)
        self.doubt = self.doubt or conditions.doubt
        return replace(conditions, doubt=self.doubt, panels=self._panels.of_the_day(moment, place))

    def _catch_up(self, now: datetime) -> None:
        """Fill the dwell from the logbook: step through the minutes since the last tick, without telling anybody."""
        dwell = timedelta(seconds=self.shop.limit("announce_dwell").value)
        first = self._caught_up is None
        for name in self.coatings:
            kept = load_announced(self.air_log.connection, name) if first else None
            one = kept or self._announced.get(name)
            if one is not None:
                self._announced[name] = replace(one, better_since=None)
            elif name not in self._announced:
                self._announced[name] = starting(name, milliseconds(now))
        self._plans.begin_anew(now)
        minutes = int(dwell / INTERVAL)
        for moment in (now - INTERVAL * back for back in range(minutes, 0, -1)):
            conditions = self._conditions(moment, past=True)
            for name in self.coatings:
                verdict = self._judge(conditions, name, moment)
                self._announced[name] = self._announce(conditions, verdict, moment)
            self._plans.catch_up(conditions, moment)

    def _judge(self, conditions: Conditions, coating: str, moment: datetime) -> Verdict:
        return judge(conditions, self.shop.coating(coating), self.shop, moment, films=self._films)

    def _announce(self, conditions: Conditions, verdict: Verdict, moment: datetime) -> Announced:
        dwell = timedelta(seconds=self.shop.limit("announce_dwell").value)

        def settled() -> State:
            return settled_state(conditions, verdict.coating, self.shop, verdict)

        return announce(self._announced[verdict.coating.id], verdict, settled, milliseconds(moment), dwell)

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
            keep_verdict(connection, verdict, record, at, now.boot, expires)
            told = self._tell_if_due(connection, one, verdict, at)
            save_announced(connection, told)
            kept.append(told)
        self._plans.keep(connection, plans, now.wall)
        self._jobs.keep(connection, jobs, now.wall)
        return tuple(kept)

    def _tell_if_due(self, connection: sqlite3.Connection, one: Announced, verdict: Verdict, at: int) -> Announced:
        told_same = outbox.last_told_at(connection, one.coating, one.state.value, one.reason)
        dwell, again = (timedelta(seconds=self.shop.limit(key).value) for key in ("announce_dwell", "told_again_after"))
        if not is_due(one, told_same, at, dwell, again):
            return one
        # against what really reached somebody: a WAIT that never went out leaves its GO standing
        heard = outbox.last_sent_state(connection, one.coating) or one.told_state
        outbox.supersede(connection, one.coating)
        outbox.put(connection, self._notice(one, verdict, at, heard), self.destinations, at)
        return replace(one, told_state=one.state.value, told_cannot_tell=one.cannot_tell)

    def _notice(self, one: Announced, verdict: Verdict, at: int, heard: str) -> outbox.Notice:
        worse = heard != NOT_TOLD and (RANK[one.state] > RANK[State(heard)] or one.cannot_tell)
        kind = "cannot-tell" if one.cannot_tell else one.state.value
        lasting = worse or one.state is State.WAIT
        lasts = self.shop.limit("wait_notice_expires" if lasting else "go_notice_expires").value
        return outbox.Notice(
            at=at,
            kind=kind,
            coating=one.coating,
            state=one.state.value,
            reason=one.reason,
            text=words.notice_text(one.state, verdict, self.shop),
            urgent=worse,
            # a word held back through the night is still worth saying in the morning, if nothing newer came
            expires_at=(at if worse else quiet_end(at, self.shop.notices, self.shop.zone)) + round(lasts * 1000),
        )
