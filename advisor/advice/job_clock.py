"""The clocks of a job: the next coat from when to when, scuff or not, the pot, mask and fan, and how far it cured."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from math import inf
from zoneinfo import ZoneInfo

from advisor.advice.bench_gates import BUILD, COATS, Gate
from advisor.advice.build import Layer, build_gates
from advisor.advice.cure import SCUFF, STAGES, Cure, Stage, cure
from advisor.advice.cure_record import MissingWord, TemperatureRecord, joined
from advisor.advice.job import Coat, Job, Position, Spraying, position
from advisor.advice.measures import local_day
from advisor.advice.overcoat import Overcoat, overcoat
from advisor.catalog.coatings import Coating
from advisor.catalog.overcoats import NO, NO_SCUFF, PANEL
from advisor.catalog.overcoats import SCUFF as ALWAYS
from advisor.catalog.schedules import Grits, Schedule
from advisor.physics.cure import CureLaw, cure_speed, seconds_until
from advisor.physics.film_build import dry_film
from advisor.shop.shop import Shop

COATS_TODAY, NEXT_COATS, NEXT_BUILD, NEVER_OVER, PANEL_FIRST, NEXT_NEVER = (
    "coats_today", "next_coats", "next_total_dry_film", "never_over", "panel_first", "next_never_over",
)  # fmt: skip
_STAGE_OF = {number: stage for stage, number in STAGES.items()}
_POT_TOLD = timedelta(days=1)  # after which nobody asks for a pot any more


@dataclass(frozen=True)
class Room:
    """The air temperature where a piece stands, and the readings that do not count."""

    record: TemperatureRecord
    missing: Sequence[MissingWord] = ()


@dataclass(frozen=True)
class NextCoat:
    """The coat that comes next.

    step: its name, None outside a schedule; number: which one of that step; least, most: coats of it, None outside a
    schedule. stage: of the coat below, which it waits for; None for a first coat, and where nothing helps. opens: from
    when, None where it never comes, or cannot be told. never: at the temperature of now it never comes. sure: False
    where a gap in the record makes `opens` the latest. closes: from then on it wants scuff-sanding, None where no
    window closes. scuff: it wants that anyhow, or will by the time it may be sprayed; always: whatever the clock says.
    grits: for that, None outside a schedule. over: how it goes over the coat below.
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


@dataclass(frozen=True)
class PotLife:
    """When a pot dies; guessed: the temperature taken where the room's is not known [°C], None where it is."""

    until: datetime
    guessed: float | None


@dataclass(frozen=True)
class Pot:
    """A mixed pot that dies by the clock, guessed as in PotLife. mixed_said: False where it counts from a coat.

    first: the first coat that came out of it, as far as that was said.
    """

    coating: Coating
    until: datetime
    clean_by: datetime
    mixed_said: bool
    guessed: float | None
    first: Coat


@dataclass(frozen=True)
class JobWarning:
    """Something passed, or about to be: measured against limit [m or coats], None where it is no number."""

    kind: str
    coating: Coating
    measured: float | None = None
    limit: float | None = None
    over: Overcoat | None = None
    under: Coating | None = None


@dataclass(frozen=True)
class JobClock:
    """All clocks of a job as of a moment; None where there is no coat, no pot, nothing to come.

    cured: of the newest coat on the piece. mask_until: mask and fan on for at least so long, a minimum and never a
    clearance.
    """

    job: Job
    as_of: datetime
    position: Position | None
    last: Coat | None
    next: NextCoat | None
    cured: Cure | None
    pot: Pot | None
    mask_until: datetime | None
    warnings: tuple[JobWarning, ...]

    @property
    def soonest(self) -> datetime | None:
        """The next moment at which something wants to be done, None where nothing is known to come."""
        to_come = [self.mask_until, *(() if self.pot is None else (self.pot.clean_by, self.pot.until))]
        if self.next is not None:
            to_come += [self.next.opens, self.next.closes]
        if self.cured is not None:
            to_come += [stage.at_latest for stage in self.cured.stages]
        return min((moment for moment in to_come if moment is not None and moment >= self.as_of), default=None)


