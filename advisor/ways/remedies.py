"""The cheapest ways to a GO for a session ahead, each computed by running the session again with it.

Tried: a slower thinner or retarder within the gates, fewer coats, pieces and room warmed beforehand, make-up air
warmed, and these together. None lowers the exhaust, shuts an opening or passes a gate: they change the pot, the plan's
coats, the room before the door is opened, and the air that comes in.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

import numpy as np

from advisor.catalog.materials import find_substrate
from advisor.errors import OutOfRange
from advisor.film.film_map import Films
from advisor.film.mix import fastest, mix_of, most_retarder
from advisor.judge.conditions import (
    AIR_QUANTITIES,
    OUTDOORS,
    Conditions,
    Measured,
    Surface,
    air_at_work,
    outdoor_air,
    outdoor_place,
    surface_of_piece,
    usable,
)
from advisor.judge.course import CURING, room_of
from advisor.judge.film_rules import UNKNOWN_POT, Pot, clearest_mixes, slower_mixes
from advisor.judge.finding import Level, Side
from advisor.judge.plan import Plan, fan_flows
from advisor.judge.session import SESSION, prepare_films, worst_of_air
from advisor.judge.verdict import RANK, State, Verdict, judge
from advisor.outlook.outlook import Outlook
from advisor.physics.air.moist_air import MOLAR_MASS_RATIO, dew_point, humidity_ratio, relative_humidity_from_dew_point
from advisor.physics.basics import settled
from advisor.physics.room.piece import Piece, warm_up_time
from advisor.physics.room.room import RoomStart, Segment, room_course
from advisor.physics.room.room_needs import make_up_power
from advisor.shop.shop import Shop

THINNER, RETARDER, FEWER, WARM_PIECES, WARM_ROOM, WARM_MAKE_UP, WARM_MAKE_UP_AND_PIECES, WARM_THROUGH = (
    "thinner", "retarder", "fewer_coats", "warm_pieces", "warm_room", "warm_make_up", "warm_make_up_and_pieces",
    "warm_through",
)  # fmt: skip
WAIT_UNTIL = "wait_until"
MOST_SHOWN = 3
_WAITING = 0.2  # of the bother of as many minutes of work
_ENOUGH = 3
_SHORTEST_WAIT = 20.0  # [min]
_KWH = 3.6e6  # [J]
_MINUTES_A_KWH = 4.0  # of bother; only the order of the ways hangs on it
_BOTHER = {THINNER: 3.0, RETARDER: 4.0, FEWER: 5.0}  # [min]
_HEATED_FOR = (15.0, 30.0, 45.0, 60.0, 90.0, 120.0, 180.0)  # [min] a room is heated before the door is opened
_STAND = 300.0  # [s] heater off before the door is opened
_RISES = (2.0, 4.0, 6.0, 8.0, 10.0, 12.0, 15.0, 18.0, 22.0, 26.0, 30.0)  # [K] of make-up air
_PIECES_TO = (1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0)  # [K] over what they are
_THROUGH_BY = (2.0, 4.0, 6.0, 8.0, 10.0)  # [K]
_A_DAY = 1440.0  # [min] for walls to follow
_MOVES_PIECES = (WARM_PIECES, WARM_ROOM, WARM_MAKE_UP_AND_PIECES, WARM_THROUGH, WAIT_UNTIL)
_WARMTH_HELPS = ("air_temperature", "film_forming", "surface", "relative_humidity", "blush", CURING)
_TO_SPARE = 0.5  # [K]
_OVER_BAND = 4.0  # [K] the air that comes in may be warmer than the room may get: it is mixed and meets the walls


@dataclass(frozen=True)
class Way:
    """One way to a better verdict, judged: what to do, what it costs, and what it comes to.

    minutes of heating or standing, energy [J], power [W] of a heater; temperature [°C] and humidity [fraction] the room
    or the make-up air are brought to; pieces [°C]; rise [K] of the make-up air. pot, plan and conditions: as they are
    then. measure: it holds for a piece that is measured then.
    """

    kind: str
    state: State
    pot: Pot
    plan: Plan
    conditions: Conditions
    minutes: float = 0.0
    energy: float = 0.0
    power: float | None = None
    temperature: float | None = None
    relative_humidity: float | None = None
    rise: float | None = None
    pieces: float | None = None
    measure: bool = False

    @property
    def effort(self) -> float:
        """For the order only."""
        waiting = _WAITING if self.kind == WAIT_UNTIL else 1.0
        return _BOTHER.get(self.kind, 0.0) + self.minutes * waiting + self.energy / _KWH * _MINUTES_A_KWH


@dataclass(frozen=True, eq=False)
class Ahead:
    """The outlook of the room and of the air outdoors."""

    room: Outlook
    outdoors: Outlook


def session_ways(
    verdict: Verdict,
    conditions: Conditions,
    shop: Shop,
    now: datetime,
    pot: Pot = UNKNOWN_POT,
    ahead: Ahead | None = None,
) -> tuple[Way, ...]:
    """At most three ways, least effort first, each judged to end better than now: in a GO before a GO with changes.

    None for a GO, where the session is not known, or where readings are missing: air is not mended by guessing. ahead:
    where it is known, waiting is one of the ways.
    """
    session = verdict.session
    if session is None or verdict.state is State.GO or verdict.cannot_tell:
        return ()
    found: list[Way] = []
    # the air alone first, which costs little; then the film of those that pass it best, least effort first
    tries = [_sifted(tried(verdict, conditions, shop, pot, session.plan), verdict, shop) for tried in _TRIES]
    if ahead is not None and verdict.state is State.WAIT:
        tries.append(_sifted(_later(ahead, conditions, shop, now, pot, session.plan), verdict, shop))
    setups = [(way.conditions, way.pot, way.plan) for ways in tries for way in ways]
    films = verdict.films or Films(shop)
    prepare_films(setups, verdict.coating, shop, films)
    for ways in tries:
        better: Way | None = None
        for way in ways:
            for each in _as_known_then(way, conditions, shop):
                then = judge(each.conditions, verdict.coating, shop, now, way.pot, way.plan, films)
                if RANK[then.state] < RANK[verdict.state if better is None else better.state]:
                    better = replace(each, state=then.state)
            if better is not None and better.state is State.GO:
                break
        if better is not None:
            found.append(better)
    found = [way for way in found if way.kind != WAIT_UNTIL or way.state is State.GO]
    goes = sorted((way for way in found if way.state is State.GO), key=lambda way: way.effort)
    rest = sorted((way for way in found if way.state is not State.GO), key=lambda way: way.effort)
    return tuple([*goes, *rest][:MOST_SHOWN])


def _as_known_then(way: Way, conditions: Conditions, shop: Shop) -> Iterator[Way]:
    """The way as it will be judged: the piece guessed anew from the new air, then measured, which must be said."""
    piece = surface_of_piece(way.conditions, shop)
    air = usable(way.conditions, "air_temperature", shop)
    if way.kind not in _MOVES_PIECES or piece is None or air is None or air.value is None:
        yield way
        return
    key = (conditions.place, "surface_temperature")
    values = {name: value for name, value in way.conditions.values.items() if name != key}
    unmeasured = replace(way.conditions, values=values, piece=None, logged_air=None)
    if conditions.logged_air is None:
        guess = surface_of_piece(unmeasured, shop)
    else:  # the log follows the room as the pieces do
        below = shop.limit("surface_below_logged_air_uncertainty")
        guess = Surface(min(piece.value, air.value), below.value, "logged_air", below)
    yield replace(way, conditions=replace(way.conditions, values=values, piece=guess))
    measured = Measured(piece.value, shop.accuracy(None, "surface_temperature"), 0.0)
    known = replace(way.conditions, values={**values, key: measured}, piece=None)
    yield replace(way, conditions=known, measure=True)


def _sifted(ways: Iterator[Way], verdict: Verdict, shop: Shop) -> list[Way]:
    """Those of one kind that are worth judging in full; no further asked once the air lets three of them be a GO."""
    asked: list[tuple[State, Way]] = []
    goes = 0
    for way in ways:
        state = _air_state(way, verdict, shop)
        asked.append((state, way))
        goes += state is State.GO
        if goes >= _ENOUGH:
            break
    return _worth_judging(asked, verdict.state)


def _worth_judging(ways: Sequence[tuple[State, Way]], now: State) -> list[Way]:
    """A few of one kind in order of effort: the first two and the last that the air allows, of the best state."""
    fit = [each for each in ways if RANK[each[0]] < RANK[now]]
    if not fit:
        return []
    best = min((state for state, _ in fit), key=RANK.__getitem__)
    same = [way for state, way in fit if state is best]
    picks = (0, 1, len(same) - 1) if best is State.GO else (0, len(same) // 2, len(same) - 1)
    return [same[n] for n in sorted({min(n, len(same) - 1) for n in picks})]


def _air_state(way: Way, verdict: Verdict, shop: Shop) -> State:
    """What the rules without a film say of a way, now and along its session."""
    worst = worst_of_air(way.conditions, verdict.coating, shop, way.pot, way.plan)
    return {Level.STOP: State.WAIT, Level.CHANGE: State.CHANGE}.get(worst, State.GO)


def _later(ahead: Ahead, conditions: Conditions, shop: Shop, now: datetime, pot: Pot, plan: Plan) -> Iterator[Way]:
    """The same session in the likeliest air of each half hour to come, the pieces by then as warm as the room."""
    outdoors = outdoor_place(conditions, shop) or OUTDOORS
    for n in range(1, len(ahead.room.times), 2):
        start = float(ahead.room.times[n])
        wait = (start - now.timestamp()) / 60.0
        m = int(np.argmin(np.abs(ahead.outdoors.times - start)))
        if wait < _SHORTEST_WAIT or abs(float(ahead.outdoors.times[m]) - start) > 900.0:
            continue
        values = dict(conditions.values)
        for place, outlook, at in ((conditions.place, ahead.room, n), (outdoors, ahead.outdoors, m)):
            air, dew = float(outlook.air_temperature[at]), float(outlook.dew_point[at])
            damp = float(relative_humidity_from_dew_point(air, min(dew, air)))
            for quantity, value in zip(AIR_QUANTITIES, (air, damp), strict=True):
                was = values.get((place, quantity)) or Measured(value, 0.5, 0.0)
                values[place, quantity] = Measured(value, was.uncertainty, 0.0)
        then = replace(conditions, values=values, logged_air=None)
        piece = surface_of_piece(conditions, shop)
        if piece is not None:
            room = float(ahead.room.air_temperature[max(0, n - 4) : n + 1].mean())
            then = _with_piece(then, replace(piece, value=room), shop)
        yield Way(WAIT_UNTIL, State.WAIT, pot, plan, then, wait, temperature=float(ahead.room.air_temperature[n]))


Tries = Callable[[Verdict, Conditions, Shop, Pot, Plan], Iterator[Way]]


def _pots(verdict: Verdict, conditions: Conditions, shop: Shop, pot: Pot, plan: Plan) -> Iterator[Way]:
    """A slower thinner, then retarder, where it is the film that blushes or closes too fast."""
    coating = verdict.coating
    if coating.carrier == "water" or not _fails(verdict, ("blush", "closing", "relative_humidity")):
        return
    taken = mix_of(coating, pot.thinner or fastest(coating), pot.retarder)
    mixes = slower_mixes(coating, taken) if most_retarder(coating) else clearest_mixes(coating, taken)
    for mix in mixes:
        kind = THINNER if mix.retarder <= taken.retarder else RETARDER
        yield Way(kind, State.WAIT, replace(pot, thinner=mix.thinner, retarder=mix.retarder), plan, conditions)


def _fewer(verdict: Verdict, conditions: Conditions, shop: Shop, pot: Pot, plan: Plan) -> Iterator[Way]:
    for coats in range(plan.coats - 1, 0, -1):
        yield Way(FEWER, State.WAIT, pot, replace(plan, coats=coats), conditions)


def _pieces(verdict: Verdict, conditions: Conditions, shop: Shop, pot: Pot, plan: Plan) -> Iterator[Way]:
    """Pieces warmer than the room, from a warm room or cupboard, where dew is what fails."""
    piece = surface_of_piece(conditions, shop)
    if piece is None or not _fails(verdict, ("surface", "piece_temperature"), Side.LOW):
        return
    for rise in _PIECES_TO:
        target = piece.value + rise
        minutes, energy = _warming(piece, target, pot)
        there = _with_piece(conditions, replace(piece, value=target), shop)
        yield Way(WARM_PIECES, State.WAIT, pot, plan, there, minutes, energy, pieces=target)


def _warming(piece: Surface, target: float, pot: Pot) -> tuple[float, float]:
    """Minutes and heat [J] that pieces take to a target, in a place as much warmer again."""
    board = find_substrate(pot.substrate)
    cold = Piece(board.thickness, board.density, board.heat_capacity, piece.value)
    rise = target - piece.value
    return float(warm_up_time(cold, piece.value + 2.0 * rise, target)) / 60.0, float(cold.capacity) * rise


def _rooms(verdict: Verdict, conditions: Conditions, shop: Shop, pot: Pot, plan: Plan) -> Iterator[Way]:
    """The room and what stands in it heated first, door shut, by the shop's heater or a usual one."""
    if not _fails(verdict, _WARMTH_HELPS):
        return
    power = shop.limit("heater_power").value if shop.heater is None else shop.heater
    for minutes in _HEATED_FOR:
        heated = _heated(conditions, shop, pot, power, minutes)
        if heated is None:
            return
        air = heated.at_work("air_temperature").value
        if air is None or air > verdict.coating.air_temperature.go_high.value:
            return
        humidity = heated.at_work("relative_humidity").value
        yield Way(
            WARM_ROOM, State.WAIT, pot, plan, heated, minutes + _STAND / 60.0, power * minutes * 60.0, power, air,
            humidity,
        )  # fmt: skip


