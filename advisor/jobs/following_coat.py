"""The coat that comes next on a piece: of what, from when to when by the clock, scuffed or not.

What a job's record passes, or its next coat would: coats, build, wet film, age of the mix, one coat over another.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from advisor.bench.bench_gates import BUILD, COATS, Gate, Layer, build_gates
from advisor.bench.overcoat import Overcoat, overcoat
from advisor.catalog.coatings import Coating
from advisor.catalog.schedules import NO, NO_SCUFF, PANEL, Grits, Step
from advisor.catalog.schedules import SCUFF as ALWAYS
from advisor.jobs.cure import SCUFF, STAGES, Cure, Stage
from advisor.jobs.job import Coat, Job, Position, Spraying, step_for
from advisor.physics.paint.film_build import dry_film
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

    step: None outside a schedule; number: which one of that step, or of that coating. grits: for a scuff, None outside
    a schedule. scuff: it wants that, or will by the time it may be sprayed; always: whatever the clock says. unlogged:
    steps that belong below it and lack coats in the record. stage: of the coat below, which it waits for; None for a
    first coat, and where nothing helps. opens: from when, None where it never comes, or cannot be told. never: at the
    temperature of now it never comes. sure: False where a gap in the record makes `opens` the latest. closes: from then
    on it wants scuff-sanding, None where no window closes. over: how it goes over the coat below. day_full: until when
    today has had all its coats, None where it has not.
    """

    coating: Coating
    step: Step | None
    number: int
    grits: Grits | None
    scuff: bool
    always: bool
    unlogged: tuple[Unlogged, ...]
    stage: Stage | None = None
    opens: datetime | None = None
    never: bool = False
    sure: bool = True
    closes: datetime | None = None
    over: Overcoat | None = None
    day_full: datetime | None = None


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
    job: Job, where: Position | None, cured: Cure | None, now: datetime, shop: Shop, asked: Coating | None = None
) -> NextCoat | None:
    """The next coat, or one more of the coating asked for; None where nobody can say of what.

    cured: the newest coat on the piece as of now, None on a bare one. Raises CatalogError for an unknown coating.
    """
    coating = asked or next_coating(job, where, shop)
    if coating is None:
        return None
    step = _step_for(job, where, asked)
    number = 1 + sum(
        coat.coating == coating.id if step is None else coat.step == step.step for coat in job.on_piece
    )  # fmt: skip
    first = step is not None and number == 1
    grits = None if step is None else step.sand_before if first else step.scuff
    bare = NextCoat(coating, step, number, grits, first, first, _unlogged(job, step))
    if cured is None:
        return bare
    found, stage = waits_for(cured, coating)
    opens, full = None if stage is None else stage.at_latest, _full_until(job, coating, now, shop)
    if opens is not None and full is not None:
        opens = max(opens, full)
    window = None if found.scuff in (ALWAYS, NO_SCUFF) else _stage(cured, SCUFF)
    closes = None if window is None else window.at
    always = found.scuff == ALWAYS or first or (step is not None and step.scuff_each)
    return replace(
        bare, stage=stage, opens=opens, closes=closes, always=always, over=found, day_full=full,
        scuff=always or (closes is not None and closes <= max(now, opens or now)),
        sure=stage is None or stage.at is not None or stage.reached is True,
        never=stage is not None and opens is None and cured.present is not None,
    )  # fmt: skip


def waits_for(cured: Cure, over: Coating) -> tuple[Overcoat, Stage | None]:
    """How a coating goes over a coat, and the stage of that coat which it waits for; None where nothing helps."""
    found = overcoat(cured.coating, over)
    return found, None if found.after is None else _stage(cured, _STAGE_OF[found.after])


def coats_today(job: Job, coating: Coating, now: datetime, shop: Shop) -> int:
    """Coats of a coating on the piece today, by the shop's own day."""
    today = local_day(now, shop.zone)
    return sum(coat.coating == coating.id and local_day(coat.started_at, shop.zone) == today for coat in job.on_piece)


def _step_for(job: Job, where: Position | None, asked: Coating | None) -> Step | None:
    """The step of the next coat, or of one more of the coating asked for."""
    if asked is None:
        return None if where is None else where.step
    schedule = job.known_schedule
    name = step_for(schedule, asked, job.on_piece)
    return None if schedule is None or name is None else schedule.step(name)