def job_clock(
    job: Job, schedule: Schedule | None, room: Room, now: datetime, shop: Shop, fan_after_coat: float
) -> JobClock:
    """The clocks of a job as of now, by the logged temperature of the room.

    fan_after_coat: mask and fan after the last coat [s]. Raises CatalogError for a coating the shop no longer knows.
    """
    on_piece = job.on_piece
    last = on_piece[-1] if on_piece else None
    where = None if schedule is None else position(schedule, on_piece)
    cured = None
    if last is not None:
        under = shop.coating(last.coating)
        coats = sum(coat.coating == last.coating for coat in on_piece)
        as_of = max(now, last.ended_at)
        cured = cure(under, room.record, last.ended_at, as_of, shop, coats, room.missing)
    following = _next(job, where, cured, now, shop)
    ends = [coat.ended_at for coat in job.coats]
    mask = max(ends) + timedelta(seconds=fan_after_coat) if ends else None
    return JobClock(
        job, now, where, last, following, cured, _pot_of(job, room, now, shop), mask,
        tuple(_warnings(job, where, following, now, shop)),
    )  # fmt: skip


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


def pot_until(
    coating: Coating, mixed_at: datetime, room: Room, now: datetime, shop: Shop, material: float | None = None
) -> PotLife | None:
    """When a pot dies; None where it does not die.

    By equivalent age at the room's temperature, unkind both ways as at the mixing bench; a material [°C] warmer than
    the room counts as warm all along. Where the room is not known, it counts as at the reference temperature or as the
    material was read, the warmer of the two; where that was not read, as warm as material is ever warmed.
    """
    life = coating.numbers.get("pot_life")
    if life is None:
        return None
    reference = shop.limit("reference_temperature").value
    law = CureLaw(reference, shop.limit("cure_energy_warm").value, shop.limit("cure_energy_cold").value, -inf)
    warmest = shop.limit("warmest_material").value if material is None else max(material, reference)
    least = -inf if material is None else material
    record = replace(room.record, celsius=[max(celsius, least) for celsius in room.record.celsius])
    whole = joined(record, mixed_at, max(now, mixed_at), shop.limit("cure_gap_bridged").value)
    clock = whole.clock(law, float(cure_speed(warmest, law)))
    after = clock.moment(life.value)
    if after is None:
        present = warmest if whole.present is None else whole.present
        left = seconds_until(life.value - clock.collected, present, law)
        after = (whole.end - whole.start).total_seconds() + left
    guessed = warmest if whole.holes or whole.present is None else None
    return PotLife(mixed_at + timedelta(seconds=int(after)), guessed)


def dry_film_of(coat: Spraying, coating: Coating) -> float:
    """Dry film of a coat [m]: of the wet film that was read, else of the coating's usual one, as it was thinned."""
    usual = 0.5 * (coating.numbers["wet_film_low"].value + coating.numbers["wet_film_high"].value)
    wet = usual if coat.wet_film is None else coat.wet_film
    if coat.thinning is None:
        return wet * coating.numbers["volume_solids_as_sprayed"].value
    return dry_film(wet, coating.numbers["volume_solids_as_sold"].value, coat.thinning)


