"""How far a coat has hardened, from the temperature of the room since it was sprayed, and when the rest will come."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from math import inf, isfinite

from advisor.catalog.coatings import Coating
from advisor.jobs.thermal_history import ThermalHistory, joined
from advisor.physics.paint.cure import TEMPERATURE_RANGE, CureLaw, cure_speed, seconds_until
from advisor.series.trace import Fault, Trace, Window
from advisor.shop.shop import Shop

# Stages and the number of the sheet that each follows, its safe end
STAGES = {
    "recoat": "recoat_from_high",
    "handle": "handle_high",
    "recoat_two_pack": "before_two_pack_clear",
    "sand": "sand_high",
    "sand_flat": "sand_flat",
    "rub_out": "rub_out_high",
    "full_cure": "full_cure_high",
}
SCUFF = "scuff_sand"  # from here on the next coat wants scuff-sanding first: a window that closes
_WHOLE_FILM = ("sand_flat", "rub_out", "full_cure")  # wait for the solvent of every coat, the others for the last one
NEVER_HARD, NO_CREDIT, GAP, BRIDGED, STANDS_STILL, UNMOVED = (
    "never_fully_hard", "no_cure", "gap", "gap_bridged", "stands_still", "unmoved",
)  # fmt: skip
UNMOVED_MARK = "stuck"  # the quality mark of a value that has not moved
_NEVER = 20 * 365.25 * 86_400.0  # [s] what lies further off never comes
_SURE = 1e-6  # [s] below the resolution of any clock


@dataclass(frozen=True)
class Stage:
    """One stage: the sheet's time and what of it is asked for here [s at the reference temperature].

    reached: None where a gap leaves it open. at: when it was or will be reached, None where it never comes or cannot
    be told; at_latest: the same with nothing counted for a gap.
    """

    stage: str
    from_sheet: float
    needed: float
    reached: bool | None
    at: datetime | None
    at_latest: datetime | None


@dataclass(frozen=True)
class Flag:
    """Something that a slower clock alone would hide.

    limit [°C] and lowest [°C] where it is about temperature; since: when it first did; seconds: for how long in all;
    count: gaps; reason: why the readings in a gap do not count, empty where there are none.
    """

    kind: str
    limit: float | None
    lowest: float | None
    since: datetime | None
    seconds: float
    count: int = 0
    reason: str = ""


@dataclass(frozen=True)
class Cure:
    """How far a coat is, as of one moment. collected: equivalent seconds at the reference, at least."""

    coating: Coating
    sprayed: datetime
    as_of: datetime
    present: float | None
    reference: float
    collected: float
    thickness_factor: float
    stages: tuple[Stage, ...]
    flags: tuple[Flag, ...]

    @property
    def gap(self) -> bool:
        """Whether a part of the record is missing that is too long to bridge."""
        return any(flag.kind == GAP for flag in self.flags)

    @property
    def cannot_tell(self) -> bool:
        """Whether it stays open what is reached, or nothing can be said of what is to come."""
        waiting = [stage for stage in self.stages if not stage.reached]
        return any(stage.reached is None for stage in waiting) or (bool(waiting) and self.present is None)


def cure(
    coating: Coating,
    room: Trace,
    sprayed: datetime,
    now: datetime,
    shop: Shop,
    coats: int | None = None,
) -> Cure:
    """The stages of a coat sprayed at `sprayed`, as of `now`; what is to come at the temperature of now.

    The sheet's time is asked for in hours at the reference temperature; a gap that is too long counts nothing, so what
    is reached is reached. room: the air temperature where the piece stands [°C]; its faults say why there is a gap.
    coats: how many, where a lacquer or shellac has more than usual.
    """
    whole = joined(room, sprayed, now, shop.limit("cure_gap_bridged").value)
    law, factor = law_of(coating, shop), thickness_factor(coating, coats, shop)
    stages = [
        _stage(name, number.value, number.value * (factor if name in _WHOLE_FILM else 1.0), whole, law)
        for name, key in STAGES.items()
        if (number := coating.numbers.get(key)) is not None
    ]
    until = coating.numbers.get("recoat_until")
    if until is not None and not coating.burns_in:
        stages.append(_scuff(until.value, whole, _closing_law(shop)))
    flags = [
        *_too_cold(coating, whole, stages),
        *_no_credit(law, coating, whole, stages),
        *_gaps(whole, room.faults, shop),
        *_unmoved(whole, room.faults),
    ]
    return Cure(
        coating, sprayed, now, whole.present, law.reference, whole.age(law).collected, factor,
        tuple(sorted(stages, key=_order)), tuple(flags),
    )  # fmt: skip


def law_of(coating: Coating, shop: Shop) -> CureLaw:
    """How a coat hardens: by reaction or coalescence with energies unkind both ways, by evaporation as vapour presses.

    Never faster than `earliest_of_sheet` allows; what dries by solvent release alone never faster than the sheet.
    """
    reference = shop.limit("reference_temperature").value
    floor = coating.numbers.get("no_cure_below")
    none_below = TEMPERATURE_RANGE[0] if floor is None else floor.value
    if coating.hardens_by == "evaporation":
        release = shop.limit("release_energy").value
        return CureLaw(reference, release, release, none_below, fastest=1.0)
    cold, warm = shop.limit("cure_energy_cold").value, shop.limit("cure_energy_warm").value
    return CureLaw(reference, cold, warm, none_below, fastest=1.0 / shop.limit("earliest_of_sheet").value)


def _closing_law(shop: Shop) -> CureLaw:
    """How a recoat window closes: by the clock, and sooner in warmth; cold is not trusted to keep it open."""
    warm = shop.limit("cure_energy_warm").value
    return CureLaw(
        shop.limit("reference_temperature").value, 0.0, warm, -inf, fastest=1.0 / shop.limit("earliest_of_sheet").value
    )


def thickness_factor(coating: Coating, coats: int | None, shop: Shop) -> float:
    """How many times longer the whole film holds its solvent: the square of its thickness over the usual one.

    1 where nobody said how many coats, where there are no more than usual, and where it does not harden by evaporation.
    """
    if coats is None or coating.hardens_by != "evaporation":
        return 1.0
    return max(1.0, coats / shop.limit("usual_coats").value) ** 2


def _stage(name: str, from_sheet: float, needed: float, whole: ThermalHistory, law: CureLaw) -> Stage:
    age = whole.age(law)
    after = age.moment(needed)
    if after is not None:
        moment = _after(whole.start, after)
        return Stage(name, from_sheet, needed, True, moment, moment)
    latest = None
    if whole.present is not None:
        latest = _in(whole, seconds_until(needed - age.collected, whole.present, law))
    reached = None if whole.age(law, law.fastest).collected >= needed - _SURE else False
    return Stage(name, from_sheet, needed, reached, None if whole.holes else latest, latest)


def _scuff(from_sheet: float, whole: ThermalHistory, law: CureLaw) -> Stage:
    """When the window closes, at the earliest: a gap counts as warm.

    In the cold that may be before it opens: then there is no coat without scuffing.
    """
    age = whole.age(law, law.fastest)
    after = age.moment(from_sheet)
    moment = None if after is None else _after(whole.start, after)
    if after is None:
        # nobody knows what is to come where the present is unknown: as soon as it can be
        pace = law.fastest if whole.present is None else float(cure_speed(whole.present, law))
        moment = _in(whole, (from_sheet - age.collected) / pace)
    return Stage(SCUFF, from_sheet, from_sheet, moment is not None and moment <= whole.end, moment, moment)


def _order(stage: Stage) -> tuple[float, float]:
    """By the clock; what never comes stands last."""
    return inf if stage.at_latest is None else stage.at_latest.timestamp(), stage.needed


def _in(whole: ThermalHistory, seconds: float) -> datetime | None:
    if not (isfinite(seconds) and seconds <= _NEVER):
        return None
    return _after(whole.start, (whole.end - whole.start).total_seconds() + seconds)


def _after(start: datetime, seconds: float) -> datetime:
    """To the millisecond, so that a sheet's hour comes out as that hour."""
    return start + timedelta(milliseconds=round(seconds * 1000.0))


