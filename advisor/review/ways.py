"""What would have kept a coat from going wrong: each way run again through the judge and through the review."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import timedelta
from itertools import islice
from math import inf
from typing import Any

from advisor.catalog.coatings import Coating
from advisor.catalog.mechanisms import AIR
from advisor.film.film_map import Films, films_of
from advisor.film.mix import fastest, mix_of
from advisor.judge.conditions import Conditions, air_at_work
from advisor.judge.film_rules import case_of
from advisor.judge.finding import Level, worst_of
from advisor.judge.rules import RULES
from advisor.judge.verdict import State, Verdict, judge
from advisor.physics.air.moist_air import relative_humidity_at
from advisor.review.causes import COLDER, Cause, Causes, causes_of
from advisor.review.coat import SprayedCoat
from advisor.review.exposure import Exposures, exposures_of
from advisor.review.of_the_air import dust_had_it_been_sprayed
from advisor.review.of_the_coat import pot_of
from advisor.review.windows import windows_of
from advisor.series.air_track import AirTrack
from advisor.series.trace import Window
from advisor.shop.shop import Shop
from advisor.times import moment_at
from advisor.ways.changes import AT_THE_BENCH, DRY, WARM, least_changes

MOST = 3
HOUR, COAT = "hour", "coat"
COOL, COOL_AND_DAMP, HELD, WARM_PIECES, WARM_THROUGH, WARM_AND_DRY, DAMP = (
    "cool", "cool_and_damp",
    "held",
    "warm_pieces", "warm_through", "warm_and_dry", "damp",
)  # fmt: skip
_INSIDE, _INSIDE_DAMP = 1.0, 0.01  # [K], [fraction] inside a band
_FIELDS = {
    "wet_film": "wet_film", "gun_pressure": "pressure", "needle": "needle", "thinning": "thinning",
}  # fmt: skip
_NOT_MENDED_BY_AIR = ("dust_while_wet", "heat_while_wet")
_AFTERWARDS = ("lowest_while_drying", "lowest_while_curing", "lowest_over_dew_later")  # nor by air at the gun alone
_LATER = (*_AFTERWARDS, "film_at_packing")
_HELD_FOR = 36 * 3600.0  # [s]
_MADE_FIT = 3600.0  # [s] before the gun, by which a room is as it was made
_WARMED_AFTER = 3600.0  # [s] in the room
_SAFE_END = 1.5  # of a sheet's earliest time between coats
_STEP = timedelta(minutes=30)
_LOOKED = 48  # half hours looked at either way
_TRIED = 4  # hours run in full either way


@dataclass(frozen=True)
class Way:
    """One way, judged GO, with none of what spoilt the coat left.

    kind: another hour, the coat sprayed otherwise, or what is changed at the same hour. coat: as it would be sprayed,
    with what is in the pot. temperature [°C] and humidity [fraction] of the room, pieces as warm; None where it is the
    hour that changes, or the coat alone. mends: what of the coat itself changes, (exposure, value [SI]).
    """

    kind: str
    coat: SprayedCoat
    temperature: float | None = None
    relative_humidity: float | None = None
    state: State = State.GO
    mends: tuple[tuple[str, float], ...] = ()


def ways_out(exposed: Exposures, causes: Causes, below: Coating | None) -> tuple[Way, ...]:
    """At most three ways, another hour first, then the least change; none where nothing is supported."""
    coat, mends = _mended(exposed.seen.coat, causes.supported)
    search = _Search(exposed, causes, below, films_of(exposed.seen.shop), coat)
    by = search.spoilt_by
    ways: list[Way] = []
    if any(cause.mechanism.kind == AIR for cause in causes.supported):
        # when a piece will have warmed that was cold and that the log does not know, no reading says
        if coat.surface is None or "piece_over_dew" not in by:
            ways += search.hours()
        if by.isdisjoint(_NOT_MENDED_BY_AIR):
            ways += search.kept_warm()
            if by.isdisjoint(_AFTERWARDS) and len(ways) < MOST:
                ways += islice(search.changes(), MOST - len(ways))
    elif mends and search.verdict(search.conditions(coat), coat).state is State.GO:
        ways.append(Way(COAT, coat))
    return tuple(replace(way, mends=mends) for way in ways[:MOST])


def _mended(coat: SprayedCoat, found: tuple[Cause, ...]) -> tuple[SprayedCoat, tuple[tuple[str, float], ...]]:
    """The coat sprayed within its own limits, where that is part of what went wrong, and what was changed for it."""
    mends = []
    for cause in found:
        changed = _within(coat, cause)
        if changed is not None:
            coat, value = changed
            mends.append((cause.exposure, value))
    return coat, tuple(mends)


def _within(coat: SprayedCoat, cause: Cause) -> tuple[SprayedCoat, float] | None:
    """The coat with one thing of it brought to its limit, and that."""
    name, limit = cause.exposure, cause.limit
    if limit is None:
        return None
    if name in _FIELDS:
        changed: dict[str, Any] = {_FIELDS[name]: limit}
        return replace(coat, **changed), limit
    if name == "cup":
        return replace(coat, seconds=limit, cup=None), limit
    if name == "mix_age":
        return replace(coat, mixed_at=coat.sprayed), 0.0
    if name == "recoat_gap" and coat.below is not None and coat.below.sprayed is not None:
        later = coat.below.sprayed + timedelta(seconds=limit * _SAFE_END)
        return replace(coat, sprayed=later, ended=None), limit * _SAFE_END
    if name == "gap_not_scuffed":
        return replace(coat, sanded=True), limit
    return None


def _earliest(exposed: Exposures) -> float:
    """The first moment [s since 1970] at which the piece was there, warm, and ready for this coat."""
    coat, gap = exposed.seen.coat, exposed.by_name["recoat_gap"].limit
    known = [-inf]
    if coat.in_room_since is not None:
        known.append(coat.in_room_since.timestamp() + _WARMED_AFTER)
    if coat.below is not None and coat.below.sprayed is not None:
        known.append(coat.below.sprayed.timestamp() + (gap or 0.0) * _SAFE_END)
    return max(known)


@dataclass(frozen=True, eq=False)
class _Search:
    """What is sought for: what spoilt a coat, what lies below it, and the coat with what of it is mended."""

    exposed: Exposures
    causes: Causes
    below: Coating | None
    films: Films
    coat: SprayedCoat

    @property
    def spoilt_by(self) -> set[str]:
        """The exposures that are supported."""
        return {cause.exposure for cause in self.causes.supported}

    def conditions(self, coat: SprayedCoat) -> Conditions:
        """What was read as a coat would be sprayed."""
        seen = self.exposed.seen
        return seen.track.conditions(coat.sprayed.timestamp(), seen.shop, coat.surface)

    def verdict(self, conditions: Conditions, coat: SprayedCoat) -> Verdict:
        """What the judge says of a coat."""
        seen = self.exposed.seen
        return judge(conditions, seen.coating, seen.shop, coat.sprayed, pot_of(coat), films=self.films)

    def spoilt(self, coat: SprayedCoat, track: AirTrack | None = None) -> bool:
        """Whether what spoilt the coat would have done so then, too. track: other air than was logged."""
        seen = self.exposed.seen
        then = causes_of(
            exposures_of(coat, seen.coating, track or seen.track, seen.shop, self.below).by_name, seen.coating,
            seen.shop, self.causes.defect, coat.seen, coat.gun,
        )  # fmt: skip
        before = {cause.mechanism.id for cause in self.causes.supported}
        return any(cause.mechanism.id in before for cause in then.supported)

    def hours(self) -> Iterator[Way]:
        """The nearest hour after and the nearest before, as logged, in which it is a GO and nothing speaks against."""
        after = 1 if self.spoilt_by.isdisjoint(_NOT_MENDED_BY_AIR) else 2
        for side, wanted in ((1, after), (-1, 1)):
            moved = (self.on_the_half_hour(side * count) for count in range(1, _LOOKED))
            good = (
                coat for coat in islice(filter(self.quickly_fit, moved), _TRIED)
                if self.verdict(self.conditions(coat), coat).state is State.GO and not self.spoilt(coat)
            )  # fmt: skip
            yield from (Way(HOUR, coat) for coat in islice(good, wanted))

    def on_the_half_hour(self, steps: int) -> SprayedCoat:
        """The coat so many half hours on; what belonged to its own time is not known of it."""
        coat, seconds = self.coat, _STEP.total_seconds()
        at = moment_at((coat.sprayed.timestamp() // seconds + steps) * seconds)
        ended = None if coat.ended is None else at + (coat.ended - coat.sprayed)
        return replace(coat, sprayed=at, ended=ended, surface=None, mixed_at=None, below=None)

    def quickly_fit(self, coat: SprayedCoat) -> bool:
        """Whether nothing that is quickly said speaks against an hour: the rules without a film, then the dust."""
        seen = self.exposed.seen
        if coat.sprayed.timestamp() < _earliest(self.exposed):
            return False
        conditions = self.conditions(coat)
        if worst_of(rule(conditions, seen.coating, seen.shop) for rule in RULES) is not Level.OK:
            return False
        dust = next((each for each in self.causes.supported if each.exposure == "dust_while_wet"), None)
        if dust is None or dust.limit is None:
            return True
        windows = windows_of(coat, seen.coating, None if seen.film is None else seen.film.times, seen.shop)
        then = dust_had_it_been_sprayed(replace(seen, coat=coat, mattered=windows)).measured
        return then is not None and then <= dust.limit

    def kept_warm(self) -> Iterator[Way]:
        """The room kept heated after the gun, where it was the fall later that spoilt the coat: the log run again."""
        seen, coat = self.exposed.seen, self.coat
        sprayed_at = self.exposed.by_name["air_at_spraying"].measured
        if self.spoilt_by.isdisjoint(_LATER) or sprayed_at is None:
            return
        coldest = seen.coating.air_temperature.wait_below
        if coldest is not None and not sprayed_at >= coldest.value:
            return  # it was too cold for the gun already
        least, start = seen.coating.air_temperature.go_low.value + _INSIDE, coat.sprayed.timestamp()
        held = seen.track.held_at(least, Window(start, start + _HELD_FOR))
        conditions = replace(held.conditions(start, seen.shop, coat.surface), held=True)
        if self.verdict(conditions, coat).state is State.GO and not self.spoilt(coat, held):
            humidity = conditions.at_work("relative_humidity").value
            yield Way(HELD, _as_mixed(coat), least, humidity or 0.0)

    def changes(self) -> Iterator[Way]:
        """Ways at the same hour: what in the pot alone makes a GO, then the air made fit, each run again."""
        seen, coat = self.exposed.seen, _as_mixed(self.coat)
        conditions = self.conditions(coat)
        made_fit: dict[str, tuple[float, float, Conditions]] = {}
        for kind, air, humidity in _airs_made_fit(conditions, seen.coating, seen.shop):
            values = {"air_temperature": air, "relative_humidity": humidity, "surface_temperature": air}
            made_fit.setdefault(kind, (air, humidity, conditions.with_values(values)))  # of one kind the least
        self.films_ahead([conditions, *(then for *_, then in made_fit.values())])
        verdict = self.verdict(conditions, coat)
        if verdict.state is State.GO or verdict.cannot_tell:
            return
        if verdict.state is State.CHANGE:
            for change in least_changes(verdict, conditions, seen.shop, coat.sprayed, pot_of(coat), AT_THE_BENCH):
                mixed = replace(coat, thinner=change.pot.thinner, retarder=change.pot.retarder)
                if change.state is State.GO and not self.spoilt(mixed):
                    yield Way(change.kind, mixed, change.air_temperature, change.relative_humidity)
        wet = Window(coat.sprayed.timestamp() - _MADE_FIT, seen.windows.recoat.end)
        for kind, (air, humidity, then) in made_fit.items():
            there = seen.track.brought_to(air, humidity, wet)
            if self.verdict(then, coat).state is State.GO and not self.spoilt(replace(coat, surface=air), there):
                yield Way(kind, coat, air, humidity)

    def films_ahead(self, several: list[Conditions]) -> None:
        """What judging these will look up, computed in one batch."""
        seen, pot = self.exposed.seen, pot_of(self.coat)
        mix = mix_of(seen.coating, pot.thinner or fastest(seen.coating), pot.retarder)
        cases = [case for each in several if (case := case_of(each, seen.shop, pot, mix)) is not None]
        if cases:
            self.films.compute(cases)


def _as_mixed(coat: SprayedCoat) -> SprayedCoat:
    """The coat with what is taken to be in its pot."""
    return replace(coat, retarder=pot_of(coat).retarder)


def _airs_made_fit(conditions: Conditions, coating: Coating, shop: Shop) -> Iterator[tuple[str, float, float]]:
    """Room and pieces brought inside the coating's band, first with the moisture they hold, then dried as well."""
    known = air_at_work(conditions, shop)
    if known is None:
        return
    air, humidity = known
    warm, damp = coating.air_temperature, coating.relative_humidity
    low, high = warm.go_low.value + _INSIDE, warm.go_high.value - _INSIDE
    inside = (damp.go_low.value + _INSIDE_DAMP, damp.go_high.value - _INSIDE_DAMP)
    if air > high:
        yield COOL, high, _moved(air, humidity, high)
        yield COOL_AND_DAMP, high, max(inside[0], _moved(air, humidity, high))
        return
    piece = conditions.at_work("surface_temperature").value
    if piece is not None and piece < air - COLDER:
        yield WARM_PIECES, air, humidity
    least, middle = max(air, low), 0.5 * (max(air, low) + high)
    for kind, target in ((WARM, least), (WARM_THROUGH, middle), (WARM, high)):
        same = _moved(air, humidity, target)
        if target > air and same <= inside[1]:
            yield kind, target, max(same, inside[0])
    if humidity > inside[1] and air >= warm.go_low.value:
        yield DRY, air, inside[1]
    if _moved(air, humidity, middle) > inside[1]:
        yield WARM_AND_DRY, middle, inside[1]
    if humidity < inside[0]:
        yield DAMP, air, inside[0] + _INSIDE_DAMP


def _moved(air: float, humidity: float, target: float) -> float:
    """Humidity of the same moisture at another temperature, no more than saturated."""
    return min(1.0, float(relative_humidity_at(air, humidity, target)))
