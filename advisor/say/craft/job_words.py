"""What is said of a job's record: its coats, what was seen, what was taken back."""

from collections.abc import Mapping, Sequence
from dataclasses import asdict
from datetime import datetime
from typing import Any

from advisor.catalog.mechanisms import defects
from advisor.catalog.schedules import Schedule
from advisor.jobs.job import Coat, HistoryLine, Job, Observation, Rework, Spraying
from advisor.say.craft.cure_words import when_short
from advisor.say.numbers import counted, film, percent, pressure, temperature, trimmed, volume
from advisor.say.phrases import cup_name
from advisor.shop.shop import Shop

_SEVERITIES = {1: "slight", 2: "plain", 3: "spoilt"}
# numbers of a coat whose words need no other field
_SAID_ALONE = ("thinning", "retarder", "hardener", "material", "surface", "needle", "gun_pressure", "wet_film")
_GROUPS = ("thinner", "pot", "cup", "gun", "piece")


def job_name(job: Job) -> str:
    """`3 lid`: the number first, for it is what one types."""
    return f"{job.id} {job.piece}"


def job_words(job: Job, now: datetime, shop: Shop) -> str:
    """A job in one line: name, schedule, coats, how it stands."""
    coats = counted(len(job.on_piece), "1 coat") if job.on_piece else "no coat yet"
    end = "open" if job.finished_at is None else f"done {when_short(job.finished_at, now, shop)}"
    parts = [job.schedule or "no schedule", coats, end, job.note]
    return f"{job_name(job)}: {', '.join(part for part in parts if part)}."


def plan_words(schedule: Schedule) -> str:
    """`seal 2-4 waterborne-sealer, clear 5 waterborne-clear-2k levelled and rubbed out`."""
    return ", ".join(
        f"{step.step} {from_to(step.least, step.most)} {step.coating}{' levelled and rubbed out' * step.levelled}"
        for step in schedule.steps
    )


def record_words(job: Job, schedule: Schedule | None, now: datetime, shop: Shop) -> list[str]:
    """All that was kept of a job, in the order in which it happened."""
    happened = [
        *((coat.started_at, coat_words(coat, now, shop)) for coat in job.coats),
        *((seen.at, observation_words(seen, job, now, shop)) for seen in job.observations),
        *((rework.at, rework_words(rework, now, shop)) for rework in job.reworks),
    ]
    plan = [] if schedule is None else [f"Schedule: {plan_words(schedule)}."]
    return [job_words(job, now, shop), *plan, *(words for _, words in sorted(happened, key=lambda each: each[0]))]


def kept_words(job: Job, coat: Coat, now: datetime, shop: Shop) -> str:
    """A coat that was kept just now, in short."""
    what = f"{coat.step}, {coat.coating}" if coat.step else coat.coating
    panel = "test panel, " if coat.panel else ""
    said = _details(coat, now, shop, ("thinner", "pot", "gun"))
    return f"Kept: {job_name(job)}, coat {coat.number}: {panel}{what}, {sprayed(coat, now, shop)}{said}."


def coat_words(coat: Coat, now: datetime, shop: Shop) -> str:
    """All that was kept of a coat."""
    panel = ", test panel" if coat.panel else ""
    step = f"{coat.step}, " if coat.step else ""
    said = _details(coat, now, shop, _GROUPS)
    return f"Coat {coat.number}{panel}: {step}{coat.coating}, {sprayed(coat, now, shop)}{said}."


def observation_words(seen: Observation, job: Job, now: datetime, shop: Shop) -> str:
    """What was seen, on which coat, where, how bad."""
    name = "" if seen.defect is None else defects()[seen.defect].name if seen.defect in defects() else seen.defect
    what = (f"no {name}" if name else "good") if seen.good else (name or "bad")
    number = next((coat.number for coat in job.coats if coat.id == seen.coat), None)
    parts = [
        what,
        _SEVERITIES.get(seen.severity or 0, ""),
        "" if number is None else f"coat {number}",
        seen.spot,
        seen.text,
        "" if seen.photo is None else f"photo {seen.photo}",
    ]
    return f"Seen {when_short(seen.at, now, shop)}: {', '.join(part for part in parts if part)}."