def _too_cold(coating: Coating, whole: ThermalHistory, stages: Iterable[Stage]) -> list[Flag]:
    """Whether the room fell below what the coat needs to get hard at all, in its first hours or while it cured."""
    floor, first = coating.numbers.get("never_fully_hard_below"), coating.numbers.get("never_fully_hard_hours")
    if floor is None:
        return []
    part = whole.until(_hard_at(stages) if first is None else whole.start + timedelta(seconds=first.value))
    return _below(NEVER_HARD, floor.value, part)


def _no_credit(law: CureLaw, coating: Coating, whole: ThermalHistory, stages: Iterable[Stage]) -> list[Flag]:
    """Time that counted nothing, and whether the present does not count either."""
    if "no_cure_below" not in coating.numbers:
        return []
    flags = _below(NO_CREDIT, law.none_below, whole.until(_hard_at(stages)))
    waits = any(stage.reached is not True for stage in stages)
    if waits and whole.present is not None and whole.present < law.none_below:
        flags.append(Flag(STANDS_STILL, law.none_below, whole.present, whole.end, 0.0))
    return flags


def _hard_at(stages: Iterable[Stage]) -> datetime | None:
    return next((stage.at for stage in stages if stage.stage == "full_cure" and stage.reached), None)


def _below(kind: str, limit: float, part: ThermalHistory) -> list[Flag]:
    found = part.below(limit)
    if found is None:
        return []
    first, seconds, lowest = found
    return [Flag(kind, limit, lowest, part.start + timedelta(seconds=first), seconds)]


def _gaps(whole: ThermalHistory, faults: Sequence[Fault], shop: Shop) -> list[Flag]:
    start = whole.start.timestamp()
    reasons = [
        reason for at, reason, _ in faults if any(hole.start <= at - start <= hole.end for hole in whole.holes)
    ]  # fmt: skip
    bridged = [hole for hole in whole.bridged if hole.end - hole.start > shop.limit("fresh_for").value]
    return [*_gap(GAP, whole, whole.holes, reasons), *_gap(BRIDGED, whole, bridged, ())]


def _gap(kind: str, whole: ThermalHistory, holes: Sequence[Window], reasons: Sequence[str]) -> list[Flag]:
    if not holes:
        return []
    since = whole.start + timedelta(seconds=holes[0].start)
    common = max(sorted(set(reasons)), key=reasons.count, default="")
    return [Flag(kind, None, None, since, sum(hole.end - hole.start for hole in holes), len(holes), common)]


def _unmoved(whole: ThermalHistory, faults: Sequence[Fault]) -> list[Flag]:
    """Readings that count although they did not move: since when, and for how long."""
    start = whole.start.timestamp()
    after = (at - start for at, reason, _ in faults if reason == UNMOVED_MARK)
    held = [
        second
        for second in after
        if 0.0 <= second <= (whole.end - whole.start).total_seconds()
        and not any(hole.start < second < hole.end for hole in whole.holes)
    ]
    if not held:
        return []
    first = min(held)
    return [Flag(UNMOVED, None, None, whole.start + timedelta(seconds=first), max(held) - first, 1, UNMOVED_MARK)]
