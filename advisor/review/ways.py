"""What would have kept a coat from going wrong: each way run again through the judge and through the review."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import timedelta
from math import inf
from typing import Any

from advisor.catalog.coatings import Coating
from advisor.catalog.mechanisms import AIR
from advisor.film.film_map import Films
from advisor.film.mix import fastest, mix_of
from advisor.judge.conditions import Conditions, air_at_work, humidity_capped
from advisor.judge.film_rules import Pot, case_of
from advisor.judge.finding import Level
from advisor.judge.rules import RULES
from advisor.judge.verdict import State, judge
from advisor.physics.air.moist_air import relative_humidity_at
from advisor.review.causes import COLDER, Cause, Causes, causes_of
from advisor.review.coat import SprayedCoat
from advisor.review.exposure import Exposures, exposures_of
from advisor.review.of_the_air import dust_had_it_been_sprayed
from advisor.review.of_the_coat import pot_of
from advisor.review.windows import windows_of
from advisor.series.trace import Window
from advisor.shop.shop import Shop
from advisor.times import moment_at
from advisor.ways.changes import AT_THE_BENCH, DRY, WARM, Change, least_changes

MOST = 3
HOUR, BENCH, COAT = "hour", "change", "coat"
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
class Air:
    """Air or pot changed for the same hour: temperature [°C] and humidity [fraction] of the room, pieces as warm."""

    kind: str
    temperature: float
    relative_humidity: float
    pot: Pot


@dataclass(frozen=True)
class Way:
    """One way, judged GO, with none of what spoilt the coat left.

    kind: another hour, a change to air or pot at the same hour, or the coat sprayed otherwise. coat: as it would be
    sprayed. air: what is changed, None for the others. mends: what of the coat itself changes, (exposure, value [SI]).
    """

    kind: str
    state: State
    coat: SprayedCoat
    air: Air | None = None
    mends: tuple[tuple[str, float], ...] = ()


def ways_out(exposed: Exposures, causes: Causes, below: Coating | None) -> tuple[Way, ...]:
    """At most three ways, another hour first, then the least change; none where nothing is supported."""
    found = causes.supported
    (coat, mends), films = _mended(exposed.seen.coat, found), Films(exposed.seen.shop)
    if any(cause.mechanism.kind == AIR for cause in found):
        ways = _hours(exposed, causes, coat, below, films) if _hours_help(coat, found) else []
        if not any(cause.exposure in _NOT_MENDED_BY_AIR for cause in found):
            ways += _held(exposed, causes, coat, below, films)
            if all(cause.exposure not in _AFTERWARDS for cause in found):
                ways += _changes(exposed, causes, coat, below, films, MOST - len(ways))
        return tuple(replace(way, mends=mends) for way in ways[:MOST])
    if mends and _state(exposed, coat, films) is State.GO:
        return (Way(COAT, State.GO, coat, mends=mends),)
    return ()


def _hours_help(coat: SprayedCoat, found: tuple[Cause, ...]) -> bool:
    """Not where a piece was cold that the log does not know: when it will have warmed, no reading says."""
    return coat.surface is None or all(cause.exposure != "piece_over_dew" for cause in found)


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


def _state(exposed: Exposures, coat: SprayedCoat, films: Films) -> State:
    seen = exposed.seen
    conditions = seen.track.conditions(coat.sprayed.timestamp(), seen.shop, coat.surface)
    return judge(conditions, seen.coating, seen.shop, coat.sprayed, pot_of(coat), films=films).state


def _hours(exposed: Exposures, causes: Causes, coat: SprayedCoat, below: Coating | None, films: Films) -> list[Way]:
    """The nearest hour after and the nearest before, as logged, in which it is a GO and nothing speaks against it."""
    earliest = _earliest(exposed)
    only_hours = any(cause.exposure in _NOT_MENDED_BY_AIR for cause in causes.supported)
    ways = []
    for side, wanted in ((1, 2 if only_hours else 1), (-1, 1)):
        tried = met = 0
        for count in range(1, _LOOKED):
            start = _on_the_half_hour(coat, side * count)
            if tried >= _TRIED or not (start.sprayed.timestamp() >= earliest and _fit(exposed, start)):
                continue
            if _dusty(exposed, causes, start):
                continue
            tried += 1
            moved = replace(
                coat, sprayed=start.sprayed, ended=start.ended, surface=None, mixed_at=None, below=None
            )  # fmt: skip
            if _state(exposed, moved, films) is State.GO and not _spoilt(exposed, causes, moved, below):
                ways.append(Way(HOUR, State.GO, moved))
                met += 1
            if met >= wanted:
                break
    return ways


def _earliest(exposed: Exposures) -> float:
    """The first moment [s since 1970] at which the piece was there, warm, and ready for this coat."""
    coat, gap = exposed.seen.coat, exposed.by_name["recoat_gap"].limit
    known = [-inf]
    if coat.in_room_since is not None:
        known.append(coat.in_room_since.timestamp() + _WARMED_AFTER)
    if coat.below is not None and coat.below.sprayed is not None:
        known.append(coat.below.sprayed.timestamp() + (gap or 0.0) * _SAFE_END)
    return max(known)


def _on_the_half_hour(coat: SprayedCoat, steps: int) -> SprayedCoat:
    seconds = _STEP.total_seconds()
    at = moment_at((coat.sprayed.timestamp() // seconds + steps) * seconds)
    ended = None if coat.ended is None else at + (coat.ended - coat.sprayed)
    return replace(coat, sprayed=at, ended=ended)


def _fit(exposed: Exposures, coat: SprayedCoat) -> bool:
    """Whether the rules without a film have nothing against an hour: that is quickly said."""
    seen = exposed.seen
    conditions = seen.track.conditions(coat.sprayed.timestamp(), seen.shop)
    return all(
        finding.level is Level.OK or (finding.level is Level.UNKNOWN and not finding.deciding)
        for finding in (rule(conditions, seen.coating, seen.shop) for rule in RULES)
    )


def _dusty(exposed: Exposures, causes: Causes, coat: SprayedCoat) -> bool:
    """Whether there was dust in an hour as well, where dust was the matter: that is quickly said, too."""
    seen = exposed.seen
    cause = next((each for each in causes.supported if each.exposure == "dust_while_wet"), None)
    if cause is None or cause.limit is None:
        return False
    windows = windows_of(coat, seen.coating, None if seen.film is None else seen.film.times, seen.shop)
    then = dust_had_it_been_sprayed(replace(seen, coat=coat, mattered=windows)).measured
    return then is None or not then <= cause.limit


def _spoilt(exposed: Exposures, causes: Causes, coat: SprayedCoat, below: Coating | None) -> bool:
    """Whether what spoilt the coat would have done so then, too."""
    seen = exposed.seen
    then = causes_of(
        exposures_of(coat, seen.coating, seen.track, seen.shop, below).by_name, seen.coating, seen.shop, causes.defect,
        coat.seen, coat.gun,
    )  # fmt: skip
    before = {cause.mechanism.id for cause in causes.supported}
    return any(cause.mechanism.id in before for cause in then.supported)


def _changes(
    exposed: Exposures, causes: Causes, coat: SprayedCoat, below: Coating | None, films: Films, wanted: int
) -> list[Way]:
    """So many ways at the same hour: what in the pot alone makes a GO, then the air made fit, each run again."""
    seen = exposed.seen
    conditions = seen.track.conditions(coat.sprayed.timestamp(), seen.shop, coat.surface)
    pot = pot_of(coat)
    tried: dict[str, tuple[Air, Conditions]] = {}
    for air in _airs_made_fit(conditions, seen.coating, pot, seen.shop) if wanted else ():
        tried.setdefault(air.kind, (air, _in(conditions, air)))  # of one kind the least
    _films_ahead([conditions, *(then for _, then in tried.values())], seen.coating, pot, seen.shop, films)
    verdict = judge(conditions, seen.coating, seen.shop, coat.sprayed, pot, films=films)
    if not wanted or verdict.state is State.GO or verdict.cannot_tell:
        return []
    ways = []
    if verdict.state is State.CHANGE:
        for change in least_changes(verdict, conditions, seen.shop, coat.sprayed, pot, AT_THE_BENCH):
            mixed = replace(coat, thinner=change.pot.thinner, retarder=change.pot.retarder)
            if change.state is State.GO and not _spoilt(exposed, causes, mixed, below):
                ways.append(Way(BENCH, change.state, coat, _air_of(change)))
    for air, then in tried.values():
        if len(ways) >= wanted:
            break
        state = judge(then, seen.coating, seen.shop, coat.sprayed, pot, films=films).state
        if state is State.GO and not _spoilt_in(air, exposed, causes, coat, below):
            ways.append(Way(BENCH, state, coat, air))
    return ways[:wanted]


def _spoilt_in(air: Air, exposed: Exposures, causes: Causes, coat: SprayedCoat, below: Coating | None) -> bool:
    """Whether what spoilt the coat would have done so in a room made fit beforehand and kept so until the next coat."""
    seen = exposed.seen
    wet = Window(coat.sprayed.timestamp() - _MADE_FIT, seen.windows.recoat.end)
    track = seen.track.brought_to(air.temperature, air.relative_humidity, wet)
    there = replace(exposed, seen=replace(seen, track=track))
    return _spoilt(there, causes, replace(coat, surface=air.temperature), below)


def _films_ahead(several: Sequence[Conditions], coating: Coating, pot: Pot, shop: Shop, films: Films) -> None:
    """What judging these will look up, computed in one batch."""
    mix = mix_of(coating, pot.thinner or fastest(coating), pot.retarder)
    cases = [case for each in several if (case := case_of(each, shop, pot, mix)) is not None]
    if cases:
        films.compute(cases)


def _air_of(change: Change) -> Air:
    return Air(change.kind, change.air_temperature, change.relative_humidity, change.pot)


def _held(exposed: Exposures, causes: Causes, coat: SprayedCoat, below: Coating | None, films: Films) -> list[Way]:
    """The room kept heated after the gun, where it was the fall later that spoilt the coat: the log run again so."""
    seen = exposed.seen
    sprayed_at = exposed.by_name["air_at_spraying"].measured
    coldest = seen.coating.air_temperature.wait_below
    if all(cause.exposure not in _LATER for cause in causes.supported) or sprayed_at is None:
        return []
    if coldest is not None and not sprayed_at >= coldest.value:
        return []  # it was too cold for the gun already
    least = seen.coating.air_temperature.go_low.value + _INSIDE
    start = coat.sprayed.timestamp()
    held = seen.track.held_at(least, Window(start, start + _HELD_FOR))
    conditions = replace(held.conditions(start, seen.shop, coat.surface), held=True)
    verdict = judge(conditions, seen.coating, seen.shop, coat.sprayed, pot_of(coat), films=films)
    warm = replace(exposed, seen=replace(seen, track=held))
    if verdict.state is not State.GO or _spoilt(warm, causes, coat, below):
        return []
    humidity = conditions.at_work("relative_humidity").value
    return [Way(BENCH, verdict.state, coat, Air(HELD, least, humidity or 0.0, pot_of(coat)))]


def _airs_made_fit(conditions: Conditions, coating: Coating, pot: Pot, shop: Shop) -> Iterator[Air]:
    """Room and pieces brought inside the coating's band, first with the moisture they hold, then dried as well."""
    known = air_at_work(conditions, shop)
    if known is None:
        return
    air, humidity = known
    warm, damp = coating.air_temperature, coating.relative_humidity
    low, high = warm.go_low.value + _INSIDE, warm.go_high.value - _INSIDE
    inside = (damp.go_low.value + _INSIDE_DAMP, damp.go_high.value - _INSIDE_DAMP)
    if air > high:
        yield Air(COOL, high, _moved(air, humidity, high), pot)
        yield Air(COOL_AND_DAMP, high, max(inside[0], _moved(air, humidity, high)), pot)
        return
    piece = conditions.at_work("surface_temperature").value
    if piece is not None and piece < air - COLDER:
        yield Air(WARM_PIECES, air, humidity, pot)
    least, middle = max(air, low), 0.5 * (max(air, low) + high)
    for kind, target in ((WARM, least), (WARM_THROUGH, middle), (WARM, high)):
        same = _moved(air, humidity, target)
        if target > air and same <= inside[1]:
            yield Air(kind, target, max(same, inside[0]), pot)
    if humidity > inside[1] and air >= warm.go_low.value:
        yield Air(DRY, air, inside[1], pot)
    if _moved(air, humidity, middle) > inside[1]:
        yield Air(WARM_AND_DRY, middle, inside[1], pot)
    if humidity < inside[0]:
        yield Air(DAMP, air, inside[0] + _INSIDE_DAMP, pot)


def _moved(air: float, humidity: float, target: float) -> float:
    """Humidity of the same moisture at another temperature, no more than saturated."""
    return min(1.0, float(relative_humidity_at(air, humidity_capped(humidity), target)))


def _in(conditions: Conditions, air: Air) -> Conditions:
    """The conditions with room and pieces so."""
    values = {
        "air_temperature": air.temperature, "relative_humidity": air.relative_humidity,
        "surface_temperature": air.temperature,
    }  # fmt: skip
    return conditions.with_values(values)