def _next(job: Job, where: Position | None, cured: Cure | None, now: datetime, shop: Shop) -> NextCoat | None:
    coating = next_coating(job, where, shop)
    if coating is None:
        return None
    alike = sum(coat.coating == coating.id for coat in job.on_piece)
    named: tuple[str | None, int, int | None, int | None] = (
        (None, alike + 1, None, None)
        if where is None
        else (where.step.step, where.coat, where.step.least, where.step.most)
    )
    first = where is not None and where.coat == 1
    grits = None if where is None else where.step.sand_before if first else where.step.scuff
    if cured is None:
        return NextCoat(coating, *named, None, None, False, True, None, first, first, grits, None)
    found = overcoat(cured.coating, coating)
    stage = None if found.after is None else _stage(cured, _STAGE_OF[found.after])
    opens = None if stage is None else stage.at_latest
    full = _full_until(job, coating, now, shop)
    if opens is not None and full is not None:
        opens = max(opens, full)
    window = None if found.scuff in (ALWAYS, NO_SCUFF) else _stage(cured, SCUFF)
    closes = None if window is None else window.at
    earliest = now if opens is None else max(now, opens)
    each = where is not None and where.step.scuff_each
    always = found.scuff == ALWAYS or first or each
    scuff = always or (closes is not None and closes <= earliest)
    sure = stage is None or stage.at is not None or stage.reached is True
    never = stage is not None and opens is None and cured.present is not None
    return NextCoat(coating, *named, stage, opens, never, sure, closes, scuff, always, grits, found)


def _stage(cured: Cure, name: str) -> Stage | None:
    return next((stage for stage in cured.stages if stage.stage == name), None)


def _today(job: Job, coating: Coating, now: datetime, shop: Shop) -> int:
    """Coats of a coating on the piece today, by the shop's own day."""
    today = local_day(now, shop.zone)
    return sum(coat.coating == coating.id and local_day(coat.started_at, shop.zone) == today for coat in job.on_piece)


def _full_until(job: Job, coating: Coating, now: datetime, shop: Shop) -> datetime | None:
    """The next midnight, where today has had all the coats it may have."""
    most = coating.numbers.get("coats_a_day_max")
    if most is None or not _today(job, coating, now, shop) >= most.value:
        return None
    local = now.astimezone(ZoneInfo(shop.zone or "UTC"))
    midnight = datetime.combine(local.date() + timedelta(days=1), datetime.min.time(), local.tzinfo)
    return midnight.astimezone(now.tzinfo)


def _pot_of(job: Job, room: Room, now: datetime, shop: Shop) -> Pot | None:
    """The pot of the newest coat, of a test panel too."""
    if not job.coats:
        return None
    coat = job.coats[-1]
    coating = shop.coating(coat.coating)
    first = _first_of_pot(job, coat, coating)
    # nobody having said when: it was surely mixed by the first coat that could have come out of it
    mixed = coat.mixed_at or first.started_at
    found = pot_until(coating, mixed, room, now, shop, coat.material)
    if found is None or now - max(found.until, coat.ended_at) > _POT_TOLD:
        return None
    clean = found.until - timedelta(seconds=shop.limit("clean_gun_before").value)
    return Pot(coating, found.until, clean, coat.mixed_at is not None, found.guessed, first)


def _first_of_pot(job: Job, last: Coat, coating: Coating) -> Coat:
    """The first coat out of the pot of the last: mixed at the same time, or where nobody said that can be of it."""
    life = coating.numbers.get("pot_life")
    longest = timedelta(0) if life is None else timedelta(seconds=life.value)
    alike = [coat for coat in job.coats if (coat.coating, coat.mixed_at) == (last.coating, last.mixed_at)]
    said = last.mixed_at is not None
    return next(coat for coat in alike if said or last.started_at - coat.started_at <= longest)


def _warnings(
    job: Job, where: Position | None, following: NextCoat | None, now: datetime, shop: Shop
) -> list[JobWarning]:
    found: list[JobWarning] = []
    on_piece = job.on_piece
    if on_piece:
        last = on_piece[-1]
        coating = shop.coating(last.coating)
        passed = _gates(on_piece, last, coating, where, shop)
        found += [JobWarning(gate.kind, coating, gate.measured, gate.limit) for gate in passed]
        today, most = _today(job, coating, now, shop), coating.numbers.get("coats_a_day_max")
        if most is not None and not today <= most.value:
            found.append(JobWarning(COATS_TODAY, coating, today, most.value))
        if len(on_piece) > 1:
            under = shop.coating(on_piece[-2].coating)
            over = overcoat(under, coating)
            if over.standing == NO:
                found.append(JobWarning(NEVER_OVER, coating, over=over, under=under))
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
