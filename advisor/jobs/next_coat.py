"""May the next coat be sprayed now: clock, what goes over what, pot, air and the hand test in one answer.

Never yes by a clock alone: it says yes only where somebody tried the coat by hand and said so.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta

from advisor.bench.bench_gates import BUILD, COATS, OLD
from advisor.catalog.schedules import NO, PANEL
from advisor.jobs.following_coat import NEVER_OVER, NEXT_BUILD, NEXT_COATS, NEXT_NEVER, TOO_SOON, JobWarning, NextCoat
from advisor.jobs.job import Job
from advisor.jobs.job_clock import JobClock, PotLife
from advisor.shop.shop import Shop

EXIT_CODES = {True: 0, False: 1, None: 3}
_TOO_MUCH = (COATS, BUILD, NEXT_COATS, NEXT_BUILD)


@dataclass(frozen=True)
class AirSaid:
    """What the air says. stops: True for a WAIT with a known reason, None where it cannot tell; words: one sentence."""

    stops: bool | None
    words: str


@dataclass(frozen=True)
class Reason:
    """Why not, or not yet: a kind of next_coat_words.WHY, and what it names.

    at: a moment; measured and limit [s, °C or coats]; name: of a coating or a step; warning: the job's own. no: it says
    no, else nobody can tell.
    """

    kind: str
    at: datetime | None = None
    measured: float = 0.0
    limit: float = 0.0
    name: str = ""
    warning: JobWarning | None = None
    no: bool = True


@dataclass(frozen=True)
class NextCoatAnswer:
    """allowed: False where anything says no, None where something is not known or not tried, else True.

    from_: by the clock not before, None where that is not surely known or never comes. until: from then on it wants
    scuff-sanding; scuff: it does anyhow, or will by the time it may be sprayed; None where that cannot be told. why:
    the gravest first; none where it is allowed.
    """

    allowed: bool | None
    from_: datetime | None
    until: datetime | None
    scuff: bool | None
    why: tuple[Reason, ...]

    @property
    def exit_code(self) -> int:
        """0 allowed, 1 not, 3 cannot tell."""
        return EXIT_CODES[self.allowed]


def next_coat(
    clock: JobClock,
    shop: Shop,
    air: AirSaid | None = None,
    tried: bool = False,
    pot: PotLife | None = None,
    one_more: bool = False,
) -> NextCoatAnswer:
    """The answer for the coat that a job's clock has as the next one, as of the clock's moment.

    air: None where nobody asked it. tried: the coat below was tried by hand, of a bare piece the wood. pot: what is in
    the gun, None: the pot of the job's last coat if it is of the same coating. one_more: the coating was named, so one
    more coat is meant although every step has its least number.
    """
    following, job = clock.next, clock.job
    ended = _ended(clock, one_more)
    if following is None:
        return NextCoatAnswer(False if ended else None, None, None, None, (*ended, Reason("no_coating")))
    over = following.over
    closed = bool(ended) or (over is not None and over.standing == NO)
    heard = Reason("no_air", no=False) if air is None else Reason("air", name=air.words, no=air.stops is True)
    found = [
        *ended,
        *_warned(clock),
        *_too_much(clock, following, pot),
        *_not_logged(clock, following),
        *_below(clock, following),
        *_pot(clock, following, pot, shop),
        *_panel(job, following, shop),
        *([] if air is not None and air.stops is False else [heard]),
        *([] if tried else [Reason("untried", no=False)]),
    ]
    no, unknown = ([each for each in found if each.no is sure] for sure in (True, False))
    allowed = False if no else None if unknown else True
    return NextCoatAnswer(
        allowed,
        following.opens if following.sure and not closed else None,
        None if closed else following.closes,
        None if closed else _scuff(following),
        (*no, *([] if ended else unknown)),
    )


def _scuff(following: NextCoat) -> bool | None:
    """Unknown where the window may have closed by the time that nobody can tell."""
    waits = following.stage is not None and following.opens is None and not following.never
    return None if waits and following.closes is not None and not following.scuff else following.scuff


def _ended(clock: JobClock, one_more: bool) -> list[Reason]:
    """That no coat comes any more."""
    where = clock.position
    repeat = None if where is None else where.may_repeat
    if clock.job.finished_at is not None:
        return [Reason("done")]
    asked = one_more and repeat is not None and clock.next and clock.next.coating.family == repeat.coating
    if where is None or not where.complete or asked:
        return []
    return [Reason("complete") if repeat is None else Reason("complete_but", name=repeat.step)]


def _warned(clock: JobClock) -> list[Reason]:
    """One coating that never goes over another, on the piece already or next; a coat that came too soon.

    Where nobody can tell when the coat below it would have been ready, it may be soft still.
    """
    never = [each for kind in (NEVER_OVER, NEXT_NEVER) for each in clock.warnings if each.kind == kind]
    soon = [(each, each.until) for each in clock.warnings if each.kind == TOO_SOON and each.until is not None]
    hurried = [each for each, until in soon if clock.as_of < until]
    soft = [each for each, until in soon if each.opened is None and until <= clock.as_of]
    grave = [Reason("warning", warning=each) for each in (*never, *hurried)]
    return [*grave, *(Reason("warning", warning=each, no=False) for each in soft)]


def _too_much(clock: JobClock, following: NextCoat, pot: PotLife | None) -> list[Reason]:
    """Coats and build over the sheet's, a day that had its coats, a mix too old."""
    kinds = _TOO_MUCH if pot is not None else (*_TOO_MUCH, OLD)
    mine = [each for each in clock.warnings if each.kind in kinds and each.coating.id == following.coating.id]
    found = [Reason("warning", warning=each) for each in mine]
    life = following.coating.numbers.get("shelf_life_mixed_high")
    age = 0.0 if pot is None else (clock.as_of - pot.mixed_at).total_seconds()
    if life is not None and not age <= life.value:
        found.append(Reason("old", measured=age, limit=life.value))
    if following.day_full is not None and clock.as_of < following.day_full:
        most = following.coating.numbers["coats_a_day_max"].value
        found.append(Reason("day_full", following.day_full, limit=most, name=following.coating.name))
    return found


