"""`advisor review`: a coat that went wrong, read back against the air that was logged over it."""

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from advisor.advice.air_track import AirTrack
from advisor.advice.job import Coat, Job, Observation
from advisor.advice.verdict import EXIT_CANNOT_TELL
from advisor.catalog.coatings import Coating
from advisor.catalog.defects import find_defect
from advisor.catalog.units import parse_relative_humidity
from advisor.cli.job_typed import Typing, check_coat, typed_coat
from advisor.cli.jobs_kept import named_job
from advisor.cli.paper import print_wrapped
from advisor.cli.pot import pot_from
from advisor.cli.review_files import ReviewFiles, refuse_unfit, write_files
from advisor.cli.typed import past_moment, typed_temperature
from advisor.errors import UsageError
from advisor.logbook.job_log import JobLog
from advisor.physics import moist_air
from advisor.review.air_track import track_about
from advisor.review.coat import Below, SprayedCoat
from advisor.review.record import review_record
from advisor.review.reviewed import review
from advisor.review.sighting import UNSEEN, seen_at, sighting
from advisor.review.words import told
from advisor.shop.find import shop_from
from advisor.shop.shop import Shop
from advisor.sources.air_source import zone_of
from advisor.sources.file_air import FileAir
from advisor.sources.log_air import log_air

_COLUMNS = {  # of a job's coat, and what a review calls them
    "thinner": "thinner", "thinning": "thinning", "retarder": "retarder", "mixed_at": "mixed_at", "cup": "cup",
    "cup_seconds": "seconds", "material": "material", "surface": "surface", "needle": "needle",
    "gun_pressure": "pressure", "wet_film": "wet_film",
}  # fmt: skip


@dataclass(frozen=True)
class Beside:
    """What is known beside the log, typed: how it was first seen, what was read by hand, when the piece came in."""

    seen: str | None = None
    air: str | None = None
    rh: str | None = None
    in_room: str | None = None


@dataclass(frozen=True)
class AskedReview:
    """The command line of `advisor review`; typed: what was said of the coat, by the fields of a job's coat."""

    config: Path | None = None
    job: str | None = None
    coat: int | None = None
    csv: Path | None = None
    coating: str | None = None
    sprayed: str | None = None
    defect: str | None = None
    sibling: str | None = None
    over: str | None = None
    zone: str | None = None
    place: str | None = None
    gun: str | None = None
    typed: Mapping[str, str] = field(default_factory=dict)
    as_json: bool = False
    files: ReviewFiles = field(default_factory=ReviewFiles)
    beside: Beside = Beside()


@dataclass(frozen=True)
class Asked:
    """One coat to be read back, and the defect named for it."""

    coat: SprayedCoat
    defect: str | None


def run_review(asked: AskedReview) -> int:
    """Read back, print, and give the exit code: 0, or 3 where it cannot tell."""
    computed_at = datetime.now(UTC)
    shop = shop_from(asked.config)
    _refuse_unfit(asked)
    refuse_unfit(asked.files, asked.csv)
    zone = zone_of(asked.zone or shop.zone)
    seen = shop if shop.zone or zone is None else replace(shop, zone=zone.key)
    defect = None if asked.defect is None else find_defect(asked.defect).id
    sibling = None if asked.sibling is None else _moment("--sibling", asked.sibling, zone, computed_at, shop)
    known = _known(asked.beside, zone, computed_at, shop)
    if asked.csv is not None:
        wanted = [Asked(_typed(asked, seen, zone, computed_at), defect)]
        track = _from_file(asked, shop, zone, computed_at, _with(wanted, sibling))
    else:
        wanted, track, seen = _from_logbook(asked, seen, zone, computed_at, defect, sibling)
    told_of = _told(wanted)
    wanted = [replace(each, coat=replace(each.coat, **known)) if each is told_of else each for each in wanted]
    found = [
        review(
            each.coat, seen.coating(each.coat.coating), track, seen, each.defect, _below(each.coat, seen), sibling,
            each is _told(wanted),
        )
        for each in wanted
    ]  # fmt: skip
    main = found[wanted.index(_told(wanted))]
    write_files(asked.files, main, found, track.place, seen)
    if asked.as_json:
        print(json.dumps(review_record(found, seen, computed_at, track.place), ensure_ascii=False, allow_nan=False))
    else:
        print_wrapped(told(main, seen))
    return EXIT_CANNOT_TELL if main.cannot_tell else 0