def _unlogged(job: Job, step: Step | None) -> tuple[Unlogged, ...]:
    """Steps below that one, or outside the schedule below the furthest begun, that lack coats."""
    steps = () if job.known_schedule is None else job.known_schedule.steps
    done = [coat.step for coat in job.on_piece]
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


COATS_TODAY, NEXT_COATS, NEXT_BUILD, NEVER_OVER, PANEL_FIRST, NEXT_NEVER, TOO_SOON, UNSURE_WAIT = (
    "coats_today", "next_coats", "next_total_dry_film", "never_over", "panel_first", "next_never_over", "too_soon",
    "unsure_wait",
)  # fmt: skip
GRAVE = (NEVER_OVER, TOO_SOON)  # of a coat that is on already: said first and never left out


@dataclass(frozen=True)
class JobWarning:
    """Something passed, or about to be: measured against limit [m, coats, or s], None where it is no number.

    opened: from when a coat sprayed too soon might have been, None where that cannot be told. until: no more coats on
    it before. known: False where the room's temperature was not known all along.
    """

    kind: str
    coating: Coating
    measured: float | None = None
    limit: float | None = None
    over: Overcoat | None = None
    under: Coating | None = None
    opened: datetime | None = None
    until: datetime | None = None
    known: bool = True


def dry_film_of(coat: Spraying, coating: Coating) -> float:
    """Dry film of a coat [m]: of the wet film that was read, else of the coating's usual one, as it was thinned."""
    usual = 0.5 * (coating.numbers["wet_film_low"].value + coating.numbers["wet_film_high"].value)
    wet = usual if coat.wet_film is None else coat.wet_film
    if coat.thinning is None:
        return wet * coating.numbers["volume_solids_as_sprayed"].value
    return dry_film(wet, coating.numbers["volume_solids_as_sold"].value, coat.thinning)


def warnings_of(
    job: Job, where: Position | None, following: NextCoat | None, now: datetime, shop: Shop
) -> list[JobWarning]:
    """What is passed, and what the next coat would pass; how it went over the coat below is asked in hurried.py."""
    found: list[JobWarning] = []
    on_piece = job.on_piece
    if on_piece:
        last = on_piece[-1]
        coating = shop.coating(last.coating)
        passed = _gates(on_piece, last, coating, where, shop)
        found += [JobWarning(gate.kind, coating, gate.measured, gate.limit) for gate in passed]
        today, most = coats_today(job, coating, now, shop), coating.numbers.get("coats_a_day_max")
        if most is not None and not today <= most.value:
            found.append(JobWarning(COATS_TODAY, coating, today, most.value))
        if following is not None and not (where is not None and where.complete and where.may_repeat is None):
            found += _to_come(on_piece, following, passed, where, shop)
    return found


def _gates(
    on_piece: Sequence[Coat], last: Spraying, coating: Coating, where: Position | None, shop: Shop
) -> tuple[Gate, ...]:
    """The mixing bench's gates, of the coats on the piece as they were sprayed and sanded."""
    layers = [
        Layer(coat.coating, dry_film_of(coat, shop.coating(coat.coating)), bool(coat.sanded)) for coat in on_piece
    ]
    age = None if last.mixed_at is None else (last.started_at - last.mixed_at).total_seconds()
    wet = coating.numbers["wet_film_low"].value if last.wet_film is None else last.wet_film
    return build_gates(layers, coating, wet, age, None if where is None else where.step, shop)


def _to_come(
    on_piece: Sequence[Coat], following: NextCoat, passed: Sequence[Gate], where: Position | None, shop: Shop
) -> list[JobWarning]:
    """What the next coat would pass that is not passed yet."""
    found, coating = [], following.coating
    over = following.over
    if over is not None and over.standing in (NO, PANEL):
        kind = NEXT_NEVER if over.standing == NO else PANEL_FIRST
        found.append(JobWarning(kind, coating, over=over, under=shop.coating(over.under)))
    one_more = Coat(
        coating=coating.id, started_at=on_piece[-1].ended_at, ended_at=on_piece[-1].ended_at, id=0, job=0, number=0,
        thinning=next((coat.thinning for coat in reversed(on_piece) if coat.coating == coating.id), None),
    )  # fmt: skip
    before = {gate.kind for gate in passed if coating.id == on_piece[-1].coating}
    names = {COATS: NEXT_COATS, BUILD: NEXT_BUILD}
    return found + [
        JobWarning(names[gate.kind], coating, gate.measured, gate.limit)
        for gate in _gates([*on_piece, one_more], one_more, coating, where, shop)
        if gate.kind in names and gate.kind not in before
    ]