def _make_up(verdict: Verdict, conditions: Conditions, shop: Shop, pot: Pot, plan: Plan) -> Iterator[Way]:
    """The air that comes in warmed on its way, as much as it takes; the exhaust stays as it is."""
    outdoors = outdoor_air(conditions, shop)
    air = usable(conditions, "air_temperature", shop)
    if outdoors is None or air is None or air.value is None:
        return
    if not _fails(verdict, ("air_temperature", "film_forming", "relative_humidity", "blush", CURING)):
        return
    yield from _risen(WARM_MAKE_UP, outdoors, verdict, conditions, shop, pot, plan)


def _make_up_and_pieces(verdict: Verdict, conditions: Conditions, shop: Shop, pot: Pot, plan: Plan) -> Iterator[Way]:
    """The same with the pieces warmed beforehand, where the air outdoors is damp enough to wet them."""
    outdoors, piece = outdoor_air(conditions, shop), surface_of_piece(conditions, shop)
    if outdoors is None or piece is None or not _fails(verdict, ("surface", "relative_humidity", "blush")):
        return
    target = float(dew_point(outdoors[0], outdoors[1])) + shop.limit("surface_margin").value + _TO_SPARE
    if not piece.value < target <= verdict.coating.air_temperature.go_high.value:
        return
    minutes, energy = _warming(piece, target, pot)
    there = _with_piece(conditions, replace(piece, value=target), shop)
    for way in _risen(WARM_MAKE_UP_AND_PIECES, outdoors, verdict, there, shop, pot, plan):
        yield replace(way, minutes=minutes, energy=way.energy + energy, pieces=target)


