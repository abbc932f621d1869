"""A job, its clocks and its history as JSON: SI, °C and fractions, times UTC, null for what is not known."""

from dataclasses import fields
from typing import Any

from advisor.advice.cure import Stage
from advisor.advice.following_coat import NextCoat
from advisor.advice.job import Change, Coat, Job, Observation, Rework
from advisor.advice.job_clock import JobClock, Pot
from advisor.advice.job_clock_words import next_words, pot_words, warning_words
from advisor.advice.job_warnings import JobWarning
from advisor.advice.next_coat import NextCoatAnswer, next_coat
from advisor.advice.next_coat_words import why_words
from advisor.say.as_json import Forms, keyed
from advisor.shop.shop import Shop


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
        Change: _all_but(Change),
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
            "coating=coating.id step coat=number least most",
            {"from": lambda following, *_: following.opens if following.sure else None},
            "from_latest=opens until=closes scuff",
            {"grit": lambda following, *_: following.grits and [following.grits.coarse, following.grits.fine]},
            "waits_for=stage.stage from_sheet=stage.from_sheet standing=over.standing",
            {"words": lambda following, clock, shop: next_words(following, clock.as_of, shop)},
        ),
        NextCoatAnswer: ("allowed from=from_ until scuff", {"why": why_words}),
        Pot: (
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
