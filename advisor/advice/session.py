"""A session ahead: door open, fan on, coat, flash, next coat, fan until its time is over; every rule along it.

The room is renewed with outdoor air while the fan runs, and the pieces lag behind it. What decides is the air that
will be at the work, not the air that is there before the door is opened. A fan that was not measured may move half its
name plate or all of it: the session is judged by both.
"""

from collections import OrderedDict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from math import floor

from advisor.advice.conditions import (
    AIR_QUANTITIES,
    MEASURED,
    Conditions,
    Measured,
    outdoor_air,
    surface_of_piece,
)
from advisor.advice.course import KELVIN_STEP, LAST_BIT, SHARE_STEP, Moment, air_along
from advisor.advice.drying_coat import CURING, curing, dew_on_it, slow_air
from advisor.advice.fan import fan_flows
from advisor.advice.film_map import compute_ladders
from advisor.advice.film_rules import FILM_RULES, clearest_mixes
from advisor.advice.film_view import FILM_AIR, FilmView, Pot, case_of, film_view
from advisor.advice.finding import Finding, Level, Remedy
from advisor.advice.mix import fastest, mix_of
from advisor.advice.panel_rule import settled_by_panel
from advisor.advice.plan import MINUTE, Plan
from advisor.advice.rules import RULES
from advisor.advice.wet_film import FilmCase, film_settings
from advisor.catalog.coatings import Coating
from advisor.shop.shop import Shop

SESSION = "session"  # the rule by which a session counts in a verdict
BY_ONE_FLOW = "fan-unmeasured"  # why a session that fails by one of the fan's two flows is a change
_WHILE_WET = ("air_temperature", "relative_humidity", "surface", "piece_temperature")  # gun in hand or flashing off
# which of several failures in one minute is told: water on the piece, then what no other air mends, then the rest
_DEEPEST = (
    "surface", "air_temperature", "relative_humidity", "blush", "film_forming", "piece_temperature", CURING, "night",
    "closing",
)  # fmt: skip
_RANK = {Level.OK: 0, Level.UNKNOWN: 0, Level.CHANGE: 1, Level.STOP: 2}
_MOST_KEPT = 4_000
_SOURCE = "room model: well-mixed zone, walls and pieces lagging; the limits are those of the rule that fails"


@dataclass(frozen=True)
class Failure:
    """The first minute at which a rule fails, and what it found there."""

    moment: Moment
    finding: Finding


_Failures = tuple[Failure | None, Failure | None]  # the first stop, the first change
_judged: OrderedDict[tuple[object, ...], tuple[tuple[Moment, ...], Coating, Shop, _Failures]] = OrderedDict()


@dataclass(frozen=True)
class Session:
    """A session computed: its plan, the air along it, and the first failure of each kind; None where there is none.

    outdoors: the air that comes in [°C, fraction]. flow [m3/s]: what the fan moves in these moments, the flow by which
    it is worse. by_one_flow: it fails by this flow, and not by the other that the fan may have.
    """

    plan: Plan
    outdoors: tuple[float, float]
    moments: tuple[Moment, ...]
    stop: Failure | None
    change: Failure | None
    flow: float
    by_one_flow: bool = False

    @property
    def level(self) -> Level:
        """The worst along it."""
        return Level.STOP if self.stop else Level.CHANGE if self.change else Level.OK


def session_of(conditions: Conditions, coating: Coating, shop: Shop, pot: Pot, plan: Plan) -> Session | None:
    """The session that begins now; None where the air in the room or outdoors is not known.

    A stop where every flow that the fan may have comes to one; where one alone fails, a change: a fan-on trial tells.
    """
    outdoors = outdoor_air(conditions, shop)
    found = []
    for flow in fan_flows(shop):
        moments = air_along(conditions, shop, pot, plan, flow)
        if moments is None or outdoors is None:
            return None
        stop, change = _failures_of(moments, conditions, coating, shop, pot)
        found.append(Session(plan, outdoors, moments, stop, change, flow))
    stopped = [each for each in found if each.stop is not None]
    if len(stopped) == len(found):
        return stopped[0]  # a name plate counts half: so are the minutes told
    if stopped:
        worse = stopped[0]
        return replace(worse, stop=None, change=worse.stop, by_one_flow=True)
    changed = [each for each in found if each.change is not None]
    return replace(changed[0], by_one_flow=len(changed) < len(found)) if changed else found[0]