def _risen(
    kind: str, outdoors: tuple[float, float], verdict: Verdict, conditions: Conditions, shop: Shop, pot: Pot, plan: Plan
) -> Iterator[Way]:
    for rise in _RISES:
        held = outdoors[0] + rise
        if held > verdict.coating.air_temperature.go_high.value + _OVER_BAND:
            return
        power = float(make_up_power(fan_flows(shop)[-1], outdoors[0], held, conditions.pressure))
        yield Way(
            kind, State.WAIT, pot, replace(plan, make_up_rise=rise), conditions,
            energy=power * plan.fan_time, power=power, temperature=held, rise=rise,
        )  # fmt: skip


def _through(verdict: Verdict, conditions: Conditions, shop: Shop, pot: Pot, plan: Plan) -> Iterator[Way]:
    """Room, walls and pieces kept warm since the day before; the air that comes in warmed where that falls short."""
    air, outdoors = air_at_work(conditions, shop), outdoor_air(conditions, shop)
    piece = surface_of_piece(conditions, shop)
    if air is None or outdoors is None or piece is None or not _fails(verdict, _WARMTH_HELPS):
        return
    warmest = verdict.coating.air_temperature.go_high.value
    dry = float(humidity_ratio(*air, conditions.pressure))
    for rise, target in ((rise, air[0] + step) for rise in (0.0, 4.0, 8.0, 12.0) for step in _THROUGH_BY):
        held = outdoors[0] + rise
        if target > warmest or held > warmest + _OVER_BAND:
            continue
        there = _room_at(conditions, target, dry, target)
        there = _with_piece(there, replace(piece, value=target), shop)
        power = float(make_up_power(fan_flows(shop)[-1], outdoors[0], held, conditions.pressure))
        yield Way(
            WARM_THROUGH, State.WAIT, pot, replace(plan, make_up_rise=rise), there, _A_DAY,
            power * plan.fan_time, power, target, rise=rise, pieces=target,
        )  # fmt: skip


