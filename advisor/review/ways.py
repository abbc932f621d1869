"""What would have kept a coat from going wrong: each way run again through the judge and through the review."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import timedelta

from advisor.advice.changes import WARM, least_changes
from advisor.advice.conditions import Conditions, Measured, humidity_capped, usable
from advisor.advice.film_view import Pot
from advisor.advice.finding import Level
from advisor.advice.rules import RULES
from advisor.advice.verdict import State, judge
from advisor.catalog.coatings import Coating
from advisor.catalog.mechanisms import AIR
from advisor.physics.moist_air import relative_humidity_at
from advisor.review.air_track import moment_at
from advisor.review.causes import Cause, Causes, causes_of
from advisor.review.coat import SprayedCoat
from advisor.review.exposure import Exposures, exposures_of
from advisor.review.film_seen import pot_of
from advisor.shop.shop import Shop

MOST = 3
HOUR, BENCH, COAT = "hour", "change", "coat"
COOL, COOL_AND_DAMP, WARM_THROUGH, WARM_AND_DRY, DAMP = (
    "cool", "cool_and_damp", "warm_through", "warm_and_dry", "damp",
)  # fmt: skip
_INSIDE, _INSIDE_DAMP = 1.0, 0.01  # [K], [fraction] inside a band
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

    kind: another hour, a change to air or pot, or the coat sprayed otherwise. coat: as it would be sprayed. air: what
    is changed at the same hour, None for the others; field, value [SI]: what of the coat changes, None where nothing
    does.
    """

    kind: str
    state: State
    coat: SprayedCoat
    air: Air | None = None
    field: str | None = None
    value: float | None = None


def ways_out(exposed: Exposures, causes: Causes, below: Coating | None) -> tuple[Way, ...]:
    """At most three ways, another hour first, then the least change; none where nothing is supported."""
    found = causes.supported
    if not found:
        return ()
    air = [cause for cause in found if cause.mechanism.kind == AIR]
    ways: list[Way] = []
    coat = exposed.seen.coat
    for mended in _mended(exposed, found):
        if not air or len(ways) < 1:
            ways.append(mended)
    right = coat if not ways or not air else ways[-1].coat
    if air:
        ways += _hours(exposed, causes, right, below)
        ways += _changes(exposed, right)
    return tuple(ways[:MOST] if not air else sorted(ways, key=lambda way: way.kind == COAT)[:MOST])


def _mended(exposed: Exposures, found: tuple[Cause, ...]) -> Iterator[Way]:
    """The coat sprayed within its own limits, where that is what went wrong; GO only where the air was fit."""
    seen = exposed.seen
    changes = [changed for cause in found if (changed := _within(seen.coat, cause)) is not None]
    if changes and _state(exposed, seen.coat) is State.GO:
        for coat, field, value in changes:
            yield Way(COAT, State.GO, coat, field=field, value=value)


def _within(coat: SprayedCoat, cause: Cause) -> tuple[SprayedCoat, str, float] | None:
    """The coat with one thing of it brought to its limit."""
    if cause.limit is None:
        return None
    name, limit = cause.exposure, cause.limit
    if name == "wet_film":
        return replace(coat, wet_film=limit), name, limit
    if name == "cup":
        return replace(coat, seconds=limit, cup=None), name, limit
    if name == "gun_pressure":
        return replace(coat, pressure=limit), name, limit
    if name == "mix_age":
        return replace(coat, mixed_at=coat.sprayed), name, 0.0
    if name == "recoat_gap" and coat.below is not None and coat.below.sprayed is not None:
        later = coat.below.sprayed + timedelta(seconds=limit * 1.5)
        return replace(coat, sprayed=later, ended=None), name, limit
    if name == "gap_not_scuffed":
        return replace(coat, sanded=True), name, limit
    return None


def _state(exposed: Exposures, coat: SprayedCoat) -> State:
    seen = exposed.seen
    conditions = seen.track.conditions(coat.sprayed.timestamp(), seen.shop, coat.surface)
    return judge(conditions, seen.coating, seen.shop, coat.sprayed, pot_of(coat)).state


