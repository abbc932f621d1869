"""`advisor plan`: sessions meant for a time, told of before the booth is opened."""

import json
import re
import sqlite3
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

from advisor.advice import plan_words
from advisor.advice.announced import reason_of
from advisor.advice.phrases import STATE_WORDS, short_caution
from advisor.advice.plan_notice import ADDED, Planned, Told, end_of, whole_session
from advisor.advice.verdict import Verdict, judge
from advisor.catalog.coatings import Coating
from advisor.cli.paper import print_wrapped
from advisor.cli.recorded import zone_of
from advisor.cli.session_asked import coats_and_spray
from advisor.errors import CatalogError, UsageError, shown
from advisor.logbook import outbox
from advisor.logbook.air_log import AirLog
from advisor.logbook.calibration_log import calibrations_in_force, with_calibrations
from advisor.logbook.daemon_lock import daemon_doubt
from advisor.logbook.plan_log import drop_plan, keep_plan, keep_told, open_plan, open_plans, see_plan, told_of
from advisor.logbook.present import conditions_at, place_to_spray
from advisor.logbook.store import logbook, logbook_path, transaction
from advisor.readings.csv_file import parse_time
from advisor.say.as_json import SCHEMA, utc
from advisor.say.numbers import counted, moment, span
from advisor.shop.find import shop_from
from advisor.shop.shop import Shop
from advisor.times import local_day

AHEAD = timedelta(days=7)  # a plan lies no further ahead
MOST_OPEN = 10  # plans at once: each is judged every minute while it is watched
_LONGEST_NOTE = 60  # characters
_MOST_NUMBER = 2**62
_CLOCK = re.compile(r"([0-9]{1,2}):([0-9]{2})")


@dataclass(frozen=True)
class AskedPlan:
    """The command line of `advisor plan add`."""

    config: Path | None = None
    at: str | None = None
    coating: str | None = None
    coats: int | None = None
    spray: str | None = None
    note: str | None = None


def run_plan_add(asked: AskedPlan) -> int:
    """Keep a plan; print it, when it will be told, and how it looks now. Exit code 0."""
    now = datetime.now(UTC)
    shop = shop_from(asked.config)
    if asked.at is None or asked.coating is None:
        name = "at" if asked.at is None else "coating"
        raise UsageError(f"--{name} is missing", "--at 15:00 --coating shellac", "give both")
    coating = shop.coating(asked.coating)
    coats, spray = coats_and_spray(asked.coats, asked.spray, shop)
    note = (asked.note or "").strip()
    if not (len(note) <= _LONGEST_NOTE and (note.isprintable() or not note)):
        raise UsageError(f"--note {shown(note)}", f"up to {_LONGEST_NOTE} characters on one line", "shorten it")
    at = start_asked(asked.at, now, zone_of(shop.zone or "UTC") or ZoneInfo("UTC"))
    path = logbook_path(shop.logbook)
    doubt = daemon_doubt(path) or ""
    with logbook(path, now) as connection:
        shop = with_calibrations(shop, calibrations_in_force(connection))
        verdict = _verdict_now(connection, Planned(0, now, at, coating.id, coats, spray), coating, shop, doubt)
        with transaction(connection):
            _refuse_more(connection, at, coating, now)
            planned = keep_plan(connection, now, at, coating.id, coats, spray, note)
            told = Told(ADDED, now, verdict.state, verdict.cannot_tell, reason_of(verdict))
            keep_told(connection, planned, told)
    print_wrapped(_added(planned, verdict, shop))
    return 0


def run_plan_list(config: Path | None, as_json: bool) -> int:
    """Print the open plans. Exit code 0."""
    now = datetime.now(UTC)
    shop = shop_from(config)
    with logbook(logbook_path(shop.logbook)) as connection:
        plans = [
            (planned, told_of(connection, planned), ends)
            for planned in open_plans(connection, now)
            for ends in (_ends(planned, shop),)
            if now <= (ends or planned.at)
        ]
    if as_json:
        records = [plan_words.plan_record(planned, told, ends, now, shop) for planned, told, ends in plans]
        together = {"schema": SCHEMA, "computed_at": utc(now), "plans": records}
        print(json.dumps(together, ensure_ascii=False, allow_nan=False))
    else:
        print_wrapped([_line(planned, told, now, shop) for planned, told, _ in plans] or ["No plans."])
    return 0


def run_plan_drop(config: Path | None, which: int) -> int:
    """Nothing more is told of it. Exit code 0."""
    now = datetime.now(UTC)
    shop = shop_from(config)
    with logbook(logbook_path(shop.logbook), now) as connection, transaction(connection):
        planned = _one(connection, which, now)
        drop_plan(connection, planned, now)
        outbox.supersede(connection, planned.subject)
    print_wrapped([f"Dropped: {_what(planned, now, shop)}."])
    return 0


