"""`advisor plan`: sessions meant for a time, told of before the booth is opened."""

from datetime import datetime
from typing import Annotated
from zoneinfo import ZoneInfo

import typer

from advisor.cli.options import CoatingOption, JsonOption
from advisor.cli.paper import Answer
from advisor.desk.plans import Plan, drop, make_plan, plans, see, start_asked
from advisor.desk.typed import coats_and_spray
from advisor.errors import UsageError
from advisor.judge.verdict import Verdict
from advisor.notices import plan_notice
from advisor.notices.plan_notice import Planned, end_of, whole_session
from advisor.say.as_json import headed
from advisor.say.numbers import capital, counted, moment, span
from advisor.say.phrases import short_caution, state_said
from advisor.shop.shop import Shop

NumberArgument = Annotated[int, typer.Argument(help="The plan's number.")]


def add_plan(
    shop: Shop,
    now: datetime,
    at: Annotated[str | None, typer.Option("--at", help="Start: 15:00 (today or tomorrow), or an ISO time.")] = None,
    coating: CoatingOption = None,
    coats: Annotated[int | None, typer.Option("--coats", help="Coats in this session.")] = None,
    spray: Annotated[str | None, typer.Option("--spray", help="How long one coat takes to spray: 5min.")] = None,
    note: Annotated[str | None, typer.Option("--note", help="What it is for.")] = None,
) -> Answer:
    """Say when you mean to spray what: `advisor watch` tells before the start whether the air is fit for it."""
    if at is None or coating is None:
        name = "at" if at is None else "coating"
        raise UsageError(f"--{name} is missing", "--at 15:00 --coating shellac", "give both")
    meant, session = shop.coating(coating), coats_and_spray(coats, spray, shop)
    start = start_asked(at, now, ZoneInfo(shop.zone or "UTC"))
    return _added(*make_plan(start, meant, *session, note or "", shop, now), shop), 0


def list_plans(shop: Shop, now: datetime, as_json: JsonOption = False) -> Answer:
    """List the sessions meant, with what was told of each and when it is told next."""
    found = plans(shop, now)
    if as_json:
        records = [plan_notice.plan_record(each.planned, each.told, each.ends, now, shop) for each in found]
        return headed(now, {"plans": records}), 0
    return [_line(each, now, shop) for each in found] or ["No plans."], 0


def drop_plan(
    shop: Shop,
    now: datetime,
    number: NumberArgument,
) -> Answer:
    """Drop a plan: nothing more is told of it."""
    return [f"Dropped: {_what(drop(number, shop, now), now, shop)}."], 0


def see_plan(
    shop: Shop,
    now: datetime,
    number: NumberArgument,
) -> Answer:
    """Acknowledge a plan: from now on only worse news is told of it."""
    return [f"Seen: {_what(see(number, shop, now), now, shop)}. From now on only worse news is told of it."], 0


def _added(planned: Planned, verdict: Verdict, shop: Shop) -> list[str]:
    coating = verdict.coating
    session = whole_session(planned, coating, shop)
    when = moment(planned.at, shop.zone)
    ends = plan_notice.day_and_clock(end_of(planned, coating, shop), planned.at, shop)
    coats = counted(planned.coats, "one coat")
    length = f"takes {span(session.length)} with flash-off and waiting, to {ends}"
    note = f" ({planned.note})" if planned.note else ""
    nowhere = "The configuration names no destination for notices: they stay in `advisor plan list`."
    return [
        f"Plan {planned.id}: {coating.name}, {when}, {coats}{note}; {length}.",
        f"{plan_notice.when_told(planned, shop)} `advisor watch` must run for it.",
        *([] if shop.notices.destinations else [nowhere]),
        plan_notice.as_it_looks(verdict, shop),
        short_caution(coating),
    ]


def _what(planned: Planned, now: datetime, shop: Shop) -> str:
    when = plan_notice.day_and_clock(planned.at, now, shop)
    note = f" ({planned.note})" if planned.note else ""
    return f"{planned.subject}, {planned.coating}, {when}, {counted(planned.coats, 'one coat')}{note}"


def _line(plan: Plan, now: datetime, shop: Shop) -> str:
    told = [
        f" Last told {plan_notice.day_and_clock(last.at, now, shop)}: {state_said(last.state, last.cannot_tell)}."
        for last in plan.told[-1:]
    ]
    ahead = plan_notice.words_ahead(plan.planned, plan.told, now, shop)
    following = f" Told next {plan_notice.day_and_clock(ahead[0], now, shop)}." if ahead else ""
    seen = "" if plan.planned.seen_at is None else " Seen: only worse news."
    return f"{capital(_what(plan.planned, now, shop))}.{''.join(told)}{following}{seen}"
