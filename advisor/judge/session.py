"""A session ahead: door open, fan on, coat, flash, next coat, fan until its time is over; every rule along it.

The room is renewed with outdoor air while the fan runs, and the pieces lag behind it. What decides is the air that
will be at the work, not the air that is there before the door is opened. A fan that was not measured may move half its
name plate or all of it: the session is judged by both.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from math import floor

import numpy as np

from advisor.catalog.coatings import Coating
from advisor.film.drying import closed_after
from advisor.film.film_map import Films
from advisor.film.mix import fastest, mix_of
from advisor.film.wet_film import FilmCase
from advisor.judge.conditions import MEASURED, Conditions, air_at_work, outdoor_air, surface_of_piece
from advisor.judge.course import (
    CURING,
    Moment,
    air_along,
    by_either_flow,
    curing,
    dew_limits,
    levels_along,
    slow_limits,
)
from advisor.judge.film_rules import FILM_AIR, FILM_RULES, Pot, case_of, clearest_mixes, film_view
from advisor.judge.finding import CHANGE, LEVELS, OK, STOP, Finding, Level, Levels, Remedy
from advisor.judge.panel_rule import settled_by_panel
from advisor.judge.plan import MINUTE, Plan, fan_flows
from advisor.judge.rules import RULES
from advisor.physics.air.moist_air import dew_point
from advisor.shop.shop import Shop

SESSION = "session"  # the rule by which a session counts in a verdict
BY_ONE_FLOW = "fan-unmeasured"  # why a session that fails by one of the fan's two flows is a change
# which of several failures in one minute is told: water on the piece, then what no other air mends, then the rest
_DEEPEST = (
    "surface", "air_temperature", "relative_humidity", "blush", "film_forming", "piece_temperature", CURING, "night",
    "closing",
)  # fmt: skip
_WET = {rule.__name__: rule for rule in RULES}
_SOURCE = "room model: well-mixed zone, walls and pieces lagging; the limits are those of the rule that fails"


@dataclass(frozen=True)
class Failure:
    """The first minute at which a rule fails, and what it found there."""

    moment: Moment
    finding: Finding


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


def session_of(
    conditions: Conditions, coating: Coating, shop: Shop, pot: Pot, plan: Plan, films: Films | None = None
) -> Session | None:
    """The session that begins now; None where the air in the room or outdoors is not known.

    A stop where every flow that the fan may have comes to one; where one alone fails, a change: a fan-on trial tells.
    The first moment is the air as it was given, and judged as such.
    """
    air, outdoors = air_at_work(conditions, shop), outdoor_air(conditions, shop)
    piece, course = surface_of_piece(conditions, shop), air_along(conditions, shop, pot, plan)
    if air is None or outdoors is None or piece is None or course is None:
        return None
    films, levels = films or Films(shop), levels_along(course, coating, shop, conditions)
    found = []
    for case, flow in enumerate(fan_flows(shop)):
        first, *later = course.moments(case)
        first = replace(
            first, air_temperature=air[0], relative_humidity=air[1], dew_point=float(dew_point(*air)),
            surface=piece.value,
        )  # fmt: skip
        mine = {rule: each[case, 1:] for rule, each in levels.items()}
        stop, change = _failures(later, mine, conditions, coating, shop, pot, films)
        found.append(Session(plan, outdoors, (first, *later), stop, change, flow))
    stopped, changed = ([each for each in found if getattr(each, kind)] for kind in ("stop", "change"))
    if len(stopped) == len(found):
        return stopped[0]  # a name plate counts half: so are the minutes told
    if stopped:
        return replace(stopped[0], stop=None, change=stopped[0].stop, by_one_flow=True)
    return replace(changed[0], by_one_flow=len(changed) < len(found)) if changed else found[0]


def worst_of_air(conditions: Conditions, coating: Coating, shop: Shop, pot: Pot, plan: Plan) -> Level:
    """The worst that the rules without a film say, now and along a session; a stop where it is not known."""
    now = max(_rank(rule(conditions, coating, shop)) for rule in RULES)
    course = air_along(conditions, shop, pot, plan) if now < STOP else None
    if course is None:
        return Level.STOP
    levels = levels_along(course, coating, shop, conditions)
    along = np.maximum.reduce(list(levels.values()))[:, 1:].max(axis=1)
    return LEVELS[max(now, int(by_either_flow(along)))]


def _rank(finding: Finding) -> int:
    return LEVELS.index(finding.level) if finding.level in LEVELS else OK


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
    piece = surface_of_piece(conditions, shop)
    along = {"air_temperature": moment.air_temperature, "relative_humidity": min(moment.relative_humidity, 1.0)}
    if piece is None or piece.basis != MEASURED:
        computed = None if piece is None else replace(piece, value=moment.surface)
        return replace(conditions.with_values(along), piece=computed)
    return replace(conditions.with_values({**along, "surface_temperature": moment.surface}), piece=None)


def prepare_films(
    setups: Sequence[tuple[Conditions, Pot, Plan]], coating: Coating, shop: Shop, films: Films,
    apart: Sequence[float] = (0.0,),
) -> None:  # fmt: skip
    """Compute in one batch the films that judging these sessions will look up.

    apart [K]: air and piece off by these as well, for what the next minutes may ask.
    """
    cases: list[FilmCase] = []
    for conditions, pot, plan in setups:
        course = air_along(conditions, shop, pot, plan)
        sessions = [] if course is None else [course.moments(case) for case in range(len(fan_flows(shop)))]
        for moments in sessions:
            cases += _film_cases(_wet(moments, plan.flash), conditions, coating, shop, pot)
    low, high = FILM_AIR
    films.compute(
        replace(case, air_temperature=case.air_temperature + more, piece=case.piece + more + lag)
        for case in dict.fromkeys(cases)
        for more in apart
        for lag in apart
        if low <= case.air_temperature + more <= high and low <= case.piece + more + lag <= high
    )


def _failures(
    moments: Sequence[Moment], levels: Mapping[str, Levels], conditions: Conditions, coating: Coating, shop: Shop,
    pot: Pot, films: Films,
) -> tuple[Failure | None, Failure | None]:  # fmt: skip
    """The first stop and the first change along the minutes; the film is asked unless the air has failed by then."""
    failed = []
    for rule, row in levels.items():
        for level in (CHANGE, STOP):
            if level in row:
                moment = moments[int(np.argmax(row == level))]
                found = _found_at(rule, moment, conditions, coating, shop)
                failed.append(Failure(moment, replace(found, level=LEVELS[level])))
    spraying = [moment for moment in moments if moment.spraying and _sprayable(moment)]
    early = [each for each in failed if each.finding.level is Level.STOP and spraying]
    if not any(each.moment.seconds <= spraying[0].seconds + MINUTE for each in early):
        failed += _film_failures(moments, conditions, coating, shop, pot, films)
    return _main(failed, Level.STOP), _main(failed, Level.CHANGE)


def _found_at(rule: str, moment: Moment, conditions: Conditions, coating: Coating, shop: Shop) -> Finding:
    """What a rule on the air finds at a minute."""
    if rule == CURING:
        return curing(moment, conditions.held, coating, shop)
    if moment.since_gun <= coating.numbers["flash_high"].value:
        return _WET[rule](conditions_then(conditions, moment, shop), coating, shop)
    if rule == "air_temperature":
        return slow_limits(coating).held_against(Finding(rule, Level.OK, unit="°C"), moment.air_temperature)
    piece = surface_of_piece(conditions, shop)
    guessed = "" if piece is None or piece.basis == MEASURED else piece.basis
    over_dew = round(moment.surface - moment.dew_point, 2)
    return dew_limits(not guessed, shop).held_against(Finding(rule, Level.OK, unit="K", reason=guessed), over_dew)


def _main(failed: Sequence[Failure], level: Level) -> Failure | None:
    """The failure to tell: of those within a minute of the first, what lies deepest (dew, then cold, then damp)."""
    same = [each for each in failed if each.finding.level is level]
    first = min((each.moment.seconds for each in same), default=0.0)
    close = [each for each in same if each.moment.seconds <= first + MINUTE]
    return min(close, key=lambda each: (_DEEPEST.index(each.finding.rule), each.moment.seconds), default=None)


def _film_failures(
    moments: Sequence[Moment], conditions: Conditions, coating: Coating, shop: Shop, pot: Pot, films: Films
) -> list[Failure]:
    """The first failure of each film rule and level; where both ends of a coat are good, so is what lies between."""
    wet = _wet(moments, coating.numbers["flash_high"].value)
    ends = _ends(wet)
    films.compute(_film_cases(wet, conditions, coating, shop, pot))
    at_ends = _films(ends, conditions, coating, shop, pot, films)
    if not at_ends or all(failure.moment is wet[0] for failure in at_ends) or len(ends) == len(wet):
        return at_ends
    return _films(wet, conditions, coating, shop, pot, films)


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


def _films(
    moments: Sequence[Moment], conditions: Conditions, coating: Coating, shop: Shop, pot: Pot, films: Films
) -> list[Failure]:
    """The first failures of the film rules: while the gun is in hand, and until the film sprayed last has set."""
    found: dict[tuple[str, Level], Failure] = {}
    open_until, flash = 0.0, coating.numbers["flash_high"].value
    for moment in moments:
        here = conditions_then(conditions, moment, shop)
        film = film_view(here, coating, shop, pot, films)
        if moment.spraying:  # it can still blush, or pack too cold, until it sets or packs, its flash-off at most
            closed = None if film is None else closed_after(film.blush.outcome, film.blush.case)
            open_until = flash if closed is None else min(flash, closed)
        elif moment.since_gun > open_until:
            continue
        for rule in FILM_RULES:
            if rule.__name__ == "closing" and not moment.spraying:
                continue
            finding = settled_by_panel(rule(film, here, coating, shop), here, shop)
            if _rank(finding):
                found.setdefault((finding.rule, finding.level), Failure(moment, finding))
    return list(found.values())


def _wet(moments: Sequence[Moment], flash: float) -> list[Moment]:
    """The minutes of wet film, gun in hand or flashing off, as far as the film model reaches."""
    return [moment for moment in moments if (moment.spraying or 0.0 < moment.since_gun <= flash) and _sprayable(moment)]


def _sprayable(moment: Moment) -> bool:
    return FILM_AIR[0] <= moment.air_temperature <= FILM_AIR[1] and FILM_AIR[0] <= moment.surface <= FILM_AIR[1]
