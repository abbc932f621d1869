"""A coat that was sprayed before the coat below it was ready, or over one that it never goes over; as of then.

The clocks of a job: the next coat from when to when, scuff or not, the pot, mask and fan, and how far it cured.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from math import inf

import numpy as np

from advisor.catalog.coatings import Coating
from advisor.catalog.schedules import NO
from advisor.jobs.cure import Cure, cure
from advisor.jobs.following_coat import (
    NEVER_OVER,
    TOO_SOON,
    UNSURE_WAIT,
    JobWarning,
    NextCoat,
    following_coat,
    waits_for,
    warnings_of,
)
from advisor.jobs.job import Coat, Job, Position, position
from advisor.jobs.thermal_history import joined
from advisor.judge.plan import after_coat
from advisor.physics.paint.cure import CureLaw, cure_speed, seconds_until
from advisor.series.trace import Trace
from advisor.shop.shop import Shop


def below(job: Job, coat: Coat) -> tuple[Coat, ...]:
    """The coats that were on the piece when that one was sprayed, in their order."""
    return tuple(each for each in job.on_piece if (each.started_at, each.number) < (coat.started_at, coat.number))


def above(job: Job, coat: Coat) -> Coat | None:
    """The coat that was sprayed over that one, None where it is the newest."""
    later = (each for each in job.on_piece if (each.started_at, each.number) > (coat.started_at, coat.number))
    return next(later, None)


def hurried(job: Job, coat: Coat, room: Trace, now: datetime, shop: Shop) -> JobWarning | None:
    """What was wrong with spraying that coat when it was; None for a coat in time, the first one, and a test panel.

    By the clock of the coat below as of the coat's start: TOO_SOON where its stage was not reached however warm the
    stretches were that nobody read, UNSURE_WAIT where that hangs on them. measured: what it waited, limit: what was
    asked for [s at the reference temperature]. Raises CatalogError for a coating the shop no longer knows.
    """
    under_it = below(job, coat)
    if coat.panel or not under_it:
        return None
    last = under_it[-1]
    under, over = shop.coating(last.coating), shop.coating(coat.coating)
    then = max(coat.started_at, last.ended_at)
    cured = _cured(last, under_it, room, then, shop)
    found, stage = waits_for(cured, over)
    if found.standing == NO:
        return JobWarning(NEVER_OVER, over, over=found, under=under)
    if stage is None or stage.reached:
        return None
    waited = (then - last.ended_at).total_seconds()
    kind = UNSURE_WAIT if stage.reached is None else TOO_SOON
    said = JobWarning(kind, over, waited, stage.needed, found, under, known=not (cured.gap or cured.present is None))
    if kind == UNSURE_WAIT:
        return said
    _, stage_now = waits_for(_cured(last, under_it, room, max(now, then), shop), over)
    opened = None if stage_now is None else stage_now.at_latest
    until = coat.ended_at + timedelta(seconds=shop.limit("too_soon_left").value)
    return replace(said, opened=opened, until=until if opened is None else max(until, opened))


_POT_TOLD = timedelta(days=1)  # after which nobody asks for a pot any more


@dataclass(frozen=True)
class PotLife:
    """A pot mixed for a coat. until: when it dies, None where it does not; guessed: the temperature taken where the
    room's is not known [°C], None where it is.
    """

    mixed_at: datetime
    until: datetime | None
    guessed: float | None = None


@dataclass(frozen=True)
class PotClock:
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
class JobClock:
    """All clocks of a job as of a moment; None where there is no coat, no pot, nothing to come.

    cured: of the newest coat on the piece. fan_until, mask_until: fan on, and nobody in without a mask, for at least so
    long: a minimum and never a clearance.
    """

    job: Job
    as_of: datetime
    position: Position | None
    last: Coat | None
    next: NextCoat | None
    cured: Cure | None
    pot: PotClock | None
    fan_until: datetime | None
    mask_until: datetime | None
    warnings: tuple[JobWarning, ...]

    @property
    def soonest(self) -> datetime | None:
        """The next moment at which something wants to be done, None where nothing is known to come."""
        to_come = [self.fan_until, self.mask_until, *(() if self.pot is None else (self.pot.clean_by, self.pot.until))]
        if self.next is not None:
            to_come += [self.next.opens, self.next.closes]
        if self.cured is not None:
            to_come += [stage.at_latest for stage in self.cured.stages]
        return min((moment for moment in to_come if moment is not None and moment >= self.as_of), default=None)


def job_clock(job: Job, room: Trace, now: datetime, shop: Shop, asked: Coating | None = None) -> JobClock:
    """The clocks of a job as of now, by the logged temperature of the room.

    asked: what the next coat is of, None: of the next step. A coat that was sprayed too soon moves the next one until
    it may be looked at. Raises CatalogError for a coating the shop no longer knows.
    """
    on_piece, schedule = job.on_piece, job.known_schedule
    where = None if schedule is None else position(schedule, on_piece)
    last = on_piece[-1] if on_piece else None
    cured = None if last is None else _cured(last, on_piece, room, max(now, last.ended_at), shop)
    following = following_coat(job, where, cured, now, shop, asked)
    too_soon = None if last is None else hurried(job, last, room, now, shop)
    if following is not None and too_soon is not None and too_soon.until is not None and following.opens is not None:
        opens = max(following.opens, too_soon.until)
        shut = following.closes is not None and following.closes <= opens
        following = replace(following, opens=opens, scuff=following.scuff or shut)
    fan, mask = _after_the_coats(job, shop)
    return JobClock(
        job, now, where, last, following, cured, _pot_of(job, room, now, shop), fan, mask,
        (*(() if too_soon is None else (too_soon,)), *warnings_of(job, where, following, now, shop)),
    )  # fmt: skip


def _cured(coat: Coat, on_piece: Sequence[Coat], room: Trace, as_of: datetime, shop: Shop) -> Cure:
    """How far the newest of the coats on a piece is."""
    coats = sum(each.coating == coat.coating for each in on_piece)
    return cure(shop.coating(coat.coating), room, coat.ended_at, as_of, shop, coats)


def _after_the_coats(job: Job, shop: Shop) -> tuple[datetime | None, datetime | None]:
    """Until when fan and mask stay at the least, of every coat and panel, as before it was sprayed."""
    each = [(coat.ended_at, after_coat(shop.coating(coat.coating), shop)) for coat in job.coats]
    fan, mask = (
        max((ended + timedelta(seconds=round(seconds)) for ended, seconds in ends), default=None)
        for ends in ([(ended, after.fan) for ended, after in each], [(ended, after.mask) for ended, after in each])
    )
    return fan, mask


def pot_until(
    coating: Coating, mixed_at: datetime, room: Trace, now: datetime, shop: Shop, material: float | None = None
) -> PotLife:
    """When a pot dies, if it does.

    By equivalent age at the room's temperature, unkind both ways as at the mixing bench; a material [°C] warmer than
    the room counts as warm all along. Where the room is not known, it counts as at the reference temperature or as the
    material was read, the warmer of the two; where that was not read, as warm as material is ever warmed.
    """
    life = coating.numbers.get("pot_life")
    if life is None:
        return PotLife(mixed_at, None)
    reference = shop.limit("reference_temperature").value
    law = CureLaw(reference, shop.limit("cure_energy_warm").value, shop.limit("cure_energy_cold").value, -inf)
    warmest = shop.limit("warmest_material").value if material is None else max(material, reference)
    least = -inf if material is None else material
    record = replace(room, values=np.maximum(room.values, least))
    whole = joined(record, mixed_at, max(now, mixed_at), shop.limit("cure_gap_bridged").value)
    age = whole.age(law, float(cure_speed(warmest, law)))
    after = age.moment(life.value)
    if after is None:
        present = warmest if whole.present is None else whole.present
        left = seconds_until(life.value - age.collected, present, law)
        after = (whole.end - whole.start).total_seconds() + left
    guessed = warmest if whole.holes or whole.present is None else None
    return PotLife(mixed_at, mixed_at + timedelta(seconds=int(after)), guessed)


def _pot_of(job: Job, room: Trace, now: datetime, shop: Shop) -> PotClock | None:
    """The pot of the newest coat, of a test panel too."""
    if not job.coats:
        return None
    coat = job.coats[-1]
    coating = shop.coating(coat.coating)
    first = _first_of_pot(job, coat, coating)
    # nobody having said when: it was surely mixed by the first coat that could have come out of it
    mixed = coat.mixed_at or first.started_at
    found = pot_until(coating, mixed, room, now, shop, coat.material)
    if found.until is None or now - max(found.until, coat.ended_at) > _POT_TOLD:
        return None
    clean = found.until - timedelta(seconds=shop.limit("clean_gun_before").value)
    return PotClock(coating, found.until, clean, coat.mixed_at is not None, found.guessed, first)


def _first_of_pot(job: Job, last: Coat, coating: Coating) -> Coat:
    """The first coat out of the pot of the last: mixed at the same time, or where nobody said that can be of it."""
    life = coating.numbers.get("pot_life")
    longest = timedelta(0) if life is None else timedelta(seconds=life.value)
    alike = [coat for coat in job.coats if (coat.coating, coat.mixed_at) == (last.coating, last.mixed_at)]
    said = last.mixed_at is not None
    return next(coat for coat in alike if said or last.started_at - coat.started_at <= longest)
