"""A session ahead: door open, fan on, coat, flash, next coat; the air at the gun minute by minute, every rule along it.

The room is renewed with outdoor air while the fan runs, and the pieces lag behind it. What decides is the air that
will be at the work, not the air that is there before the door is opened.
"""

from collections import OrderedDict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import chain

import numpy as np

from advisor.advice.conditions import (
    AIR_QUANTITIES,
    MEASURED,
    Conditions,
    Measured,
    air_at_work,
    outdoor_air,
    surface_of_piece,
)
from advisor.advice.film_map import compute_ladders
from advisor.advice.film_rules import FILM_RULES
from advisor.advice.film_view import FILM_AIR, Pot, case_of, film_view
from advisor.advice.finding import Finding, Level, Remedy
from advisor.advice.mix import fastest, mix_of
from advisor.advice.panel_rule import settled_by_panel
from advisor.advice.rules import RULES, Rule
from advisor.advice.wet_film import FilmCase, film_settings
from advisor.catalog.coatings import Coating
from advisor.catalog.substrates import find_substrate
from advisor.physics.air_change import flow_from_name_plate
from advisor.physics.moist_air import humidity_ratio
from advisor.physics.piece import Piece
from advisor.physics.room import Room, RoomStart, Segment, room_course
from advisor.shop.shop import Shop

SESSION = "session"  # the rule by which a session counts in a verdict
MINUTE = 60.0  # [s]
_ALONG = ("air_temperature", "relative_humidity", "surface", "piece_temperature")  # the rules that move with the air
# which of several failures in one minute is told: water on the piece, then what no other air mends, then the rest
_DEEPEST = (
    "surface", "air_temperature", "relative_humidity", "blush", "film_forming", "piece_temperature", "night", "closing",
)  # fmt: skip
_RANK = {Level.OK: 0, Level.UNKNOWN: 0, Level.CHANGE: 1, Level.STOP: 2}
_HOUR = 3600.0
_MOST_KEPT = 4_000
_SOURCE = "room model: well-mixed zone, walls and pieces lagging; the limits are those of the rule that fails"


@dataclass(frozen=True)
class Plan:
    """What is meant: coats, minutes of spraying a coat, flash-off with the fan on, and pauses in between, all in [s].

    open_before: door open and fan on before the gun is picked up. pause: from the end of a flash to the next opening,
    door shut and fan off. make_up_rise [K]: by how much the air that comes in is warmed.
    """

    coats: int
    spray: float
    flash: float
    pause: float
    open_before: float
    make_up_rise: float = 0.0

    @property
    def open_for(self) -> float:
        """Seconds of open door and fan for one coat."""
        return self.open_before + self.spray + self.flash

    @property
    def length(self) -> float:
        """Seconds from the first opening to the end of the last flash-off."""
        return self.coats * self.open_for + (self.coats - 1) * self.pause


def plan_for(coating: Coating, shop: Shop, coats: int | None = None, spray: float | None = None) -> Plan:
    """The plan of so many coats, as long as nobody says more: flash-off and next coat by the coating's sheet."""
    flash, recoat = coating.numbers["flash_high"].value, coating.numbers["recoat_from_high"].value
    opening = shop.limit("open_before_spraying").value
    return Plan(
        coats=coats or round(shop.limit("session_coats").value),
        spray=shop.limit("session_spray").value if spray is None else spray,
        flash=flash,
        pause=max(0.0, recoat - flash - opening),
        open_before=opening,
    )


