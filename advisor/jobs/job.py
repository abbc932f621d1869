"""A job and what was done to it: coats, what was seen, rework; and where in its schedule it stands."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from advisor.catalog.coatings import Coating
from advisor.catalog.schedules import Schedule, Step, schedules

CARRIED = ("thinner", "thinning", "retarder", "hardener", "needle", "gun_pressure", "place")  # from coat to coat
Value = str | int | float | bool | datetime | None  # of a field


@dataclass(frozen=True, kw_only=True)
class Spraying:
    """One coat as it was sprayed; what nobody said is None.

    step: of the schedule, None outside it. thinner: speed (hot, medium, slow). thinning: thinner by volume of paint,
    retarder: of all solvent in the ready mix [fraction]. hardener [m3]. mixed_at: hardener or solvent went in. cup: its
    id, cup_seconds [s] at material, surface: the piece [°C]. needle, wet_film [m]. gun_pressure [Pa]. sanded: grit the
    piece was sanded with before, 0 for not at all. panel: a test panel, not the piece. place: where it was sprayed.
    """

    coating: str
    started_at: datetime
    ended_at: datetime
    step: str | None = None
    thinner: str | None = None
    thinning: float | None = None
    retarder: float | None = None
    hardener: float | None = None
    mixed_at: datetime | None = None
    cup: str | None = None
    cup_seconds: float | None = None
    material: float | None = None
    surface: float | None = None
    needle: float | None = None
    gun_pressure: float | None = None
    wet_film: float | None = None
    sanded: int | None = None
    panel: bool = False
    place: str | None = None
    note: str = ""


@dataclass(frozen=True, kw_only=True)
class Coat(Spraying):
    """A coat in the logbook; number: counted within its job, test panels too."""

    id: int
    job: int
    number: int


@dataclass(frozen=True)
class Observation:
    """What was seen on a piece, at [UTC].

    coat: the id of the coat it is about, None for the piece as a whole. defect: its id, None where none is named. good:
    looked at, and nothing wrong, or nothing of that defect. severity: 1 slight to 3 spoilt, None where nobody said.
    spot: where on the piece. photo: a file's path.
    """

    id: int
    job: int
    coat: int | None
    at: datetime
    defect: str | None
    good: bool
    severity: int | None
    spot: str
    photo: str | None
    text: str


@dataclass(frozen=True)
class Rework:
    """What was done to a piece besides spraying, like `sanded back`."""

    id: int
    job: int
    at: datetime
    what: str


@dataclass(frozen=True)
class Job:
    """A job with all that was kept of it and not taken back; coats by their start. schedule: its id, None without."""

    id: int
    piece: str
    schedule: str | None
    made_at: datetime
    finished_at: datetime | None
    note: str
    coats: tuple[Coat, ...] = ()
    observations: tuple[Observation, ...] = ()
    reworks: tuple[Rework, ...] = ()

    @property
    def known_schedule(self) -> Schedule | None:
        """Its schedule; None where it has none, or one that is known no more."""
        return None if self.schedule is None else schedules().get(self.schedule)

    @property
    def on_piece(self) -> tuple[Coat, ...]:
        """The coats on the piece itself, test panels left out."""
        return tuple(coat for coat in self.coats if not coat.panel)

    def coat(self, number: int) -> Coat | None:
        """The coat of that number."""
        return next((coat for coat in self.coats if coat.number == number), None)


@dataclass(frozen=True)
class HistoryLine:
    """One line of a history: what was done to which field of which row; before and after as the records have them."""

    entry: int
    at: datetime
    job: int
    kind: str
    of: str
    row: int
    field: str | None
    before: Value
    after: Value
    undoes: int | None


@dataclass(frozen=True)
class Position:
    """Where a job stands in its schedule: the step of the next coat, and which one of that step it is.

    complete: every step has its least number of coats; then the next coat is one more of the last step. may_repeat: the
    step before, where one more of it is as usual as going on.
    """

    step: Step
    coat: int
    complete: bool
    may_repeat: Step | None = None


def position(schedule: Schedule, coats: Iterable[Coat]) -> Position:
    """The next step and coat after these, test panels and coats of no step left out.

    The furthest step that was begun counts: nobody goes back to the sealer once colour is on. It goes on to the next
    step as soon as a step has its least number of coats.
    """
    done = [coat.step for coat in coats if not coat.panel]
    counts = [done.count(step.step) for step in schedule.steps]
    at = max((index for index, count in enumerate(counts) if count), default=0)
    step, count = schedule.steps[at], counts[at]
    if count < step.least:
        return Position(step, count + 1, False)
    again = step if count < step.most else None
    if at + 1 < len(schedule.steps):
        return Position(schedule.steps[at + 1], 1, False, again)
    return Position(step, count + 1, True, again)


def step_for(schedule: Schedule | None, coating: Coating, coats: Sequence[Coat]) -> str | None:
    """The step that a coat of this coating belongs to after these coats; None outside the schedule."""
    if schedule is None:
        return None
    following = position(schedule, coats)
    if following.step.coating == coating.family:
        return following.step.step
    order = [step.step for step in schedule.steps]
    begun = [order.index(coat.step) for coat in coats if not coat.panel and coat.step in order]
    furthest = max(begun, default=0)
    fitting = [step.step for step in schedule.steps[furthest:] if step.coating == coating.family]
    return fitting[0] if fitting else None


def last_of(coating: str, coats: Sequence[Coat]) -> Coat | None:
    """The newest coat of that coating."""
    return next((coat for coat in reversed(coats) if coat.coating == coating), None)


def still_mixed(before: Coat, coating: Coating, start: datetime) -> datetime | None:
    """When the pot of the coat before was mixed, if it can be the one in the gun now; None where that is not known.

    A pot that the sheet's pot life gives up was mixed anew since; what does not die by the hour is taken as the same.
    """
    life = coating.numbers.get("pot_life")
    if before.mixed_at is None or (life is not None and start - before.mixed_at > timedelta(seconds=life.value)):
        return None
    return before.mixed_at if before.mixed_at <= start else None
