"""What a job's record passes, or its next coat would: coats, build, wet film, age of the mix, one coat over another."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from advisor.advice.bench_gates import BUILD, COATS, Gate
from advisor.advice.build import Layer, build_gates
from advisor.advice.following_coat import NextCoat, coats_today
from advisor.advice.job import Coat, Job, Position, Spraying
from advisor.advice.overcoat import Overcoat
from advisor.catalog.coatings import Coating
from advisor.catalog.overcoats import NO, PANEL
from advisor.physics.film_build import dry_film
from advisor.shop.shop import Shop

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
