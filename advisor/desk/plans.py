"""Sessions meant for a time: a plan made, dropped, seen."""

import re
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from advisor.catalog.coatings import Coating
from advisor.errors import CatalogError, UsageError, refuse, shown
from advisor.judge.verdict import Verdict, judge
from advisor.logbook import outbox
from advisor.logbook.air_log import AirLog
from advisor.logbook.calibration_log import calibrations_in_force
from advisor.logbook.daemon_lock import daemon_doubt
from advisor.logbook.plan_log import DROPPED, SEEN, keep_plan, keep_told, open_plan, open_plans, stamp_plan, told_of
from advisor.logbook.store import logbook, logbook_path, transaction
from advisor.notices.announced import reason_of
from advisor.notices.plan_notice import ADDED, Planned, Told, end_of, whole_session
from advisor.readings.csv_file import parse_time
from advisor.shop.shop import Shop
from advisor.sources.log_air import LogAir, with_calibrations
from advisor.times import local_day

AHEAD = timedelta(days=7)  # a plan lies no further ahead
MOST_OPEN = 10  # plans at once: each is judged every minute while it is watched
_LONGEST_NOTE = 60  # characters
_MOST_NUMBER = 2**62
_CLOCK = re.compile(r"([0-9]{1,2}):([0-9]{2})")


@dataclass(frozen=True)
class Plan:
    """A plan as it is kept; ends None: its coating is not known any more."""

    planned: Planned
    told: tuple[Told, ...]
    ends: datetime | None


def make_plan(
    at: datetime, coating: Coating, coats: int, spray: float, note: str, shop: Shop, now: datetime
) -> tuple[Planned, Verdict]:
    """Keep a plan, with its session's verdict if it began now; spray [s] a coat. Raises UsageError, LogbookError."""
    note = note.strip()
    refuse((
        not (len(note) <= _LONGEST_NOTE and (note.isprintable() or not note)),
        f"--note {shown(note)}", f"up to {_LONGEST_NOTE} characters on one line", "shorten it",
    ))  # fmt: skip
    path = logbook_path(shop.logbook)
    doubt = daemon_doubt(path) or ""
    with logbook(path, now) as connection:
        shop = with_calibrations(shop, calibrations_in_force(connection))
        planned = Planned(0, now, at, coating.id, coats, spray, note, place=shop.booth)
        verdict = _verdict_now(connection, planned, coating, shop, doubt)
        with transaction(connection):
            _refuse_more(connection, at, coating, now)
            planned = keep_plan(connection, planned)
            told = Told(ADDED, now, verdict.state, verdict.cannot_tell, reason_of(verdict))
            keep_told(connection, planned, told)
    return planned, verdict


def plans(shop: Shop, now: datetime) -> list[Plan]:
    """The open ones, by their start, with what was told of each."""
    with logbook(logbook_path(shop.logbook)) as connection:
        every = [Plan(each, told_of(connection, each), _ends(each, shop)) for each in open_plans(connection, now)]
    return [plan for plan in every if now <= (plan.ends or plan.planned.at)]


def drop(which: int, shop: Shop, now: datetime) -> Planned:
    """Nothing more is told of it. Raises UsageError."""
    with _one(which, shop, now) as (connection, planned):
        stamp_plan(connection, planned, DROPPED, now)
        outbox.supersede(connection, planned.subject, planned.place)
        return planned


def see(which: int, shop: Shop, now: datetime) -> Planned:
    """Only worse news is told of it from now on. Raises UsageError."""
    with _one(which, shop, now) as (connection, planned):
        stamp_plan(connection, planned, SEEN, now)
        outbox.supersede(connection, planned.subject, planned.place, spare_urgent=True)
        return planned


def start_asked(text: str, now: datetime, zone: ZoneInfo) -> datetime:
    """The moment a start names: a clock time, today or else tomorrow, or an ISO time; ahead, within a week."""
    cleaned = text.strip()
    if found := _CLOCK.fullmatch(cleaned):
        today = local_day(now, zone.key)
        days = [f"{day}T{int(found[1]):02d}:{found[2]}" for day in (today, today + timedelta(days=1))]
        moments = [parse_time(day, zone) for day in days]
        at = next((each for each in moments if each is not None and each > now), None)
    else:
        at = parse_time(cleaned, zone)
    if at is None:
        raise UsageError(f"--at {shown(text)} is no time", "like 15:00 or 2026-11-25T15:00", "correct it")
    ahead = now < at <= now + AHEAD
    refuse((not ahead, f"--at {shown(text)} is not ahead within 7 days", "a start to come", "correct it"))
    return at


@contextmanager
def _one(which: int, shop: Shop, now: datetime) -> Iterator[tuple[sqlite3.Connection, Planned]]:
    """An open plan inside a transaction that changes it."""
    with logbook(logbook_path(shop.logbook), now) as connection, transaction(connection):
        planned = open_plan(connection, which, now) if abs(which) < _MOST_NUMBER else None
        if planned is None:
            known = ", ".join(str(each.id) for each in open_plans(connection, now)) or "none"
            raise UsageError(f"no open plan {which}", known, "see `advisor plan list`")
        yield connection, planned


def _refuse_more(connection: sqlite3.Connection, at: datetime, coating: Coating, now: datetime) -> None:
    standing = [planned for planned in open_plans(connection, now) if planned.at > now]
    same = [planned.subject for planned in standing if (planned.at, planned.coating) == (at, coating.id)]
    refuse(
        (same, f"{', '.join(same)} is for that coating and time already", "one", "drop that one first"),
        (len(standing) >= MOST_OPEN, f"{len(standing)} plans are open", f"up to {MOST_OPEN}", "drop one first"),
    )


def _verdict_now(connection: sqlite3.Connection, planned: Planned, coating: Coating, shop: Shop, doubt: str) -> Verdict:
    """Its session as if it began as it is planned, from the logbook's newest air; doubt: of the daemon beside it."""
    air, now = LogAir(AirLog(connection), shop), planned.made_at
    conditions = air.conditions(now, air.place())
    conditions = replace(conditions, doubt=doubt or conditions.doubt)
    return judge(conditions, coating, shop, now, plan=whole_session(planned, coating, shop))


def _ends(planned: Planned, shop: Shop) -> datetime | None:
    """When its session is over; None when its coating is not known any more."""
    try:
        return end_of(planned, shop.coating(planned.coating), shop)
    except CatalogError:
        return None