def _known(beside: Beside, zone: ZoneInfo | None, now: datetime, shop: Shop) -> dict[str, Any]:
    """The fields of a coat that were typed beside the log. Raises UsageError."""
    known: dict[str, Any] = {}
    if beside.seen is not None:
        known["seen"] = sighting(beside.seen)
    if beside.air is not None:
        known["air"] = typed_temperature(beside.air, "--air", shop, moist_air.AIR_TEMPERATURE_RANGE)
    if beside.rh is not None:
        known["humidity"] = parse_relative_humidity(beside.rh, "--rh")
    if beside.in_room is not None:
        known["in_room_since"] = _moment("--in-room", beside.in_room, zone, now, shop)
    return known


def _told(wanted: Sequence[Asked]) -> Asked:
    """The coat that the text is about: the newest with a defect, else the newest."""
    return next((each for each in reversed(wanted) if each.defect is not None), wanted[-1])


def _refuse_unfit(asked: AskedReview) -> None:
    for name, form in (("coating", "ID"), ("sprayed", "2025-10-14T14:05Z")):
        if asked.job is not None and getattr(asked, name) is not None:
            raise UsageError(f"--{name} beside --job", "one of the two", "a job knows its coats")
        if asked.job is None and not getattr(asked, name):
            raise UsageError(f"--{name} is missing", f"--{name} {form}", "give it, or --job")
    if asked.job is not None and asked.csv is not None:
        raise UsageError("--csv beside --job", "one of the two", "a job lies in the logbook")
    if asked.job is not None and (asked.typed or asked.over is not None):
        raise UsageError("a coat's details beside --job", "those of the job", "advisor job edit corrects them")
    if asked.coat is not None and asked.job is None:
        raise UsageError("--coat without --job", "both", "name the job")


def _moment(name: str, text: str, zone: ZoneInfo | None, now: datetime, shop: Shop) -> datetime:
    return past_moment(name, text, zone, now + timedelta(seconds=shop.limit("clock_tolerance").value))


def _typed(asked: AskedReview, shop: Shop, zone: ZoneInfo | None, now: datetime) -> SprayedCoat:
    """The coat as typed. Raises UsageError for what does not fit its coating."""
    coating = shop.coating(asked.coating or "")
    sprayed = _moment("--sprayed", asked.sprayed or "", zone, now, shop)
    said = typed_coat(asked.typed, Typing(shop, now, "--"))
    minutes = said.pop("minutes", None)
    ended = sprayed + timedelta(seconds=float(minutes)) if isinstance(minutes, int | float) else None
    check_coat({**said, "ended_at": ended or sprayed}, coating)
    sanded = said.get("sanded")
    under = None
    if asked.over is not None:
        name, _, when = asked.over.strip().partition(" ")
        at = _moment("--over", when.strip(), zone, now, shop) if when.strip() else None
        under = Below(coating=shop.coating(name).id, sprayed=at)
        if at is not None and at >= sprayed:
            raise UsageError("--over was sprayed after the coat", "a time before --sprayed", "correct one of them")
    kept = {_COLUMNS[name]: value for name, value in said.items() if name in _COLUMNS}
    return SprayedCoat(
        coating=coating.id, sprayed=sprayed, ended=ended, below=under, gun=pot_from(None, None, asked.gun).gun,
        sanded=None if sanded is None else bool(sanded), **kept,  # type: ignore[arg-type]
    )  # fmt: skip


def _with(wanted: Sequence[Asked], sibling: datetime | None) -> list[SprayedCoat]:
    """The coats whose air is to be read, the sibling's too."""
    coats = [each.coat for each in wanted]
    return coats if sibling is None else [*coats, replace(coats[-1], sprayed=sibling, ended=None, below=None)]