@dataclass(frozen=True)
class Moment:
    """One minute of a session: seconds after opening, air at the work [°C, fraction, °C], the piece's face [°C]."""

    seconds: float
    air_temperature: float
    relative_humidity: float
    dew_point: float
    surface: float
    spraying: bool


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

    outdoors: the air that comes in [°C, fraction].
    """

    plan: Plan
    outdoors: tuple[float, float]
    moments: tuple[Moment, ...]
    stop: Failure | None
    change: Failure | None

    @property
    def level(self) -> Level:
        """The worst along it."""
        return Level.STOP if self.stop else Level.CHANGE if self.change else Level.OK


def session_of(conditions: Conditions, coating: Coating, shop: Shop, pot: Pot, plan: Plan) -> Session | None:
    """The session that begins now; None where the air in the room or outdoors is not known."""
    moments = air_along(conditions, shop, pot, plan)
    outdoors = outdoor_air(conditions, shop)
    if moments is None or outdoors is None:
        return None
    # the same minutes judged for the same coating come out the same: a daemon meets them again and again
    known = tuple(conditions.at_work(quantity).uncertainty for quantity in (*AIR_QUANTITIES, "surface_temperature"))
    key = (
        id(moments), id(coating), id(shop), pot, known, conditions.pressure, _settles(conditions, shop),
        _basis(conditions, shop), conditions.panels,
    )  # fmt: skip
    kept = _judged.get(key)
    if kept is None:
        kept = (moments, coating, shop, _failures(moments, conditions, coating, shop, pot))
        _judged[key] = kept  # with what its key names by identity, so that no other can take its place
        while len(_judged) > _MOST_KEPT:
            _judged.popitem(last=False)
    return Session(plan, outdoors, moments, *kept[-1])


def worst_of_air(conditions: Conditions, coating: Coating, shop: Shop, pot: Pot, plan: Plan) -> Level:
    """The worst that the rules without a film say, now and along a session; a stop where it is not known."""
    moments = air_along(conditions, shop, pot, plan)
    if moments is None:
        return Level.STOP
    now = (rule(conditions, coating, shop).level for rule in RULES)
    worst = Level.OK
    for level in chain(now, _air_levels_along(moments, conditions, coating, shop)):
        worst = max(worst, level, key=_RANK.__getitem__)
        if worst is Level.STOP:
            break
    return worst


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
    )
    return Finding(
        SESSION, session.level, measured=moment.seconds, unit="s", side=finding.side, quantity=finding.rule,
        deciding=False, remedies=(Remedy("read_after_fan"),), source=_SOURCE, figures=figures,
    )  # fmt: skip


def air_along(conditions: Conditions, shop: Shop, pot: Pot, plan: Plan) -> tuple[Moment, ...] | None:
    """The minutes of a session; None where the air in the room or outdoors is not known."""
    air, outdoors = air_at_work(conditions, shop), outdoor_air(conditions, shop)
    piece = surface_of_piece(conditions, shop)
    if air is None or outdoors is None or piece is None:
        return None
    # fifths of a kelvin and whole per cent: as fine as sensors are, and the same minute is not computed twice
    wall = air[0] if conditions.logged_air is None else conditions.logged_air
    return _course(
        _fifth(air[0]), _percent(air[1]), _fifth(piece.value), _fifth(wall), _fifth(outdoors[0]),
        _percent(outdoors[1]), plan, pot.substrate, conditions.pressure, fan_flow(shop),
        shop.room_volume, shop.wall_conductance, shop.limit("closed_room_leaks").value,
    )  # fmt: skip


def _fifth(celsius: float) -> float:
    """To a fifth of a kelvin."""
    return round(celsius * 5.0) / 5.0


def _percent(humidity: float) -> float:
    """To a whole per cent, 1 to 100 % [fraction]."""
    return min(1.0, max(0.01, round(humidity * 100.0) / 100.0))


def _settles(conditions: Conditions, shop: Shop) -> bool:
    """Whether the piece came in lately, as the surface rule asks."""
    stood = conditions.piece_in_room
    return stood is not None and stood < shop.limit("piece_settles").value


def _basis(conditions: Conditions, shop: Shop) -> tuple[str, float] | None:
    """How the piece is known."""
    piece = surface_of_piece(conditions, shop)
    return None if piece is None else (piece.basis, piece.uncertainty)


def fan_flow(shop: Shop) -> float:
    """What the fan moves [m3/s]; a name plate counts half."""
    return shop.fan_flow if shop.fan_flow_measured else flow_from_name_plate(shop.fan_flow)


@lru_cache(maxsize=4096)
def _course(
    air: float, humidity: float, piece: float, wall: float, outdoor_air: float, outdoor_humidity: float, plan: Plan,
    substrate: str, pressure: float, flow: float, volume: float, conductance: float | None, leaks: float,
) -> tuple[Moment, ...]:  # fmt: skip
    board = find_substrate(substrate)
    start = RoomStart(
        air, float(humidity_ratio(air, humidity, pressure)), wall,
        (Piece(board.thickness, board.density, board.heat_capacity, piece),),
    )  # fmt: skip
    wet = float(humidity_ratio(outdoor_air, outdoor_humidity, pressure))
    room = Room(volume, film_conductance=conductance, pressure=pressure)
    leak = volume * leaks / _HOUR
    opened = Segment(plan.open_for, outdoor_air, wet, exhaust=flow, infiltration=leak, make_up_rise=plan.make_up_rise)
    shut = Segment(plan.pause, outdoor_air, wet, infiltration=leak)
    segments = [opened]
    for _ in range(plan.coats - 1):
        segments += [shut, opened]
    seconds = np.array(sorted({*np.arange(0.0, plan.length, MINUTE), plan.length}))
    course = room_course(room, start, segments, seconds)
    return tuple(
        Moment(
            float(second), float(course.air_temperature[0, n]), float(course.relative_humidity[0, n]),
            float(course.dew_point[0, n]), float(course.piece_temperatures[0][0, n]), is_spraying(plan, second),
        )
        for n, second in enumerate(seconds)
        if is_open(plan, second)
    )  # fmt: skip


def is_open(plan: Plan, second: float) -> bool:
    """Whether the door is open and the fan on, with what was sprayed still wet."""
    return _into(plan, second) <= plan.open_for


def is_spraying(plan: Plan, second: float) -> bool:
    """Whether the gun is in hand."""
    return bool(plan.open_before <= _into(plan, second) <= plan.open_before + plan.spray)


def _into(plan: Plan, second: float) -> float:
    """Seconds since the door was last opened."""
    period = plan.open_for + plan.pause
    return second - min(second // period, plan.coats - 1) * period


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


def _failures(
    moments: Sequence[Moment], conditions: Conditions, coating: Coating, shop: Shop, pot: Pot
) -> tuple[Failure | None, Failure | None]:
    """The first stop and the first change along the minutes.

    Each rule on the air looks at one quantity, so it is asked at that quantity's extremes first, and the minutes are
    stepped through only for one that fails there. The film is asked while the gun is in hand, unless the air has
    failed by then.
    """
    failed = _air_failures(moments, conditions, coating, shop)
    spraying = _sprayed(moments)
    early = [each for each in failed if each.finding.level is Level.STOP and spraying]
    if not any(_when(each) <= spraying[0].seconds + MINUTE for each in early):
        failed += _film_failures(spraying, conditions, coating, shop, pot)
    return _main(failed, Level.STOP), _main(failed, Level.CHANGE)


def _air_failures(moments: Sequence[Moment], conditions: Conditions, coating: Coating, shop: Shop) -> list[Failure]:
    extremes = [conditions_then(conditions, moment, shop) for moment in _extremes(moments)]
    failed: list[Failure] = []
    for rule in RULES:
        if rule.__name__ not in _ALONG:
            continue
        worst = max((_RANK[rule(there, coating, shop).level] for there in extremes), default=0)
        for level in (Level.STOP, Level.CHANGE):
            if _RANK[level] <= worst:
                failed += _first(rule, level, moments, conditions, coating, shop)
    return failed


def _air_levels_along(
    moments: Sequence[Moment], conditions: Conditions, coating: Coating, shop: Shop
) -> Iterator[Level]:
    """The levels that count along the minutes: at the extremes alone, unless a panel may settle some of them."""
    if conditions.panels:
        yield from (each.finding.level for each in _air_failures(moments, conditions, coating, shop))
        return
    for moment in _extremes(moments):
        there = conditions_then(conditions, moment, shop)
        findings = (rule(there, coating, shop) for rule in RULES if rule.__name__ in _ALONG)
        yield from (each.level for each in findings if _counts(each, shop))


def _first(
    rule: Rule, level: Level, moments: Sequence[Moment], conditions: Conditions, coating: Coating, shop: Shop
) -> list[Failure]:
    """The first minute at which a rule comes to a level that counts."""
    for moment in moments:
        there = conditions_then(conditions, moment, shop)
        finding = settled_by_panel(rule(there, coating, shop), there, shop)
        if finding.level is level and _counts(finding, shop):
            return [Failure(moment, finding)]
    return []


def _counts(finding: Finding, shop: Shop) -> bool:
    """Whether a finding along a session counts: a change must be outside by what the room model is sure of."""
    if finding.level is Level.STOP or finding.margin is None:
        return True
    sure = "session_tolerance_temperature" if finding.unit in ("K", "°C") else "session_tolerance_humidity"
    return not abs(finding.margin) <= shop.limit(sure).value


def _main(failed: Sequence[Failure], level: Level) -> Failure | None:
    """The failure to tell: of those within a minute of the first, what lies deepest (dew, then cold, then damp)."""
    same = [each for each in failed if each.finding.level is level]
    if not same:
        return None
    first = min(map(_when, same))
    close = [each for each in same if _when(each) <= first + MINUTE]
    return min(close, key=lambda each: (_DEEPEST.index(each.finding.rule), _when(each)))


def _when(failure: Failure) -> float:
    return failure.moment.seconds


def _extremes(moments: Sequence[Moment]) -> list[Moment]:
    """The minutes at which something is at its highest or lowest."""
    picks = (
        lambda moment: moment.air_temperature,
        lambda moment: moment.relative_humidity,
        lambda moment: moment.surface - moment.dew_point,
        lambda moment: moment.surface,
    )
    found = [edge(moments, key=pick) for pick in picks for edge in (min, max)]
    return list({moment.seconds: moment for moment in found}.values())


def _film_failures(
    spraying: Sequence[Moment], conditions: Conditions, coating: Coating, shop: Shop, pot: Pot
) -> list[Failure]:
    """The first failure of each film rule and level; where both ends of a coat are good, so is what lies between."""
    ends = _ends(spraying)
    compute_ladders(_film_cases(spraying, conditions, coating, shop, pot), film_settings(shop))
    at_ends = _films(ends, conditions, coating, shop, pot)
    if all(failure.moment is spraying[0] for failure in at_ends) or len(ends) == len(spraying):
        return at_ends
    return _films(spraying, conditions, coating, shop, pot)


def _ends(spraying: Sequence[Moment]) -> list[Moment]:
    """The first and the last minute of each coat."""
    return [
        moment
        for before, moment, after in zip([None, *spraying], spraying, [*spraying[1:], None], strict=False)
        if before is None or after is None or after.seconds - before.seconds > 3 * MINUTE
    ]


def _film_cases(
    moments: Sequence[Moment], conditions: Conditions, coating: Coating, shop: Shop, pot: Pot
) -> list[FilmCase]:
    """The films of these minutes, and of now: one batch costs little more than one film."""
    mix = mix_of(coating, pot.thinner or fastest(coating), pot.retarder)
    then = [conditions, *(conditions_then(conditions, moment, shop) for moment in moments)]
    cases = [case_of(each, shop, pot, mix) for each in then]
    return [case for case in cases if case is not None]


def prepare_films(setups: Sequence[tuple[Conditions, Pot, Plan]], coating: Coating, shop: Shop) -> None:
    """Compute in one batch the films that judging these sessions will look up."""
    cases: list[FilmCase] = []
    for conditions, pot, plan in setups:
        moments = air_along(conditions, shop, pot, plan) or ()
        spraying = _sprayed(moments)
        cases += _film_cases(spraying, conditions, coating, shop, pot)
    compute_ladders(cases, film_settings(shop))


def prepare_around(conditions: Conditions, coating: Coating, shop: Shop, pot: Pot, plan: Plan) -> None:
    """Compute the films that the next minutes may ask for: air and piece up to a kelvin off what they are now."""
    moments = air_along(conditions, shop, pot, plan) or ()
    spraying = _sprayed(moments)
    low, high = FILM_AIR
    around = {
        replace(case, air_temperature=case.air_temperature + more, piece=case.piece + more + apart)
        for case in _film_cases(spraying, conditions, coating, shop, pot)
        for more in (-1.0, 0.0, 1.0)
        for apart in (-1.0, 0.0, 1.0)
        if low <= case.air_temperature + more <= high and low <= case.piece + more + apart <= high
    }
    compute_ladders(list(around), film_settings(shop))


def _films(moments: Sequence[Moment], conditions: Conditions, coating: Coating, shop: Shop, pot: Pot) -> list[Failure]:
    then = [conditions_then(conditions, moment, shop) for moment in moments]
    found: dict[tuple[str, Level], Failure] = {}
    for moment, here in zip(moments, then, strict=True):
        film = film_view(here, coating, shop, pot)
        for rule in FILM_RULES:
            finding = settled_by_panel(rule(film, here, coating, shop), here, shop)
            if _RANK[finding.level]:
                found.setdefault((finding.rule, finding.level), Failure(moment, finding))
    return list(found.values())


def _sprayed(moments: Sequence[Moment]) -> list[Moment]:
    """The minutes with the gun in hand, as far as the film model reaches."""
    return [moment for moment in moments if moment.spraying and _sprayable(moment)]


def _sprayable(moment: Moment) -> bool:
    return FILM_AIR[0] <= moment.air_temperature <= FILM_AIR[1] and FILM_AIR[0] <= moment.surface <= FILM_AIR[1]