def worst_of_air(conditions: Conditions, coating: Coating, shop: Shop, pot: Pot, plan: Plan) -> Level:
    """The worst that the rules without a film say, now and along a session; a stop where it is not known."""
    now = max((rule(conditions, coating, shop).level for rule in RULES), key=_RANK.__getitem__)
    if now is Level.STOP:
        return now
    along = []
    for flow in fan_flows(shop):
        moments = air_along(conditions, shop, pot, plan, flow)
        if moments is None:
            return Level.STOP
        along.append(_worst_along(moments[1:], conditions, coating, shop))
    worst = max(along, key=_RANK.__getitem__)
    if worst is Level.STOP and any(each is not Level.STOP for each in along):
        worst = Level.CHANGE
    return max(now, worst, key=_RANK.__getitem__)


def session_finding(session: Session) -> Finding:
    """The session as one finding of the verdict: when it first fails, and by which rule (`quantity`)."""
    failure = session.stop or session.change
    if failure is None:
        return Finding(SESSION, Level.OK, measured=None, unit="s", deciding=False, source=_SOURCE)
    moment, finding = failure.moment, failure.finding
    figures = (
        ("air_temperature", moment.air_temperature),
        ("relative_humidity", moment.relative_humidity),
        ("dew_point", moment.dew_point),
        ("surface_temperature", moment.surface),
        ("outdoor_air_temperature", session.outdoors[0]),
        ("outdoor_relative_humidity", session.outdoors[1]),
        ("exhaust_flow", session.flow),
    )
    one = session.by_one_flow
    return Finding(
        SESSION, session.level, measured=moment.seconds, unit="s", side=finding.side, quantity=finding.rule,
        reason=BY_ONE_FLOW if one else "", deciding=False,
        remedies=(Remedy("fan_trial" if one else "read_after_fan"),), source=_SOURCE, figures=figures,
    )  # fmt: skip


def conditions_then(conditions: Conditions, moment: Moment, shop: Shop) -> Conditions:
    """The conditions with the air and the piece of a minute of the session, as well known as those of now."""
    fresh = conditions.at_work("air_temperature")
    piece = surface_of_piece(conditions, shop)
    values = dict(conditions.values)
    along = {"air_temperature": moment.air_temperature, "relative_humidity": min(moment.relative_humidity, 1.0)}
    computed = None
    if piece is not None and piece.basis == MEASURED:
        along["surface_temperature"] = moment.surface
    elif piece is not None:
        computed = replace(piece, value=moment.surface)
    for quantity, value in along.items():
        values[conditions.place, quantity] = Measured(value, conditions.at_work(quantity).uncertainty, fresh.age)
    return replace(conditions, values=values, logged_air=None, piece=computed)


def prepare_films(setups: Sequence[tuple[Conditions, Pot, Plan]], coating: Coating, shop: Shop) -> None:
    """Compute in one batch the films that judging these sessions will look up."""
    cases: list[FilmCase] = []
    for conditions, pot, plan in setups:
        for wet in _wet_along(conditions, coating, shop, pot, plan):
            cases += _film_cases(wet, conditions, coating, shop, pot)
    compute_ladders(cases, film_settings(shop))


def prepare_around(conditions: Conditions, coating: Coating, shop: Shop, pot: Pot, plan: Plan) -> None:
    """Compute the films that the next minutes may ask for: air and piece up to a kelvin off what they are now."""
    low, high = FILM_AIR
    around = {
        replace(case, air_temperature=case.air_temperature + more, piece=case.piece + more + apart)
        for wet in _wet_along(conditions, coating, shop, pot, plan)
        for case in _film_cases(wet, conditions, coating, shop, pot)
        for more in (-1.0, 0.0, 1.0)
        for apart in (-1.0, 0.0, 1.0)
        if low <= case.air_temperature + more <= high and low <= case.piece + more + apart <= high
    }
    compute_ladders(list(around), film_settings(shop))


def _wet_along(conditions: Conditions, coating: Coating, shop: Shop, pot: Pot, plan: Plan) -> Iterator[list[Moment]]:
    """The minutes of wet film, by each flow that the fan may have."""
    for flow in fan_flows(shop):
        yield _wet(air_along(conditions, shop, pot, plan, flow) or (), plan.flash)


def _failures_of(
    moments: tuple[Moment, ...], conditions: Conditions, coating: Coating, shop: Shop, pot: Pot
) -> _Failures:
    """The first stop and the first change after the first moment, which is the air as it is and judged as such.

    The same minutes for the same coating come out the same, and are kept.
    """
    known = tuple(conditions.at_work(quantity).uncertainty for quantity in (*AIR_QUANTITIES, "surface_temperature"))
    key = (
        id(moments[-1]), id(coating), id(shop), pot, known, conditions.pressure,
        _settles(conditions, shop), _basis(conditions, shop), conditions.panels, conditions.held,
    )  # fmt: skip
    kept = _judged.get(key)
    if kept is None:
        kept = (moments, coating, shop, _failures(moments[1:], conditions, coating, shop, pot))
        _judged[key] = kept  # with what its key names by identity, so that no other can take its place
        while len(_judged) > _MOST_KEPT:
            _judged.popitem(last=False)
    return kept[-1]