def _below(clock: JobClock, following: NextCoat) -> list[Reason]:
    """That the coat below is surely not ready, or that it is not known whether it is."""
    stage, cured = following.stage, clock.cured
    if stage is None or cured is None or stage.reached:
        return []
    if following.never:
        return [] if cured.present is None else [Reason("never", measured=cured.present)]
    if following.opens is None:
        return [Reason("room_unknown", limit=stage.from_sheet, no=False)]
    if stage.reached is None and not following.sure:
        return [Reason("gap", following.opens, limit=stage.from_sheet, no=False)]
    return [Reason("not_before" if following.sure else "not_before_at_the_latest", following.opens)]


def _pot(clock: JobClock, following: NextCoat, pot: PotLife | None, shop: Shop) -> list[Reason]:
    """A pot that is dead, or would be before the coat is on."""
    until = pot.until if pot is not None else None
    if pot is None and clock.pot is not None and clock.pot.coating.id == following.coating.id:
        until = clock.pot.until
    if until is None:
        return []
    if until <= clock.as_of:
        return [Reason("pot_dead", until)]
    start = clock.as_of if following.opens is None else max(clock.as_of, following.opens)
    dies = until < start + timedelta(seconds=shop.limit("session_spray").value)
    return [Reason("pot_dies", until)] if dies else []


def _panel(job: Job, following: NextCoat, shop: Shop) -> list[Reason]:
    """How the newest panel of that coating over the coat below came out, where it must be tried on one.

    A panel sprayed before the coating below was first on shows nothing of the two together.
    """
    if following.over is None or following.over.standing != PANEL:
        return []
    below = following.over.under
    under = next((coat for coat in job.coats if coat.coating == below), None)
    panels = {
        coat.id
        for coat in job.coats
        if coat.panel and coat.coating == following.coating.id and under and coat.started_at > under.started_at
    }
    # a panel is judged as a whole: a line on one defect alone says nothing of the rest
    seen = [each.good for each in job.observations if each.coat in panels and (each.defect is None or not each.good)]
    if not seen:
        return [Reason("no_panel", name=shop.coating(below).name, no=False)]
    return [] if seen[-1] else [Reason("bad_panel")]


def _not_logged(clock: JobClock, following: NextCoat) -> list[Reason]:
    """Coats that belong below it and are not in the record."""
    found = [
        Reason("not_logged", measured=each.coats, limit=each.least, name=each.step, no=False)
        for each in following.unlogged
    ]
    forgotten = clock.job.schedule is not None and clock.position is None
    return [*found, Reason("no_schedule", no=False)] if forgotten else found
