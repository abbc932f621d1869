"""A job, its clocks and its history as JSON: SI, °C and fractions, times UTC, null for what is not known."""

from collections.abc import Sequence
from dataclasses import asdict
from datetime import datetime
from typing import Any

from advisor.advice.following_coat import NextCoat
from advisor.advice.job import Change, Job
from advisor.advice.job_clock import JobClock, Pot
from advisor.advice.job_clock_words import next_words, pot_words, warning_words
from advisor.advice.next_coat import NextCoatAnswer, next_coat
from advisor.advice.record import number, utc
from advisor.shop.shop import Shop


def job_record(job: Job) -> dict[str, Any]:
    """A job with its coats, observations and rework."""
    numbers = {coat.id: coat.number for coat in job.coats}
    return {
        "job": job.id,
        "piece": job.piece,
        "schedule": job.schedule,
        "made_at": utc(job.made_at),
        "finished_at": moment(job.finished_at),
        "note": job.note,
        "coats": [plain(asdict(coat), "job") for coat in job.coats],
        "observations": [
            {**plain(asdict(seen), "job"), "coat": numbers.get(seen.coat or 0)} for seen in job.observations
        ],
        "rework": [plain(asdict(rework), "job") for rework in job.reworks],
    }


def clock_record(clock: JobClock, shop: Shop) -> dict[str, Any]:
    """The clocks of a job."""
    return {
        "job": clock.job.id,
        "piece": clock.job.piece,
        "as_of": utc(clock.as_of),
        "soonest": moment(clock.soonest),
        "last_coat": None if clock.last is None else clock.last.number,
        "next": None if clock.next is None else _next(clock.next, clock, shop),
        "next_coat": answer_record(next_coat(clock, shop)),
        "complete": clock.position is not None and clock.position.complete,
        "may_repeat": None if clock.position is None or clock.position.may_repeat is None else (
            clock.position.may_repeat.step
        ),
        "pot": None if clock.pot is None else _pot(clock.pot, clock, shop),
        "fan_until": moment(clock.fan_until),
        "mask_until": moment(clock.mask_until),
        "cannot_tell": clock.cured is not None and clock.cured.cannot_tell,
        "stages": [] if clock.cured is None else [
            {"stage": each.stage, "reached": each.reached, "at": moment(each.at), "at_latest": moment(each.at_latest)}
            for each in clock.cured.stages
        ],
        "flags": [] if clock.cured is None else [flag.kind for flag in clock.cured.flags],
        "warnings": [
            {
                "kind": each.kind,
                "coating": each.coating.id,
                "measured": small(each.measured),
                "limit": small(each.limit),
                "words": warning_words(each, shop, clock.as_of),
            }
            for each in clock.warnings
        ],
    }  # fmt: skip


def answer_record(answer: NextCoatAnswer) -> dict[str, Any]:
    """Whether the next coat may be sprayed; allowed null where something is not known or was not tried."""
    return {
        "allowed": answer.allowed,
        "from": moment(answer.from_),
        "until": moment(answer.until),
        "scuff": answer.scuff,
        "why": list(answer.why),
    }


def plain(record: dict[str, Any], *without: str) -> dict[str, Any]:
    """A record's fields fit for JSON."""
    return {key: _plain(value) for key, value in record.items() if key not in without}


def changes(lines: Sequence[Change]) -> list[dict[str, Any]]:
    """Lines of a history."""
    return [plain(asdict(line)) for line in lines]


def moment(at: datetime | None) -> str | None:
    """A time, or null."""
    return None if at is None else utc(at)


def small(value: float | None) -> float | None:
    """Small SI figures (m, m3) to six digits, not to a millionth."""
    return None if value is None else float(f"{value:.6g}")


def _plain(value: Any) -> Any:
    if isinstance(value, datetime):
        return utc(value)
    return small(value) if isinstance(value, float) else value


def _next(following: NextCoat, clock: JobClock, shop: Shop) -> dict[str, Any]:
    grits, over, stage = following.grits, following.over, following.stage
    return {
        "coating": following.coating.id,
        "step": following.step,
        "coat": following.number,
        "least": following.least,
        "most": following.most,
        "from": moment(following.opens if following.sure else None),
        "from_latest": moment(following.opens),
        "until": moment(following.closes),
        "scuff": following.scuff,
        "grit": None if grits is None else [grits.coarse, grits.fine],
        "waits_for": None if stage is None else stage.stage,
        "from_sheet": None if stage is None else number(stage.from_sheet),
        "standing": None if over is None else over.standing,
        "words": next_words(following, clock.as_of, shop),
    }


def _pot(pot: Pot, clock: JobClock, shop: Shop) -> dict[str, Any]:
    return {
        "coating": pot.coating.id,
        "until": utc(pot.until),
        "clean_gun_by": utc(pot.clean_by),
        "mixed_said": pot.mixed_said,
        "taken_as": number(pot.guessed),
        "words": pot_words(pot, clock.as_of, shop),
    }