def _settles(conditions: Conditions, shop: Shop) -> bool:
    """Whether the piece came in lately, as the surface rule asks."""
    stood = conditions.piece_in_room
    return stood is not None and stood < shop.limit("piece_settles").value


def _basis(conditions: Conditions, shop: Shop) -> tuple[str, float] | None:
    """How the piece is known."""
    piece = surface_of_piece(conditions, shop)
    return None if piece is None else (piece.basis, piece.uncertainty)


def _failures(moments: Sequence[Moment], conditions: Conditions, coating: Coating, shop: Shop, pot: Pot) -> _Failures:
    """The first stop and the first change along the minutes.

    Band and surface count while the film is wet, gun in hand or flashing off; dew and the floors of cure until the
    fan's time is over. The film is asked while it is wet, unless the air has failed by then.
    """
    failed = _air_failures(moments, conditions, coating, shop)
    spraying = [moment for moment in moments if moment.spraying and _sprayable(moment)]
    early = [each for each in failed if each.finding.level is Level.STOP and spraying]
    if not any(_when(each) <= spraying[0].seconds + MINUTE for each in early):
        failed += _film_failures(moments, conditions, coating, shop, pot)
    return _main(failed, Level.STOP), _main(failed, Level.CHANGE)


def _asked(moments: Sequence[Moment], coating: Coating) -> Iterator[tuple[tuple[str, ...], bool, list[Moment]]]:
    """Which rules are asked of which minutes: those of the room by name, and whether those of a drying coat."""
    flash = coating.numbers["flash_high"].value
    yield _WHILE_WET, False, [moment for moment in moments if moment.since_gun <= 0.0]
    yield _WHILE_WET, True, [moment for moment in moments if 0.0 < moment.since_gun <= flash]
    yield (), True, [moment for moment in moments if moment.since_gun > flash]


def _found(
    moment: Moment, names: Sequence[str], drying: bool, conditions: Conditions, coating: Coating, shop: Shop
) -> Iterator[Finding]:
    """What the rules on the air that hold at a minute find there, as far as it counts."""
    if names:
        there = conditions_then(conditions, moment, shop)
        asked = (rule(there, coating, shop) for rule in RULES if rule.__name__ in names)
        yield from (_counted(settled_by_panel(each, there, shop), shop) for each in asked)
    if drying:
        yield _counted(curing(moment, conditions, coating, shop), shop)
        if not names:
            yield _counted(dew_on_it(moment, conditions, coating, shop), shop)
            yield _counted(slow_air(moment, conditions, coating, shop), shop)


def _air_failures(moments: Sequence[Moment], conditions: Conditions, coating: Coating, shop: Shop) -> list[Failure]:
    """The first failure of each rule on the air and each level that counts.

    Each such rule looks at one quantity, so it is asked at that quantity's extremes first, and the minutes are stepped
    through only where one fails there.
    """
    found: dict[tuple[str, Level], Failure] = {}
    for names, drying, minutes in _asked(moments, coating):
        edges = _extremes(minutes)
        if not any(
            _RANK[each.level] for edge in edges for each in _found(edge, names, drying, conditions, coating, shop)
        ):
            continue
        for moment in minutes:
            for finding in _found(moment, names, drying, conditions, coating, shop):
                if _RANK[finding.level]:
                    found.setdefault((finding.rule, finding.level), Failure(moment, finding))
    return list(found.values())


def _worst_along(moments: Sequence[Moment], conditions: Conditions, coating: Coating, shop: Shop) -> Level:
    """The worst that the rules on the air say along the minutes."""
    edges = [
        each.level
        for names, drying, minutes in _asked(moments, coating)
        for edge in _extremes(minutes)
        for each in _found(edge, names, drying, conditions, coating, shop)
    ]
    if Level.STOP in edges:
        return Level.STOP
    failed = _air_failures(moments, conditions, coating, shop)
    return max((each.finding.level for each in failed), key=_RANK.__getitem__, default=Level.OK)


def _counted(finding: Finding, shop: Shop) -> Finding:
    """A finding along a session as it counts: outside by more than the course is rounded, and the room model sure of.

    A stop by less than the rounding is a change; a change by less than the model is sure of is none, but for cure.
    """
    warmth = finding.unit in ("K", "°C")
    if finding.level is Level.STOP and finding.measured is not None and finding.limit is not None:
        step = KELVIN_STEP if warmth else SHARE_STEP
        if abs(finding.measured - finding.limit) <= 1.5 * step:
            finding = replace(finding, level=Level.CHANGE)
    if finding.level is not Level.CHANGE or finding.margin is None or finding.rule == CURING:
        return finding
    sure = shop.limit("session_tolerance_temperature" if warmth else "session_tolerance_humidity").value
    return replace(finding, level=Level.OK) if abs(finding.margin) <= sure + LAST_BIT else finding


