"""A check asked: the air as typed, from a file or from the logbook, and the advice on it."""

from collections.abc import Callable
from contextlib import AbstractContextManager, nullcontext
from dataclasses import dataclass, replace
from datetime import datetime
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from advisor.catalog.coatings import coating_ids
from advisor.desk.typed import refuse_empty
from advisor.errors import refuse
from advisor.judge.conditions import AIR_QUANTITIES, OUTDOORS, Conditions, outdoor_place
from advisor.judge.film_rules import UNKNOWN_POT, Pot
from advisor.judge.plan import plan_for
from advisor.judge.verdict import EXIT_CANNOT_TELL, EXIT_GO, EXIT_WAIT, State
from advisor.logbook.daemon_lock import daemon_doubt
from advisor.logbook.store import logbook_path
from advisor.outlook.day_ahead import until_night
from advisor.outlook.outlook import Outlook
from advisor.shop.shop import Shop
from advisor.sources.conditions import typed_conditions, typed_value
from advisor.ways.advise import NOTHING_BESIDE, Advice, Beside, advise, ways_for, with_times
from advisor.ways.changes import AT_THE_BENCH

if TYPE_CHECKING:  # typed air needs no logbook, no file and no job: each is imported when it is asked for
    from advisor.desk.jobs import JobAsked
    from advisor.sources.air_source import AirSource
    from advisor.sources.file_air import Recorded


@dataclass(frozen=True, kw_only=True)
class CheckAsked:
    """What is asked, and what is said of the air; None where nobody said.

    air, surface, night [°C], rh [fraction], outdoors [°C, fraction]; piece_in, sprayed, sanded: how long ago [s];
    spray [s] of one coat, amount [m3] of ready mix; at: now, last, or an ISO time; mixed: when the pot was, as of a
    moment. full: the ways of a GO WITH CHANGES beyond those at the bench, and the times of a WAIT, are wanted too.
    """

    csv: Path | None = None
    at: str = "now"
    zone: str | None = None
    place: str | None = None
    air: float | None = None
    rh: float | None = None
    surface: float | None = None
    piece_in: float | None = None
    sprayed: float | None = None
    outdoors: tuple[float, float] | None = None
    night: float | None = None
    heated: bool = False
    coating: str | None = None
    pot: Pot = UNKNOWN_POT
    coats: int | None = None
    spray: float | None = None
    amount: float | None = None
    sanded: float | None = None
    matt: bool = False
    job: str | None = None
    tried: bool = False
    mixed: Callable[[datetime], datetime] | None = None
    full: bool = False

    @property
    def typed(self) -> bool:
        """Whether the air was typed."""
        return self.air is not None or self.rh is not None


@dataclass(frozen=True)
class Checked:
    """The answer: an advice for each coating, by the shop with its sensors' calibrations; of one named all of it."""

    asked: CheckAsked
    shop: Shop
    computed_at: datetime
    advices: tuple[Advice, ...]
    recorded: "Recorded | None"
    at_job: "JobAsked | None"

    @property
    def named(self) -> bool:
        """Whether one coating was asked about."""
        return self.asked.coating is not None or self.at_job is not None

    @property
    def exit_code(self) -> int:
        """0 if any coating may be sprayed, else 1 when any reason is known, else 3; of a job that of its next coat."""
        if self.at_job is not None:
            return self.at_job.answer(self.advices[0].verdict, self.shop).exit_code
        codes = {each.verdict.exit_code for each in self.advices}
        return next(code for code in (EXIT_GO, EXIT_WAIT, EXIT_CANNOT_TELL) if code in codes)


def check(asked: CheckAsked, shop: Shop, now: datetime) -> Checked:
    """Judge. Raises UsageError, FileError or LogbookError."""
    _refuse_mixed(asked)
    shop, as_of, conditions, recorded = _air(asked, shop, now)
    at_job = None if asked.job is None else _at_job(asked.job, asked, shop, as_of)
    one = asked.coating if at_job is None else at_job.coating.id
    alone = one is not None
    coatings = [shop.coating(name) for name in ((shop.coatings or coating_ids()) if one is None else (one,))]
    refuse(
        (
            not alone and asked.pot != UNKNOWN_POT,
            "--thinner, --retarder or --gun without --coating", "one coating", "name what is in the pot",
        ),
        (
            not alone and (asked.amount is not None or asked.sanded is not None or asked.matt),
            "--amount, --sanded or --matt without --coating", "one coating", "name what is sprayed",
        ),
    )  # fmt: skip
    conditions = _as_said(conditions, asked, shop, as_of)
    beside = _beside(recorded, asked, conditions, shop, as_of)
    advices = [
        advise(
            conditions, coating, shop, as_of, asked.pot,
            plan_for(coating, shop, asked.coats, asked.spray, asked.amount), beside, asked.matt,
        )
        for coating in coatings
    ]  # fmt: skip
    if alone:
        advices = [_whole(advices[0], beside, asked.full, shop, now)]
    return Checked(asked, shop, now, tuple(advices), recorded, at_job)