def rework_words(rework: Rework, now: datetime, shop: Shop) -> str:
    """What was done to the piece."""
    return f"Rework {when_short(rework.at, now, shop)}: {rework.what}."


def undone_words(
    lines: Sequence[HistoryLine],
    rows: Mapping[tuple[str, int], Mapping[str, Any]],
    piece: str,
    now: datetime,
    shop: Shop,
) -> str:
    """What was taken back."""
    first = lines[0]
    job, row = f"{first.job} {piece}", rows[first.of, first.row]
    if first.field is not None:
        what = f"coat {row['number']} of {job}" if first.of == "coat" else job
        before = ", ".join(_plain(line.field or "", line.before, now, shop) for line in lines)
        return f"Taken back: a change of {what}; back to {before}."
    if first.of == "coat":
        what = f"coat {row['number']} of {job}, {row['coating']}, {when_short(row['started_at'], now, shop)}"
    elif first.of == "observation":
        what = f"what was seen on {job}, {'good' if row['good'] else row['defect'] or 'bad'}"
    else:
        what = f"rework of {job}, {row['what']}" if first.of == "rework" else f"job {job}"
    return f"Taken back: {what}."


def _plain(field: str, value: Any, now: datetime, shop: Shop) -> str:
    """A field and its value in the shop's units."""
    if isinstance(value, float) and field in _SAID_ALONE:
        blank = Spraying(coating="", started_at=now, ended_at=now)
        return _details(Spraying(**{**asdict(blank), field: value}), now, shop, _GROUPS).removeprefix("; ")
    name = field.replace("_", " ")
    if value is None or value == "":
        return f"no {name}"
    if isinstance(value, datetime):
        return f"{name} {when_short(value, now, shop)}"
    if isinstance(value, bool):
        return f"{name} {'yes' if value else 'no'}"
    return f"{name} {value:g}" if isinstance(value, float) else f"{name} {value}"


def _details(coat: Spraying, now: datetime, shop: Shop, groups: Sequence[str]) -> str:
    """What was said of a coat, with a semicolon before it; nothing where nothing was."""
    sanded = {None: "", 0: "not sanded before"}.get(coat.sanded, f"sanded {coat.sanded} before")
    seconds = "" if coat.cup_seconds is None else f"{trimmed(coat.cup_seconds, 1)} s in {cup_name(coat.cup)}"
    said = {
        "thinner": [
            "" if coat.thinning is None else f"thinned {percent(coat.thinning, 1)}",
            "" if coat.thinner is None else f"{coat.thinner} thinner",
            "" if coat.retarder is None else f"retarder {percent(coat.retarder, 1)}",
        ],
        "pot": [
            "" if coat.hardener is None else f"hardener {volume(coat.hardener, shop.units)}",
            "" if coat.mixed_at is None else f"mixed {when_short(coat.mixed_at, now, shop)}",
        ],
        "cup": [seconds, "" if coat.material is None else f"material {temperature(coat.material, shop.units)}"],
        "gun": [
            "" if coat.needle is None else f"needle {trimmed(coat.needle * 1e3, 2)} mm",
            "" if coat.gun_pressure is None else pressure(coat.gun_pressure, shop.units),
            "" if coat.wet_film is None else f"wet film {film(coat.wet_film, shop.units)}",
        ],
        "piece": [
            "" if coat.surface is None else f"piece {temperature(coat.surface, shop.units)}",
            sanded,
            "" if coat.place is None else f"place {coat.place}",
            coat.note,
        ],
    }
    parts = [part for group in groups for part in said[group] if part]
    return f"; {', '.join(parts)}" if parts else ""


def sprayed(coat: Spraying, now: datetime, shop: Shop) -> str:
    """`14:05 to 14:10`, with `UTC` where no zone is known."""
    start, end = when_short(coat.started_at, now, shop), when_short(coat.ended_at, coat.started_at, shop)
    return (start if start == end else f"{start} to {end}") + ("" if shop.zone else " UTC")


def from_to(low: int, high: int) -> str:
    """`2-4`, or `5` where both are that."""
    return f"{low}" if low == high else f"{low}-{high}"