def _main(failed: Sequence[Failure], level: Level) -> Failure | None:
    """The failure to tell: of those within a minute of the first, what lies deepest (dew, then cold, then damp)."""
    same = [each for each in failed if each.finding.level is level]
    if not same:
        return None
    first = min(map(_when, same))
    close = [each for each in same if _when(each) <= first + MINUTE]
    return min(close, key=lambda each: (_DEEPEST.index(each.finding.rule), _when(each)))


def _when(failure: Failure | None) -> float:
    return float("inf") if failure is None else failure.moment.seconds


def _extremes(moments: Sequence[Moment]) -> list[Moment]:
    """The minutes at which something is at its highest or lowest."""
    if not moments:
        return []
    picks = (
        lambda moment: moment.air_temperature,
        lambda moment: moment.relative_humidity,
        lambda moment: moment.surface - moment.dew_point,
        lambda moment: moment.surface,
    )
    found = [edge(moments, key=pick) for pick in picks for edge in (min, max)]
    return list({moment.seconds: moment for moment in found}.values())


def _film_failures(
    moments: Sequence[Moment], conditions: Conditions, coating: Coating, shop: Shop, pot: Pot
) -> list[Failure]:
    """The first failure of each film rule and level; where both ends of a coat are good, so is what lies between."""
    wet = _wet(moments, coating.numbers["flash_high"].value)
    ends = _ends(wet)
    compute_ladders(_film_cases(wet, conditions, coating, shop, pot), film_settings(shop))
    at_ends = _films(ends, conditions, coating, shop, pot)
    if not at_ends or all(failure.moment is wet[0] for failure in at_ends) or len(ends) == len(wet):
        return at_ends
    return _films(wet, conditions, coating, shop, pot)


def _ends(wet: Sequence[Moment]) -> list[Moment]:
    """The first and last minute of each coat's gun, and the last of its flash-off."""
    return [
        moment
        for before, moment, after in zip([None, *wet], wet, [*wet[1:], None], strict=False)
        if before is None or after is None or moment.spraying != after.spraying or before.since_gun > moment.since_gun
    ]


def _film_cases(
    moments: Sequence[Moment], conditions: Conditions, coating: Coating, shop: Shop, pot: Pot
) -> list[FilmCase]:
    """The films of these minutes (one of each whole kelvin) and of now, with what could be in the pot instead."""
    mix = mix_of(coating, pot.thinner or fastest(coating), pot.retarder)
    mixes = (mix,) if coating.carrier == "water" else (mix, *clearest_mixes(coating, mix))
    cells = {(floor(each.air_temperature), floor(each.surface - each.air_temperature)): each for each in moments}
    then = [conditions, *(conditions_then(conditions, moment, shop) for moment in cells.values())]
    cases = [case_of(each, shop, pot, one) for each in then for one in mixes]
    return [case for case in cases if case is not None]


def _films(moments: Sequence[Moment], conditions: Conditions, coating: Coating, shop: Shop, pot: Pot) -> list[Failure]:
    """The first failures of the film rules: while the gun is in hand, and until the film sprayed last has set."""
    found: dict[tuple[str, Level], Failure] = {}
    open_until = 0.0
    for moment in moments:
        here = conditions_then(conditions, moment, shop)
        film = film_view(here, coating, shop, pot)
        if moment.spraying:
            open_until = _open_for(film, coating)
        elif moment.since_gun > open_until:
            continue
        for rule in FILM_RULES:
            if rule.__name__ == "closing" and not moment.spraying:
                continue
            finding = settled_by_panel(rule(film, here, coating, shop), here, shop)
            if _RANK[finding.level]:
                found.setdefault((finding.rule, finding.level), Failure(moment, finding))
    return list(found.values())


def _open_for(film: FilmView | None, coating: Coating) -> float:
    """Seconds in which a film can still blush, or pack too cold: until it sets or packs, its flash-off at most."""
    flash = coating.numbers["flash_high"].value
    if film is None:
        return flash
    outcome = film.blush.outcome
    closed = outcome.to_pack if coating.carrier == "water" else outcome.to_set
    return flash if closed is None else min(flash, closed)


def _wet(moments: Sequence[Moment], flash: float) -> list[Moment]:
    """The minutes of wet film, gun in hand or flashing off, as far as the film model reaches."""
    return [moment for moment in moments if (moment.spraying or 0.0 < moment.since_gun <= flash) and _sprayable(moment)]


def _sprayable(moment: Moment) -> bool:
    return FILM_AIR[0] <= moment.air_temperature <= FILM_AIR[1] and FILM_AIR[0] <= moment.surface <= FILM_AIR[1]
