"""What is to be told of a job when, without being asked: each word once, from the job's clocks. Pure.

Nothing is kept here: what was told before is known to whoever asks. Mask and fan are told as a least time with the
coat; that it is over is never told, for that would read as a clearance.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta

from advisor.catalog.schedules import NO
from advisor.jobs.cure import NEVER_HARD, SCUFF
from advisor.jobs.job import Job
from advisor.jobs.job_clock import JobClock
from advisor.say.craft.cure_words import caution_words, flag_words, when_short
from advisor.say.craft.job_clock_words import fan_and_mask, grits_words
from advisor.say.phrases import short_caution
from advisor.shop.shop import Shop

MASK, COAT, CLEAN_GUN, POT_DEAD = "mask", "next-coat", "clean-gun", "pot-dead"  # and SCUFF, and stages
OF_POT = (CLEAN_GUN, POT_DEAD)
OUTLASTS_JOB = (MASK, *OF_POT)  # what is still told of a job that is done
MAY_BE = {
    "handle": "handled",
    "sand": "sanded",
    "sand_flat": "sanded flat",
    "rub_out": "rubbed out",
    "full_cure": "",
}
_CURED = "cured by the clock; the data sheet decides"
_DUSTY = ("sand", "sand_flat", "rub_out")
LONGEST_NOTICE = 200  # characters
_LONGEST_NAME = 40  # characters of a piece's name


@dataclass(frozen=True)
class JobWord:
    """Something to tell of a job. coat: the id of the coat it is about, for a pot the first one out of it.

    at: from when it is due; until: after which it is of no use. urgent: quiet hours do not hold it back.
    """

    coat: int
    kind: str
    at: datetime
    until: datetime
    text: str
    urgent: bool = False


def subject(job: Job) -> str:
    """By what name its notices go."""
    return f"job {job.id}"


def name_of(job: Job) -> str:
    """`lid (job 3)`."""
    return f"{job.piece[:_LONGEST_NAME]} ({subject(job)})"


def words_due(clock: JobClock, now: datetime, shop: Shop) -> tuple[JobWord, ...]:
    """What a job's clocks have to tell now, in the order in which it came up; told before or not.

    clock: as of now or a little before. Of a job that is done, mask, fan and pot alone.
    """
    words = [*_mask(clock, now, shop), *_pot(clock, now, shop)]
    if clock.job.finished_at is None:
        words += [*_next(clock, now, shop), *_stages(clock, now, shop)]
    return tuple(sorted([word for word in words if word.at <= now < word.until], key=lambda word: word.at))


def _mask(clock: JobClock, now: datetime, shop: Shop) -> Iterator[JobWord]:
    """With the coat, once; urgent, for whoever sprays is awake and it cannot wait."""
    if clock.mask_until is None or not clock.job.coats:
        return
    last = max(clock.job.coats, key=lambda coat: coat.ended_at)
    text = f"{name_of(clock.job)}: {fan_and_mask(clock, last.started_at, shop)}."
    yield JobWord(last.id, MASK, last.started_at, clock.mask_until, text, urgent=True)


def _pot(clock: JobClock, now: datetime, shop: Shop) -> Iterator[JobWord]:
    """The gun before the pot dies, and that it died; urgent both: a gun set hard is lost."""
    if clock.pot is None:
        return
    pot, until = clock.pot, when_short(clock.pot.until, now, shop)
    name = f"{name_of(clock.job)}, {pot.coating.name}"
    guessed = "" if pot.mixed_said and pot.guessed is None else " as far as is known"
    clean = f"{name}: clean the gun. The pot dies at {until}{guessed}."
    yield JobWord(pot.first.id, CLEAN_GUN, pot.clean_by, pot.until, clean, urgent=True)
    dead = f"{name}: the pot died at {until}{guessed}, not to be sprayed. Is the gun clean?"
    yield JobWord(pot.first.id, POT_DEAD, pot.until, pot.until + _lasts(shop), dead, urgent=True)


def _next(clock: JobClock, now: datetime, shop: Shop) -> Iterator[JobWord]:
    """The next coat from when to when, and that its window closes; nothing once every coat is on."""
    following, last = clock.next, clock.last
    if following is None or last is None or following.stage is None:
        return
    if following.over is not None and following.over.standing == NO:
        return
    where = clock.position
    if where is not None and where.complete and where.may_repeat is None:
        return
    next_coat = "One more coat" if where is not None and where.complete else "Next coat"
    closes = None if following.always else following.closes
    name = f"{following.coating.name} on {name_of(clock.job)}"
    grits = grits_words(following)
    if following.opens is not None:
        shut = following.always or (closes is not None and closes <= now)
        until = "on" if closes is None or shut else f"until {when_short(closes, now, shop)}"
        head = f"{next_coat} of {name}: try it from now {until}{f'; sand{grits} first' if shut else ''}."
        end = following.opens + _lasts(shop)
        if closes is not None and closes > now:
            end = min(end, closes)
        yield JobWord(last.id, COAT, following.opens, end, _with(head, short_caution(following.coating)))
    if closes is not None:
        before = timedelta(seconds=shop.limit("scuff_told_before").value)
        at = "now" if closes <= now else when_short(closes, now, shop)
        text = f"{next_coat} of {name}: from {at} on scuff-sand{grits} first."
        yield JobWord(last.id, SCUFF, closes - before, closes + _lasts(shop), text)


def _stages(clock: JobClock, now: datetime, shop: Shop) -> Iterator[JobWord]:
    """What the piece may be done with, as its newest coat comes to it."""
    if clock.cured is None or clock.last is None:
        return
    soft = [flag_words(flag, clock.cured, shop) for flag in clock.cured.flags if flag.kind == NEVER_HARD]
    for stage in clock.cured.stages:
        if stage.stage in MAY_BE and stage.at_latest is not None:
            more = [*soft, *([caution_words(clock.cured)] if stage.stage in _DUSTY else [])]
            may_be = f"may be {MAY_BE[stage.stage]}; try a hidden spot first" if MAY_BE[stage.stage] else _CURED
            text = _with(f"{name_of(clock.job)}, {clock.cured.coating.name}: {may_be}.", *more)
            yield JobWord(clock.last.id, stage.stage, stage.at_latest, stage.at_latest + _lasts(shop), text)


def _with(head: str, *more: str) -> str:
    """The head with what still fits behind it."""
    for sentence in more:
        if len(head) + 1 + len(sentence) <= LONGEST_NOTICE:
            head = f"{head} {sentence}"
    return head


def _lasts(shop: Shop) -> timedelta:
    return timedelta(seconds=shop.limit("job_notice_expires").value)
