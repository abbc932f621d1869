"""Whether the next coat may be sprayed, in words: the answer first, then why not, then until when and the pot.

A job, its clocks and its history as JSON: SI, °C and fractions, times UTC, null for what is not known.
"""

from collections.abc import Sequence
from dataclasses import fields
from typing import Any

from advisor.jobs.cure import Stage
from advisor.jobs.following_coat import JobWarning, NextCoat
from advisor.jobs.job import Coat, HistoryLine, Job, Observation, Rework
from advisor.jobs.job_clock import JobClock, PotClock, PotLife
from advisor.jobs.next_coat import NextCoatAnswer, Reason, next_coat
from advisor.say.as_json import Forms, keyed
from advisor.say.craft.cure_words import when_short
from advisor.say.craft.job_clock_words import coat_name, grits_words, next_words, pot_words, warning_words
from advisor.say.craft.job_words import job_name
from advisor.say.fitting import STAYS, fitted, paragraph
from advisor.say.numbers import span, temperature
from advisor.say.phrases import at_reference, hand_test
from advisor.shop.shop import Shop

_ANSWERS = {
    True: "YES, by clock, air and your own hand",
    False: "NO, not now",
    None: "CANNOT SAY YES",
}
MOST_LINES = 8
WHY = {
    "no_coating": "Nobody said of what: name a coating.",
    "done": "Job {job} is done: advisor job edit {id} done=no opens it.",
    "complete": "All coats of its schedule are on.",
    "complete_but": "All coats of its schedule are on. One more {name} is usual: name it with --coating.",
    "old": "The mix is {age} old, good for {life}: mix anew.",
    "day_full": "Today had its {limit:g} coats of {name}: not before {when}.",
    "never": "Never at {warmth}: the coat below stands still, warm the room.",
    "not_before": "Not before {when}; then try it: {hand}.",
    "not_before_at_the_latest": "Not before {when} at the latest; then try it: {hand}.",
    "room_unknown": "Cannot tell from when: the room's temperature is not known (sheet: {sheet}).",
    "gap": "Cannot tell: a gap in the room's temperature (sheet: {sheet}); surely from {when}.",
    "pot_dead": "The pot died {when}: mix anew, then --mixed TIME. Is the gun clean?",
    "pot_dies": "The pot dies {when}, before the coat is on: clean the gun in time, mix anew, then --mixed TIME.",
    "bad_panel": "The test panel of it was bad.",
    "no_panel": "A panel first over {name}: advisor job coat --panel, then advisor job panel good.",
    "not_logged": "Of {name} {measured:g} of {limit:g} coats are logged: what is below it is not known.",
    "no_schedule": "Its schedule is not known any more: what belongs below it is not known.",
    "no_air": "The air was not asked: advisor check --job.",
    "air": "{name}",
    "untried": "Try it by hand first: {hand}; if so, --tried.",
}


def why_words(answer: NextCoatAnswer, clock: JobClock, shop: Shop) -> list[str]:
    """Its reasons in sentences, none twice."""
    return [*dict.fromkeys(_reason_words(each, clock, shop) for each in answer.why)]


def _reason_words(reason: Reason, clock: JobClock, shop: Shop) -> str:
    if reason.warning is not None:
        return warning_words(reason.warning, shop, clock.as_of)
    return WHY[reason.kind].format(
        job=job_name(clock.job),
        id=clock.job.id,
        name=reason.name,
        measured=reason.measured,
        limit=reason.limit,
        age=span(reason.measured),
        life=span(reason.limit),
        warmth=temperature(reason.measured, shop.units),
        sheet=at_reference(reason.limit, shop),
        when="" if reason.at is None else when_short(reason.at, clock.as_of, shop),
        hand=hand_test(None if clock.cured is None else clock.cured.coating),
    )