def _at_job(name: str, asked: CheckAsked, shop: Shop, now: datetime) -> "JobAsked":
    from advisor.desk.jobs import job_asked  # noqa: PLC0415 - only for a job

    return job_asked(name, asked.coating, asked.tried, asked.mixed, shop, now)


def _whole(advice: Advice, beside: Beside, full: bool, shop: Shop, now: datetime) -> Advice:
    """With the ways to a better verdict, and the drying times but for a WAIT."""
    state = advice.verdict.state
    at_the_bench = AT_THE_BENCH if state is State.CHANGE and not full else None
    ahead = None if state is State.GO else beside.ahead()
    whole = advice.with_ways(ways_for(advice, shop, ahead, now, at_the_bench))
    return with_times(whole, shop) if full or state is not State.WAIT else whole


def _refuse_mixed(asked: CheckAsked) -> None:
    if asked.job is None:
        for name, given in (("--tried", asked.tried), ("--mixed", asked.mixed is not None)):
            refuse((given, f"{name} without --job", f"{name} with the job it is about", "name the job"))
    refuse_empty("a name", zone=asked.zone, place=asked.place, coating=asked.coating, job=asked.job)
    refuse(
        (
            asked.csv is not None and asked.typed,
            "--csv together with --air or --rh", "one or the other", "leave one out",
        ),
        (
            asked.csv is None and asked.at != "now",
            "--at without --csv", "--at with a file", "typed values are judged as of now",
        ),
    )  # fmt: skip


def _air(asked: CheckAsked, shop: Shop, now: datetime) -> "tuple[Shop, datetime, Conditions, Recorded | None]":
    """The shop with its calibrations, the moment judged, its air, and the file it was read from."""
    ages = asked.piece_in, asked.sprayed
    if asked.csv is not None:
        from advisor.sources.file_air import judge_file  # noqa: PLC0415 - only for a file

        recorded = judge_file(asked.csv, asked.at, asked.zone, asked.place, shop, now, ages)
        return shop, recorded.as_of, recorded.conditions, recorded
    if asked.typed:
        said = (("air_temperature", asked.air), ("relative_humidity", asked.rh))
        typed = {quantity: value for quantity, value in said if value is not None}
        return shop, now, typed_conditions(typed, asked.place or shop.spray_place or "shop", shop, *ages), None
    shop, conditions = _logged(asked, shop, now)
    return shop, now, replace(conditions, piece_in_room=ages[0], since_solvent_spraying=ages[1]), None


def _logged(asked: CheckAsked, shop: Shop, now: datetime) -> tuple[Shop, Conditions]:
    """The present from the logbook, beside a running daemon or without one; with the sensors' calibrations."""
    path = logbook_path(shop.logbook)
    refuse((
        not shop.coatings and not path.exists(),
        "nothing to judge", "--air 24C --rh 62%, --csv FILE, or a logbook", "give one of them",
    ))  # fmt: skip
    doubt = daemon_doubt(path)
    from advisor.sources.log_air import log_air, present  # noqa: PLC0415 - not for typed air

    with log_air(shop) as air:
        return air.shop, present(air, now, asked.place or air.place(), doubt)


def _as_said(conditions: Conditions, asked: CheckAsked, shop: Shop, now: datetime) -> Conditions:
    """What was said of piece, air outdoors and night stands for the sensors'."""
    said = {(conditions.place, "surface_temperature"): asked.surface}
    if asked.outdoors is not None:
        said |= zip([(OUTDOORS, quantity) for quantity in AIR_QUANTITIES], asked.outdoors, strict=True)
    values = {key: typed_value(key[1], value, shop) for key, value in said.items() if value is not None}
    night: dict[str, Any] = (
        {} if asked.night is None else {"night_low": asked.night, "night_from": until_night(now, shop)}
    )
    return replace(conditions, values={**conditions.values, **values}, held=asked.heated, **night)


def _beside(
    recorded: "Recorded | None", asked: CheckAsked, conditions: Conditions, shop: Shop, now: datetime
) -> Beside:
    """Of the file, or of the logbook; nothing where values were typed."""
    place, outdoors = conditions.place, outdoor_place(conditions, shop)
    if recorded is None and (asked.typed or not logbook_path(shop.logbook).exists()):
        return NOTHING_BESIDE

    def source() -> "AbstractContextManager[AirSource]":
        from advisor.sources.log_air import log_air  # noqa: PLC0415 - not for typed air

        return log_air(shop, again=True) if recorded is None else nullcontext(recorded.air)

    def ahead(where: str) -> Outlook | None:
        with source() as air:
            return air.outlook(now, where) if where else None

    with source() as air:
        return Beside(air.dust(now, place), air.outlook(now, place), partial(ahead, outdoors))