def _hours(exposed: Exposures, causes: Causes, coat: SprayedCoat, below: Coating | None) -> list[Way]:
    """The nearest hour after and the nearest before, as logged, in which it is a GO and nothing speaks against it."""
    ways = []
    for side in (1, -1):
        tried = 0
        for count in range(1, _LOOKED):
            start = _on_the_half_hour(coat, side * count)
            if tried >= _TRIED or not _fit(exposed, start):
                continue
            tried += 1
            moved = replace(
                coat, sprayed=start.sprayed, ended=start.ended, surface=None, mixed_at=None, below=None
            )  # fmt: skip
            if _state(exposed, moved) is State.GO and not _spoilt(exposed, causes, moved, below):
                ways.append(Way(HOUR, State.GO, moved))
                break
    return ways


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


def _spoilt(exposed: Exposures, causes: Causes, coat: SprayedCoat, below: Coating | None) -> bool:
    """Whether what spoilt the coat would have done so then, too."""
    seen = exposed.seen
    then = causes_of(
        exposures_of(coat, seen.coating, seen.track, seen.shop, below).by_name, seen.coating, seen.shop, causes.defect
    )
    before = {cause.mechanism.id for cause in causes.supported}
    return any(cause.mechanism.id in before for cause in then.supported)


def _changes(exposed: Exposures, coat: SprayedCoat) -> list[Way]:
    """The judge's own least changes for the moment it was sprayed, those that end in a GO; then the air made fit."""
    seen = exposed.seen
    conditions = seen.track.conditions(coat.sprayed.timestamp(), seen.shop, coat.surface)
    pot = pot_of(coat)
    verdict = judge(conditions, seen.coating, seen.shop, coat.sprayed, pot)
    if verdict.state is State.GO or verdict.cannot_tell:
        return []
    ways = [
        Way(BENCH, change.state, coat, Air(change.kind, change.air_temperature, change.relative_humidity, change.pot))
        for change in least_changes(verdict, conditions, seen.shop, coat.sprayed, pot)
        if change.state is State.GO
    ]
    known = {way.air.kind for way in ways if way.air is not None}
    for air in _airs_made_fit(conditions, seen.coating, seen.shop, pot):
        if air.kind in known or len(known) >= MOST:
            continue
        then = judge(_in(conditions, air), seen.coating, seen.shop, coat.sprayed, pot)
        if then.state is State.GO:
            known.add(air.kind)
            ways.append(Way(BENCH, then.state, coat, air))
    return ways


def _airs_made_fit(conditions: Conditions, coating: Coating, shop: Shop, pot: Pot) -> Iterator[Air]:
    """Room and pieces brought inside the coating's band, first with the moisture they hold, then dried as well."""
    air, humidity = (usable(conditions, quantity, shop) for quantity in ("air_temperature", "relative_humidity"))
    if air is None or humidity is None or air.value is None or humidity.value is None:
        return
    warm, damp = coating.air_temperature, coating.relative_humidity
    low, high = warm.go_low.value + _INSIDE, warm.go_high.value - _INSIDE
    inside = (damp.go_low.value + _INSIDE_DAMP, damp.go_high.value - _INSIDE_DAMP)
    if air.value > high:
        yield Air(COOL, high, _moved(air.value, humidity.value, high), pot)
        yield Air(COOL_AND_DAMP, high, max(inside[0], _moved(air.value, humidity.value, high)), pot)
        return
    least, middle = max(air.value, low), 0.5 * (max(air.value, low) + high)
    for kind, target in ((WARM, least), (WARM_THROUGH, middle), (WARM, high)):
        same = _moved(air.value, humidity.value, target)
        if target > air.value and same <= inside[1]:
            yield Air(kind, target, max(same, inside[0]), pot)
    if _moved(air.value, humidity.value, middle) > inside[1]:
        yield Air(WARM_AND_DRY, middle, inside[1], pot)
    if humidity.value < inside[0]:
        yield Air(DAMP, air.value, inside[0] + _INSIDE_DAMP, pot)


def _moved(air: float, humidity: float, target: float) -> float:
    """Humidity of the same moisture at another temperature, no more than saturated."""
    return min(1.0, float(relative_humidity_at(air, humidity_capped(humidity), target)))


def _in(conditions: Conditions, air: Air) -> Conditions:
    """The conditions with room and pieces so."""
    values = {
        "air_temperature": air.temperature, "relative_humidity": air.relative_humidity,
        "surface_temperature": air.temperature,
    }  # fmt: skip
    known = conditions.at_work("air_temperature").uncertainty
    changed = {
        (conditions.place, name): Measured(value, conditions.at_work(name).uncertainty or known, 0.0)
        for name, value in values.items()
    }
    return replace(conditions, values={**conditions.values, **changed}, logged_air=None)