def answer_words(answer: NextCoatAnswer, clock: JobClock, pot: PotLife | None, shop: Shop) -> Sequence[str]:
    """Eight lines at most: the answer, the reasons, the gravest first, scuff and window, pot."""
    following, now, why = clock.next, clock.as_of, why_words(answer, clock, shop)
    if following is None:
        return [f"{_ANSWERS[answer.allowed]}: next coat on {job_name(clock.job)}.", *why]
    untried = answer.allowed is None and [each.kind for each in answer.why] == ["untried"]
    said = "NOT YET A YES, try it by hand" if untried else _ANSWERS[answer.allowed]
    head = f"{said}: {coat_name(following)}, {following.coating.name}, on {job_name(clock.job)}."
    grits = grits_words(following)
    scuff = f"Sand{grits} first." if answer.scuff else ""
    if answer.until is not None and not answer.scuff:
        scuff = f"From {when_short(answer.until, now, shop)} on scuff-sand{grits} first."
    return fitted(
        [
            paragraph(head),
            *(paragraph(text, min(n + 1, 4) if n else STAYS) for n, text in enumerate(why)),
            paragraph(scuff, 5),
            paragraph(_pot_words(clock, pot, shop), 1),
        ],
        MOST_LINES,
    )


def _pot_words(clock: JobClock, pot: PotLife | None, shop: Shop) -> str:
    """Until when what is in the gun is good; nothing where that is no matter, or was said as a reason."""
    if pot is None:
        mine = clock.pot is not None and clock.next is not None and clock.pot.coating.id == clock.next.coating.id
        alive = clock.pot is not None and clock.as_of < clock.pot.until
        return pot_words(clock.pot, clock.as_of, shop) if clock.pot is not None and mine and alive else ""
    if pot.until is None or pot.until <= clock.as_of:
        return ""
    guess = "" if pot.guessed is None else f" (room not known, taken as {temperature(pot.guessed, shop.units)})"
    return f"Pot good to {when_short(pot.until, clock.as_of, shop)}{guess}."


def _all_but(kind: type, *without: str) -> str:
    return " ".join(f"{each.name}~" for each in fields(kind) if each.name not in without)


def _observations(job: Job, *_: object) -> list[dict[str, Any]]:
    numbers = {coat.id: coat.number for coat in job.coats}
    return [
        {**keyed(_all_but(Observation, "job"), seen), "coat": numbers.get(seen.coat or 0)} for seen in job.observations
    ]


JOB_FORMS = Forms(  # beside a clock, and what belongs to it: the clock, and the shop
    {
        Job: (
            "job=id piece schedule made_at finished_at note coats",
            {"observations!": _observations},
            "rework=reworks",
        ),
        Coat: _all_but(Coat, "job"),
        Rework: _all_but(Rework, "job"),
        HistoryLine: _all_but(HistoryLine),
        JobClock: (
            "job=job.id piece=job.piece as_of soonest last_coat=last.number next",
            {
                "next_coat": lambda clock, _, shop: next_coat(clock, shop),
                "complete": lambda clock, *_: clock.position is not None and clock.position.complete,
            },
            "may_repeat=position.may_repeat.step pot fan_until mask_until",
            {
                "cannot_tell": lambda clock, *_: clock.cured is not None and clock.cured.cannot_tell,
                "stages": lambda clock, *_: [] if clock.cured is None else clock.cured.stages,
                "flags": lambda clock, *_: [] if clock.cured is None else [flag.kind for flag in clock.cured.flags],
            },
            "warnings",
        ),
        NextCoat: (
            "coating=coating.id step=step.step coat=number least=step.least most=step.most",
            {"from": lambda following, *_: following.opens if following.sure else None},
            "from_latest=opens until=closes scuff",
            {"grit": lambda following, *_: following.grits and [following.grits.coarse, following.grits.fine]},
            "waits_for=stage.stage from_sheet=stage.from_sheet standing=over.standing",
            {"words": lambda following, clock, shop: next_words(following, clock.as_of, shop)},
        ),
        NextCoatAnswer: ("allowed from=from_ until scuff", {"why": why_words}),
        PotClock: (
            "coating=coating.id until clean_gun_by=clean_by mixed_said taken_as=guessed",
            {"words": lambda pot, clock, shop: pot_words(pot, clock.as_of, shop)},
        ),
        Stage: "stage reached at at_latest",
        JobWarning: (
            "kind coating=coating.id measured~ limit~",
            {"words": lambda warning, clock, shop: warning_words(warning, shop, clock.as_of)},
        ),
    }
)


def clock_record(clock: JobClock, shop: Shop) -> dict[str, Any]:
    """The clocks of a job."""
    found: dict[str, Any] = JOB_FORMS(clock, clock, shop)
    return found