def run_plan_seen(config: Path | None, which: int) -> int:
    """Only worse news is told of it from now on. Exit code 0."""
    now = datetime.now(UTC)
    shop = shop_from(config)
    with logbook(logbook_path(shop.logbook), now) as connection, transaction(connection):
        planned = _one(connection, which, now)
        see_plan(connection, planned, now)
        outbox.supersede(connection, planned.subject, spare_urgent=True)
    print_wrapped([f"Seen: {_what(planned, now, shop)}. From now on only worse news is told of it."])
    return 0


def start_asked(text: str, now: datetime, zone: ZoneInfo) -> datetime:
    """The moment a start names: a clock time, today or else tomorrow, or an ISO time; ahead, within a week."""
    cleaned = text.strip()
    at: datetime | None
    if found := _CLOCK.fullmatch(cleaned):
        today = local_day(now, zone.key)
        days = [f"{day}T{int(found[1]):02d}:{found[2]}" for day in (today, today + timedelta(days=1))]
        moments = [parse_time(day, zone) for day in days]
        at = next((each for each in moments if each is not None and each > now), None)
    else:
        at = parse_time(cleaned, zone)
    if at is None:
        raise UsageError(f"--at {shown(text)} is no time", "like 15:00 or 2026-11-25T15:00", "correct it")
    if not now < at <= now + AHEAD:
        raise UsageError(f"--at {shown(text)} is not ahead within 7 days", "a start to come", "correct it")
    return at


def _one(connection: sqlite3.Connection, which: int, now: datetime) -> Planned:
    planned = open_plan(connection, which, now) if abs(which) < _MOST_NUMBER else None
    if planned is None:
        known = ", ".join(str(each.id) for each in open_plans(connection, now)) or "none"
        raise UsageError(f"no open plan {which}", known, "see `advisor plan list`")
    return planned


def _refuse_more(connection: sqlite3.Connection, at: datetime, coating: Coating, now: datetime) -> None:
    standing = [planned for planned in open_plans(connection, now) if planned.at > now]
    same = next((planned for planned in standing if (planned.at, planned.coating) == (at, coating.id)), None)
    if same is not None:
        raise UsageError(f"{same.subject} is for that coating and time already", "one", "drop that one first")
    if len(standing) >= MOST_OPEN:
        raise UsageError(f"{len(standing)} plans are open", f"up to {MOST_OPEN}", "drop one first")


def _verdict_now(connection: sqlite3.Connection, planned: Planned, coating: Coating, shop: Shop, doubt: str) -> Verdict:
    """Its session as if it began as it is planned, from the logbook's newest air; doubt: of the daemon beside it."""
    air_log, now = AirLog(connection), planned.made_at
    conditions = conditions_at(air_log, now, place_to_spray(shop, air_log.all_series()), shop)
    conditions = replace(conditions, doubt=doubt or conditions.doubt)
    return judge(conditions, coating, shop, now, plan=whole_session(planned, coating, shop))


def _added(planned: Planned, verdict: Verdict, shop: Shop) -> list[str]:
    coating = verdict.coating
    session = whole_session(planned, coating, shop)
    when = moment(planned.at, shop.zone)
    ends = plan_words.day_and_clock(end_of(planned, coating, shop), planned.at, shop)
    coats = counted(planned.coats, "one coat")
    length = f"takes {span(session.length)} with flash-off and waiting, to {ends}"
    note = f" ({planned.note})" if planned.note else ""
    lines = [
        f"Plan {planned.id}: {coating.name}, {when}, {coats}{note}; {length}.",
        f"{plan_words.when_told(planned, shop)} `advisor watch` must run for it.",
    ]
    if not shop.notices.destinations:
        lines.append("The configuration names no destination for notices: they stay in `advisor plan list`.")
    return [*lines, plan_words.as_it_looks(verdict, shop), short_caution(coating)]


def _ends(planned: Planned, shop: Shop) -> datetime | None:
    """When its session is over; None when its coating is not known any more."""
    try:
        return end_of(planned, shop.coating(planned.coating), shop)
    except CatalogError:
        return None


def _what(planned: Planned, now: datetime, shop: Shop) -> str:
    when = plan_words.day_and_clock(planned.at, now, shop)
    note = f" ({planned.note})" if planned.note else ""
    return f"{planned.subject}, {planned.coating}, {when}, {counted(planned.coats, 'one coat')}{note}"


def _line(planned: Planned, told: tuple[Told, ...], now: datetime, shop: Shop) -> str:
    said = ""
    if told:
        state = STATE_WORDS[told[-1].state] + (", cannot tell" if told[-1].cannot_tell else "")
        said = f" Last told {plan_words.day_and_clock(told[-1].at, now, shop)}: {state}."
    ahead = plan_words.words_ahead(planned, told, now, shop)
    following = f" Told next {plan_words.day_and_clock(ahead[0], now, shop)}." if ahead else ""
    seen = "" if planned.seen_at is None else " Seen: only worse news."
    what = _what(planned, now, shop)
    return f"{what[0].upper()}{what[1:]}.{said}{following}{seen}"
