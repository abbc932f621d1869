"""A coat read back: which of a job's, or one as typed; what the air over it did, and what would have been a GO."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Any

from advisor.catalog.coatings import Coating
from advisor.desk.coat_fields import check_coat
from advisor.errors import UsageError, refuse
from advisor.jobs.job import Coat, Job, Observation
from advisor.review.coat import UNSEEN, Below, SprayedCoat, seen_at
from advisor.review.reviewed import Reviewed, review
from advisor.series.air_track import AirTrack
from advisor.shop.shop import Shop

_COLUMNS = {  # of a job's coat, and what a review calls them
    "thinner": "thinner", "thinning": "thinning", "retarder": "retarder", "mixed_at": "mixed_at", "cup": "cup",
    "cup_seconds": "seconds", "material": "material", "surface": "surface", "needle": "needle",
    "gun_pressure": "pressure", "wet_film": "wet_film",
}  # fmt: skip


@dataclass(frozen=True)
class Failed:
    """One coat to be read back, and the defect named for it."""

    coat: SprayedCoat
    defect: str | None


def read_back(
    wanted: Sequence[Failed], known: Mapping[str, Any], track: AirTrack, sibling: datetime | None, shop: Shop
) -> tuple[Reviewed, list[Reviewed]]:
    """Read coats back against the air over them; the one the text is about first, then all of them.

    That is the newest with a defect, else the newest. known: its fields that were said beside the log. sibling: when a
    like coat was sprayed that did not fail.
    """
    at = next((at for at, each in reversed([*enumerate(wanted)]) if each.defect is not None), len(wanted) - 1)
    wanted = [*wanted[:at], replace(wanted[at], coat=replace(wanted[at].coat, **known)), *wanted[at + 1 :]]
    found = [
        review(
            each.coat, shop.coating(each.coat.coating), track, shop, each.defect,
            None if each.coat.below is None else shop.coating(each.coat.below.coating), sibling, each is wanted[at],
        )
        for each in wanted
    ]  # fmt: skip
    return found[at], found


def coats_to_read(wanted: Sequence[Failed], sibling: datetime | None) -> list[SprayedCoat]:
    """The coats whose air is to be read, the sibling's too."""
    coats = [each.coat for each in wanted]
    return coats if sibling is None else [*coats, replace(coats[-1], sprayed=sibling, ended=None, below=None)]


def coat_as_said(
    coating: Coating, sprayed: datetime, said: Mapping[str, Any], below: Below | None, gun: str | None
) -> SprayedCoat:
    """A coat from the fields of a job's coat; below: the one under it. Raises UsageError for what does not fit."""
    ended = sprayed + timedelta(seconds=said.get("minutes", 0.0))
    check_coat({**said, "ended_at": ended}, coating)
    refuse((
        below is not None and below.sprayed is not None and below.sprayed >= sprayed,
        "--over was sprayed after the coat", "a time before --sprayed", "correct one of them",
    ))  # fmt: skip
    kept = {_COLUMNS[name]: value for name, value in said.items() if name in _COLUMNS}
    return SprayedCoat(
        coating=coating.id, sprayed=sprayed, ended=ended if "minutes" in said else None, below=below, gun=gun,
        sanded=None if said.get("sanded") is None else bool(said["sanded"]), **kept,
    )  # fmt: skip


def place_of_job(job: Job) -> str | None:
    """Where its newest coats were sprayed; None where nobody said."""
    return next((coat.place for coat in reversed(job.coats) if coat.place is not None), None)


def coats_of_job(job: Job, number: int | None = None, defect: str | None = None) -> list[Failed]:
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
        found.append(Failed(_sprayed(job, coat, before.get(coat.id), newest), named))
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
