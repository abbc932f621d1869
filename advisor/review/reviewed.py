"""A coat reviewed: exposures, causes, the sibling beside it, and what would have avoided it."""

from dataclasses import dataclass, replace
from datetime import datetime

from advisor.catalog.coatings import Coating
from advisor.catalog.mechanisms import AIR
from advisor.review.causes import Causes, Outcome, Standing, beside, causes_of
from advisor.review.coat import SprayedCoat
from advisor.review.exposure import Exposures, exposures_of
from advisor.review.ways import Counterfactual, ways_out
from advisor.series.air_track import AirTrack
from advisor.shop.shop import Shop


@dataclass(frozen=True)
class Sibling:
    """The coat that did not fail. cleared: nothing of the air that is supported for the other stands for it; None:
    cannot be told, or the air had no part.
    """

    exposed: Exposures
    causes: Causes
    cleared: bool | None


@dataclass(frozen=True)
class Reviewed:
    """One coat read back."""

    exposed: Exposures
    causes: Causes
    sibling: Sibling | None = None
    ways: tuple[Counterfactual, ...] = ()

    @property
    def coat(self) -> SprayedCoat:
        """The coat."""
        return self.exposed.seen.coat

    @property
    def cannot_tell(self) -> bool:
        """Whether the decisive data are missing."""
        return self.causes.outcome is Outcome.CANNOT_TELL


def review(
    coat: SprayedCoat,
    coating: Coating,
    track: AirTrack,
    shop: Shop,
    defect: str | None = None,
    below: Coating | None = None,
    sibling: datetime | None = None,
    with_ways: bool = True,
) -> Reviewed:
    """Read a coat back. defect: an id of the defects' table. sibling: when a like coat was sprayed that held."""
    exposed = exposures_of(coat, coating, track, shop, below)
    causes = causes_of(exposed.by_name, coating, shop, defect, coat.seen, coat.gun)
    like = None if sibling is None else _sibling(sibling, exposed, causes, defect)
    if like is not None:
        causes = beside(causes, like.causes)
    return Reviewed(exposed, causes, like, ways_out(exposed, causes, below) if with_ways else ())


def _sibling(sprayed: datetime, exposed: Exposures, causes: Causes, defect: str | None) -> Sibling:
    """The same coat at another time: what belongs to its own time, like the age of its mix, is not known of it."""
    seen = exposed.seen
    coat = seen.coat
    ended = None if coat.ended is None else sprayed + (coat.ended - coat.sprayed)
    like = replace(
        coat, sprayed=sprayed, ended=ended, mixed_at=None, below=None, surface=None, wet_film=None, seconds=None,
        pressure=None, needle=None, thinning=None, material=None,
    )  # fmt: skip
    found = exposures_of(like, seen.coating, seen.track, seen.shop)
    then = causes_of(found.by_name, seen.coating, seen.shop, defect, like.seen, like.gun)
    standing = {cause.mechanism.id: cause.standing for cause in then.judged}
    there = {
        standing.get(cause.mechanism.id, Standing.AGAINST) for cause in causes.supported if cause.mechanism.kind == AIR
    }
    untold = not there or (Standing.CANNOT_TELL in there and Standing.SUPPORTED not in there)
    return Sibling(found, then, None if untold else Standing.SUPPORTED not in there)