def _below(coat: SprayedCoat, shop: Shop) -> Coating | None:
    return None if coat.below is None else shop.coating(coat.below.coating)


def _from_file(
    asked: AskedReview, shop: Shop, zone: ZoneInfo | None, now: datetime, coats: Sequence[SprayedCoat]
) -> AirTrack:  # fmt: skip
    air = FileAir(asked.csv or Path(), shop, zone)
    return track_about(air, air.place(asked.place), coats, now)


def _from_logbook(
    asked: AskedReview, shop: Shop, zone: ZoneInfo | None, now: datetime, defect: str | None, sibling: datetime | None
) -> tuple[list[Asked], AirTrack, Shop]:
    with log_air(shop) as air:
        if asked.job is None:
            wanted, where = [Asked(_typed(asked, shop, zone, now), defect)], None
        else:
            job = named_job(JobLog(air.air_log.connection).jobs(), asked.job)
            wanted, where = _of_job(job, asked.coat, defect), place_of_job(job)
        track = track_about(air, air.place(asked.place, where), _with(wanted, sibling), now)
    return wanted, track, air.shop


def place_of_job(job: Job) -> str | None:
    """Where its newest coats were sprayed; None where nobody said."""
    return next((coat.place for coat in reversed(job.coats) if coat.place is not None), None)


def coats_of_job(job: Job) -> list[Asked]:
    """Every coat on the piece with the defect seen on it; none of a job without one."""
    return _of_job(job, None, None) if job.on_piece else []


def _of_job(job: Job, number: int | None, defect: str | None) -> list[Asked]:
    """The coats of a job, each with the defect seen on it; one alone where its number is asked for.

    A defect asked for is that of the newest coat it was seen on, else of the newest coat.
    """
    coats = job.on_piece or job.coats
    picked = [coat for coat in coats if number in (None, coat.number)]
    if not picked:
        known = ", ".join(str(coat.number) for coat in coats)
        raise UsageError(f"no such coat of job {job.id}", known or "a coat", "advisor job coat keeps one")
    before = dict(zip((coat.id for coat in coats[1:]), coats, strict=False))
    saw = {coat.id: _seen_on(job, coat, coat is coats[-1]) for coat in picked}
    if defect is not None:
        saw = {number: tuple(each for each in seen if each.defect == defect) for number, seen in saw.items()}
        target = next((coat for coat in reversed(picked) if saw[coat.id]), picked[-1])
        saw = {coat.id: saw[coat.id] if coat is target else () for coat in picked}
    found = []
    for coat in picked:
        newest = saw[coat.id][-1] if saw[coat.id] else None
        named = newest.defect if newest else defect if defect and coat is target else None
        found.append(Asked(_sprayed(job, coat, before.get(coat.id), newest), named))
    return found


def _seen_on(job: Job, coat: Coat, newest: bool) -> tuple[Observation, ...]:
    """Defects seen on a coat, the newest last; what was seen on the piece as a whole is seen on its newest coat."""
    return tuple(
        saw
        for saw in job.observations
        if not saw.good and saw.defect is not None and (saw.coat == coat.id or (saw.coat is None and newest))
    )


def _sprayed(job: Job, coat: Coat, before: Coat | None, saw: Observation | None) -> SprayedCoat:
    """A job's coat as the review takes it, with when and where its defect was seen."""
    said = {ours: getattr(coat, theirs) for theirs, ours in _COLUMNS.items()}
    return SprayedCoat(
        coating=coat.coating, sprayed=coat.started_at, ended=coat.ended_at, name=f"{job.piece}, coat {coat.number}",
        below=None if before is None else Below(coating=before.coating, sprayed=before.ended_at),
        sanded=None if coat.sanded is None else coat.sanded > 0,
        seen=UNSEEN if saw is None else seen_at((saw.at - coat.ended_at).total_seconds(), saw.spot), **said,
    )  # fmt: skip
