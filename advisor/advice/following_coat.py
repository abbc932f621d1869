"""The coat that comes next on a piece: of what, from when to when by the clock, scuffed or not."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from advisor.advice.cure import SCUFF, STAGES, Cure, Stage
from advisor.advice.job import Job, Position, step_for
from advisor.advice.overcoat import Overcoat, overcoat
from advisor.catalog.coatings import Coating
from advisor.catalog.overcoats import NO_SCUFF
from advisor.catalog.overcoats import SCUFF as ALWAYS
from advisor.catalog.schedules import Grits, Schedule, Step
from advisor.shop.shop import Shop
from advisor.times import local_day

_STAGE_OF = {number: stage for stage, number in STAGES.items()}


@dataclass(frozen=True)
class Unlogged:
    """A step of the schedule with fewer coats in the record than it must have."""

    step: str
    coats: int
    least: int


@dataclass(frozen=True)
class NextCoat:
    """The coat that comes next.

    step: its name, None outside a schedule; number: which one of that step; least, most: coats of it, None outside a
    schedule. stage: of the coat below, which it waits for; None for a first coat, and where nothing helps. opens: from
    when, None where it never comes, or cannot be told. never: at the temperature of now it never comes. sure: False
    where a gap in the record makes `opens` the latest. closes: from then on it wants scuff-sanding, None where no
    window closes. scuff: it wants that anyhow, or will by the time it may be sprayed; always: whatever the clock says.
    grits: for that, None outside a schedule. over: how it goes over the coat below. day_full: until when today has had
    all its coats, None where it has not. unlogged: steps that belong below it and lack coats in the record.
    """

    coating: Coating
    step: str | None
    number: int
    least: int | None
    most: int | None
    stage: Stage | None
    opens: datetime | None
    never: bool
    sure: bool
    closes: datetime | None
    scuff: bool
    always: bool
    grits: Grits | None
    over: Overcoat | None
    day_full: datetime | None = None
    unlogged: tuple[Unlogged, ...] = ()


def next_coating(job: Job, where: Position | None, shop: Shop) -> Coating | None:
    """What the next coat is of: the step's family as this job has had it, else as the shop has it in use, else itself.

    Outside a schedule the coating of the newest coat, or the only one in use; None where that is not known.
    """
    if where is None:
        names = [coat.coating for coat in job.on_piece[-1:]] or (shop.coatings if len(shop.coatings) == 1 else [])
        return shop.coating(names[0]) if names else None
    family = where.step.coating
    used = [shop.coating(coat.coating) for coat in reversed(job.coats)]
    in_use = [shop.coating(name) for name in shop.coatings]
    fitting = [coating for coating in (*used, *in_use) if coating.family == family]
    return fitting[0] if fitting else shop.coating(family)


def following_coat(
    job: Job,
    schedule: Schedule | None,
    where: Position | None,
    cured: Cure | None,
    now: datetime,
    shop: Shop,
    asked: Coating | None = None,
) -> NextCoat | None:
    """The next coat, or one more of the coating asked for; None where nobody can say of what.

    cured: the newest coat on the piece as of now, None on a bare one. Raises CatalogError for an unknown coating.
    """
    coating = asked or next_coating(job, where, shop)
    if coating is None:
        return None
    step, number = _step(job, schedule, where, asked)
    named: tuple[str | None, int, int | None, int | None] = (
        (None, sum(coat.coating == coating.id for coat in job.on_piece) + 1, None, None)
        if step is None
        else (step.step, number, step.least, step.most)
    )
    first = step is not None and number == 1
    grits = None if step is None else step.sand_before if first else step.scuff
    unlogged = _unlogged(job, schedule, step)
    if cured is None:
        return NextCoat(coating, *named, None, None, False, True, None, first, first, grits, None, None, unlogged)
    found, stage = waits_for(cured, coating)
    opens = None if stage is None else stage.at_latest
    full = _full_until(job, coating, now, shop)
    if opens is not None and full is not None:
        opens = max(opens, full)
    window = None if found.scuff in (ALWAYS, NO_SCUFF) else _stage(cured, SCUFF)
    closes = None if window is None else window.at
    earliest = now if opens is None else max(now, opens)
    each = step is not None and step.scuff_each
    always = found.scuff == ALWAYS or first or each
    scuff = always or (closes is not None and closes <= earliest)
    sure = stage is None or stage.at is not None or stage.reached is True
    never = stage is not None and opens is None and cured.present is not None
    return NextCoat(
        coating, *named, stage, opens, never, sure, closes, scuff, always, grits, found, full, unlogged
    )  # fmt: skip


def waits_for(cured: Cure, over: Coating) -> tuple[Overcoat, Stage | None]:
    """How a coating goes over a coat, and the stage of that coat which it waits for; None where nothing helps."""
    found = overcoat(cured.coating, over)
    return found, None if found.after is None else _stage(cured, _STAGE_OF[found.after])


def coats_today(job: Job, coating: Coating, now: datetime, shop: Shop) -> int:
    """Coats of a coating on the piece today, by the shop's own day."""
    today = local_day(now, shop.zone)
    return sum(coat.coating == coating.id and local_day(coat.started_at, shop.zone) == today for coat in job.on_piece)


def _step(
    job: Job, schedule: Schedule | None, where: Position | None, asked: Coating | None
) -> tuple[Step | None, int]:
    """The step of the coat, and which one of it it would be."""
    if where is None or schedule is None:
        return None, 1
    if asked is None:
        return where.step, where.coat
    name = step_for(schedule, asked, job.on_piece)
    step = None if name is None else schedule.step(name)
    return step, sum(coat.step == name for coat in job.on_piece) + 1


def _unlogged(job: Job, schedule: Schedule | None, step: Step | None) -> tuple[Unlogged, ...]:
    """Steps below that one, or outside the schedule below the furthest begun, that lack coats."""
    if schedule is None:
        return ()
    done = [coat.step for coat in job.on_piece]
    steps = list(schedule.steps)
    begun = [at for at, each in enumerate(steps) if each.step in done]
    upto = max(begun, default=0) if step is None else steps.index(step)
    counted = ((each, done.count(each.step)) for each in steps[:upto])
    return tuple(Unlogged(each.step, count, each.least) for each, count in counted if count < each.least)


def _stage(cured: Cure, name: str) -> Stage | None:
    return next((stage for stage in cured.stages if stage.stage == name), None)


def _full_until(job: Job, coating: Coating, now: datetime, shop: Shop) -> datetime | None:
    """The next midnight, where today has had all the coats it may have."""
    most = coating.numbers.get("coats_a_day_max")
    if most is None or not coats_today(job, coating, now, shop) >= most.value:
        return None
    local = now.astimezone(ZoneInfo(shop.zone or "UTC"))
    midnight = datetime.combine(local.date() + timedelta(days=1), datetime.min.time(), local.tzinfo)
    return midnight.astimezone(now.tzinfo)