_TRIES: tuple[Tries, ...] = (_pots, _fewer, _pieces, _rooms, _make_up, _make_up_and_pieces, _through)


def _fails(verdict: Verdict, rules: Sequence[str], side: Side | None = None) -> bool:
    """Whether one of these rules keeps from a GO, now or along the session."""
    for finding in verdict.findings:
        if finding.level in (Level.OK, Level.UNKNOWN):
            continue
        name = finding.quantity if finding.rule == SESSION else finding.rule
        if name in rules and (side is None or name == "surface" or finding.side is side):
            return True
    return False


def _with_piece(conditions: Conditions, piece: Surface, shop: Shop) -> Conditions:
    """The conditions with the piece at another temperature, as well known as it is."""
    if usable(conditions, "surface_temperature", shop) is None:
        return replace(conditions, piece=piece)
    key = (conditions.place, "surface_temperature")
    was = conditions.at_work("surface_temperature")
    return replace(conditions, values={**conditions.values, key: replace(was, value=piece.value, rivals=())})


def _heated(conditions: Conditions, shop: Shop, pot: Pot, power: float, minutes: float) -> Conditions | None:
    """The room after so much heating with the door shut, and five minutes with the heater off."""
    air, outdoors = air_at_work(conditions, shop), outdoor_air(conditions, shop)
    piece = surface_of_piece(conditions, shop)
    if air is None or piece is None or outdoors is None:
        return None
    pressure, board = conditions.pressure, find_substrate(pot.substrate)
    start = RoomStart(
        air[0], float(humidity_ratio(*air, pressure)),
        air[0] if conditions.logged_air is None else conditions.logged_air,
        (Piece(board.thickness, board.density, board.heat_capacity, piece.value),),
    )  # fmt: skip
    wet = float(humidity_ratio(outdoors[0], outdoors[1], pressure))
    leak = shop.room_volume * shop.limit("closed_room_leaks").value / 3600.0
    room = room_of(shop, pressure)
    shut = Segment(minutes * 60.0, outdoors[0], wet, infiltration=leak)
    try:
        course = room_course(room, start, [replace(shut, heater=power), replace(shut, duration=_STAND)])
    except OutOfRange:
        return None
    warm, ratio, walls = (
        float(settled(each[0, -1])) for each in (course.air_temperature, course.humidity_ratio, course.wall_temperature)
    )
    heated = _room_at(conditions, warm, ratio, walls)
    return _with_piece(heated, replace(piece, value=float(settled(course.piece_temperatures[0][0, -1]))), shop)


def _room_at(conditions: Conditions, air: float, ratio: float, walls: float) -> Conditions:
    """The room with other air [°C, kg/kg] and walls [°C], as well known as now."""
    saturated = float(humidity_ratio(air, 1.0, conditions.pressure))
    # humidity by the vapour's share of saturation: e / e_s with e = p w / (0.622 + w)
    humidity = min(1.0, ratio / (MOLAR_MASS_RATIO + ratio) * (MOLAR_MASS_RATIO + saturated) / saturated)
    values = {"air_temperature": air, "relative_humidity": humidity}
    return replace(conditions.with_values(values), logged_air=walls)
