"""A coat that was sprayed before the coat below it was ready, or over one that it never goes over; as of then."""

from dataclasses import replace
from datetime import datetime, timedelta

from advisor.advice.cure import cure
from advisor.advice.following_coat import waits_for
from advisor.advice.job import Coat, Job
from advisor.advice.job_warnings import NEVER_OVER, TOO_SOON, UNSURE_WAIT, JobWarning
from advisor.advice.trace import Trace
from advisor.catalog.overcoats import NO
from advisor.shop.shop import Shop


def below(job: Job, coat: Coat) -> tuple[Coat, ...]:
    """The coats that were on the piece when that one was sprayed, in their order."""
    return tuple(each for each in job.on_piece if (each.started_at, each.number) < (coat.started_at, coat.number))


def above(job: Job, coat: Coat) -> Coat | None:
    """The coat that was sprayed over that one, None where it is the newest."""
    later = (each for each in job.on_piece if (each.started_at, each.number) > (coat.started_at, coat.number))
    return next(later, None)


def hurried(job: Job, coat: Coat, room: Trace, now: datetime, shop: Shop) -> JobWarning | None:
    """What was wrong with spraying that coat when it was; None for a coat in time, the first one, and a test panel.

    By the clock of the coat below as of the coat's start: TOO_SOON where its stage was not reached however warm the
    stretches were that nobody read, UNSURE_WAIT where that hangs on them. measured: what it waited, limit: what was
    asked for [s at the reference temperature]. Raises CatalogError for a coating the shop no longer knows.
    """
    under_it = below(job, coat)
    if coat.panel or not under_it:
        return None
    last = under_it[-1]
    under, over = shop.coating(last.coating), shop.coating(coat.coating)
    coats = sum(each.coating == last.coating for each in under_it)
    then = max(coat.started_at, last.ended_at)
    cured = cure(under, room, last.ended_at, then, shop, coats)
    found, stage = waits_for(cured, over)
    if found.standing == NO:
        return JobWarning(NEVER_OVER, over, over=found, under=under)
    if stage is None or stage.reached:
        return None
    waited = (then - last.ended_at).total_seconds()
    kind = UNSURE_WAIT if stage.reached is None else TOO_SOON
    said = JobWarning(kind, over, waited, stage.needed, found, under, known=not (cured.gap or cured.present is None))
    if kind == UNSURE_WAIT:
        return said
    by_now = cure(under, room, last.ended_at, max(now, then), shop, coats)
    stage_now = waits_for(by_now, over)[1]
    opened = None if stage_now is None else stage_now.at_latest
    until = coat.ended_at + timedelta(seconds=shop.limit("too_soon_left").value)
    return replace(said, opened=opened, until=until if opened is None else max(until, opened))
