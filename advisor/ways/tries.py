"""What is tried for a session that is no GO: each way as the room, the pieces, the pot and the plan would be then.

A slower thinner or retarder within the gates, fewer coats, pieces and room warmed beforehand, make-up air warmed, these
together, and waiting. None lowers the exhaust, shuts an opening or passes a gate: they change the pot, the plan's
coats, the room before the door is opened, and the air that comes in.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

import numpy as np

from advisor.errors import OutOfRange
from advisor.film.mix import fastest, mix_of, most_retarder
from advisor.judge.conditions import (
    AIR_QUANTITIES,
    OUTDOORS,
    Conditions,
    Measured,
    Surface,
    outdoor_place,
    usable,
)
from advisor.judge.course import CURING, board_at, room_of
from advisor.judge.film_rules import Pot, clearest_mixes, slower_mixes
from advisor.judge.finding import Level, Side
from advisor.judge.plan import Plan, fan_flows
from advisor.judge.session import SESSION
from advisor.judge.verdict import State, Verdict
from advisor.outlook.outlook import Outlook
from advisor.physics.air.moist_air import MOLAR_MASS_RATIO, dew_point, humidity_ratio, relative_humidity_from_dew_point
from advisor.physics.basics import settled
from advisor.physics.room.piece import warm_up_time
from advisor.physics.room.room import RoomStart, Segment, room_course
from advisor.physics.room.room_needs import make_up_power
from advisor.shop.shop import Shop

THINNER, RETARDER, FEWER, WARM_PIECES, WARM_ROOM, WARM_MAKE_UP, WARM_MAKE_UP_AND_PIECES, WARM_THROUGH = (
    "thinner", "retarder", "fewer_coats", "warm_pieces", "warm_room", "warm_make_up", "warm_make_up_and_pieces",
    "warm_through",
)  # fmt: skip
WAIT_UNTIL = "wait_until"
_WAITING = 0.2  # of the bother of as many minutes of work
_SHORTEST_WAIT = 20.0  # [min]
_KWH = 3.6e6  # [J]
_MINUTES_A_KWH = 4.0  # of bother; only the order of the ways hangs on it
_BOTHER = {THINNER: 3.0, RETARDER: 4.0, FEWER: 5.0}  # [min]
_HEATED_FOR = (15.0, 30.0, 45.0, 60.0, 90.0, 120.0, 180.0)  # [min] a room is heated before the door is opened
_STAND = 300.0  # [s] heater off before the door is opened
_RISES = (2.0, 4.0, 6.0, 8.0, 10.0, 12.0, 15.0, 18.0, 22.0, 26.0, 30.0)  # [K] of make-up air
_PIECES_TO = (1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0)  # [K] over what they are
_THROUGH_BY = (2.0, 4.0, 6.0, 8.0, 10.0)  # [K]
_RISES_THROUGH = (0.0, 4.0, 8.0, 12.0)  # [K] of make-up air beside it
_A_DAY = 1440.0  # [min] for walls to follow
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


@dataclass(frozen=True)
class Here:
    """The session that is no GO: as_it_is, a way with nothing done; air, air outdoors [°C, fraction] and the piece."""

    verdict: Verdict
    shop: Shop
    as_it_is: Way
    air: tuple[float, float]
    outdoors: tuple[float, float]
    piece: Surface

    @property
    def warmest(self) -> float:
        """The warmest that the coating's band lets the room be [°C]."""
        return self.verdict.coating.air_temperature.go_high.value

    def fails(self, rules: Sequence[str], side: Side | None = None) -> bool:
        """Whether one of these rules keeps from a GO, now or along the session."""
        failing = [
            (finding.quantity if finding.rule == SESSION else finding.rule, finding.side)
            for finding in self.verdict.findings
            if finding.level not in (Level.OK, Level.UNKNOWN)
        ]
        return any(name in rules and (side is None or name == "surface" or of is side) for name, of in failing)

    def with_piece(self, conditions: Conditions, celsius: float) -> Conditions:
        """The conditions with the piece at another temperature [°C], as well known as it is."""
        if usable(conditions, "surface_temperature", self.shop) is None:
            return replace(conditions, piece=replace(self.piece, value=celsius))
        was = conditions.at_work("surface_temperature")
        key = (conditions.place, "surface_temperature")
        return replace(conditions, values={**conditions.values, key: replace(was, value=celsius, rivals=())})

    def warming(self, target: float) -> tuple[float, float]:
        """Minutes and heat [J] that pieces take to a target [°C], in a place as much warmer again."""
        cold, now = board_at(self.piece.value, self.as_it_is.pot.substrate), self.piece.value
        rise = target - now
        return float(warm_up_time(cold, now + 2.0 * rise, target)) / 60.0, float(cold.capacity) * rise

    def made_up(self, kind: str, there: Conditions, rises: Sequence[float]) -> Iterator[Way]:
        """The air that comes in warmed by each of these [K], as far as the coating's band bears it."""
        plan = self.as_it_is.plan
        for rise in rises:
            held = self.outdoors[0] + rise
            if held <= self.warmest + _OVER_BAND:
                power = float(make_up_power(fan_flows(self.shop)[-1], self.outdoors[0], held, there.pressure))
                yield replace(
                    self.as_it_is, kind=kind, plan=replace(plan, make_up_rise=rise), conditions=there,
                    energy=power * plan.fan_time, power=power, temperature=held, rise=rise,
                )  # fmt: skip


def later(here: Here, ahead: Ahead, now: datetime) -> Iterator[Way]:
    """The same session in the likeliest air of each half hour to come, the pieces by then as warm as the room."""
    conditions, room = here.as_it_is.conditions, ahead.room
    outdoors = outdoor_place(conditions, here.shop) or OUTDOORS
    for n in range(1, len(room.times), 2):
        start = float(room.times[n])
        wait = (start - now.timestamp()) / 60.0
        m = int(np.argmin(np.abs(ahead.outdoors.times - start)))
        if wait < _SHORTEST_WAIT or abs(float(ahead.outdoors.times[m]) - start) > 900.0:
            continue
        values = dict(conditions.values)
        for place, outlook, at in ((conditions.place, room, n), (outdoors, ahead.outdoors, m)):
            air, dew = float(outlook.air_temperature[at]), float(outlook.dew_point[at])
            damp = float(relative_humidity_from_dew_point(air, min(dew, air)))
            for quantity, value in zip(AIR_QUANTITIES, (air, damp), strict=True):
                was = values.get((place, quantity)) or Measured(value, 0.5, 0.0)
                values[place, quantity] = Measured(value, was.uncertainty, 0.0)
        pieces = float(room.air_temperature[max(0, n - 4) : n + 1].mean())
        then = here.with_piece(replace(conditions, values=values, logged_air=None), pieces)
        warm = float(room.air_temperature[n])
        yield replace(here.as_it_is, kind=WAIT_UNTIL, conditions=then, minutes=wait, temperature=warm)


def _pots(here: Here) -> Iterator[Way]:
    """A slower thinner, then retarder, where it is the film that blushes or closes too fast."""
    coating, pot = here.verdict.coating, here.as_it_is.pot
    if coating.carrier == "water" or not here.fails(("blush", "closing", "relative_humidity")):
        return
    taken = mix_of(coating, pot.thinner or fastest(coating), pot.retarder)
    for mix in slower_mixes(coating, taken) if most_retarder(coating) else clearest_mixes(coating, taken):
        kind = THINNER if mix.retarder <= taken.retarder else RETARDER
        yield replace(here.as_it_is, kind=kind, pot=replace(pot, thinner=mix.thinner, retarder=mix.retarder))


def _fewer(here: Here) -> Iterator[Way]:
    """Fewer coats."""
    plan = here.as_it_is.plan
    for coats in range(plan.coats - 1, 0, -1):
        yield replace(here.as_it_is, kind=FEWER, plan=replace(plan, coats=coats))


def _pieces(here: Here) -> Iterator[Way]:
    """Pieces warmer than the room, from a warm room or cupboard, where dew is what fails."""
    if not here.fails(("surface", "piece_temperature"), Side.LOW):
        return
    for target in (here.piece.value + rise for rise in _PIECES_TO):
        minutes, energy = here.warming(target)
        there = here.with_piece(here.as_it_is.conditions, target)
        yield replace(here.as_it_is, kind=WARM_PIECES, conditions=there, minutes=minutes, energy=energy, pieces=target)


def _rooms(here: Here) -> Iterator[Way]:
    """The room and what stands in it heated first, door shut, by the shop's heater or a usual one."""
    if not here.fails(_WARMTH_HELPS):
        return
    power = here.shop.limit("heater_power").value if here.shop.heater is None else here.shop.heater
    for minutes in _HEATED_FOR:
        heated = _heated(here, power, minutes)
        air, humidity = (None if heated is None else heated.at_work(quantity).value for quantity in AIR_QUANTITIES)
        if heated is None or air is None or air > here.warmest:
            return
        yield replace(
            here.as_it_is, kind=WARM_ROOM, conditions=heated, minutes=minutes + _STAND / 60.0,
            energy=power * minutes * 60.0, power=power, temperature=air, relative_humidity=humidity,
        )  # fmt: skip


def _make_up(here: Here) -> Iterator[Way]:
    """The air that comes in warmed on its way, as much as it takes; the exhaust stays as it is."""
    if here.fails(("air_temperature", "film_forming", "relative_humidity", "blush", CURING)):
        yield from here.made_up(WARM_MAKE_UP, here.as_it_is.conditions, _RISES)


def _make_up_and_pieces(here: Here) -> Iterator[Way]:
    """The same with the pieces warmed beforehand, where the air outdoors is damp enough to wet them."""
    target = float(dew_point(*here.outdoors)) + here.shop.limit("surface_margin").value + _TO_SPARE
    helped = here.fails(("surface", "relative_humidity", "blush"))
    if not helped or not here.piece.value < target <= here.warmest:
        return
    minutes, energy = here.warming(target)
    there = here.with_piece(here.as_it_is.conditions, target)
    for way in here.made_up(WARM_MAKE_UP_AND_PIECES, there, _RISES):
        yield replace(way, minutes=minutes, energy=way.energy + energy, pieces=target)


def _through(here: Here) -> Iterator[Way]:
    """Room, walls and pieces kept warm since the day before; the air that comes in warmed where that falls short."""
    if not here.fails(_WARMTH_HELPS):
        return
    conditions = here.as_it_is.conditions
    dry = float(humidity_ratio(*here.air, conditions.pressure))
    targets = [here.air[0] + step for step in _THROUGH_BY if here.air[0] + step <= here.warmest]
    for rise, target in ((rise, target) for rise in _RISES_THROUGH for target in targets):
        there = here.with_piece(_room_at(conditions, target, dry, target), target)
        for way in here.made_up(WARM_THROUGH, there, (rise,)):
            yield replace(way, minutes=_A_DAY, temperature=target, pieces=target)


TRIES: tuple[Callable[[Here], Iterator[Way]], ...] = (
    _pots, _fewer, _pieces, _rooms, _make_up, _make_up_and_pieces, _through,
)  # fmt: skip


def _heated(here: Here, power: float, minutes: float) -> Conditions | None:
    """The room after so much heating with the door shut, and five minutes with the heater off."""
    conditions, shop = here.as_it_is.conditions, here.shop
    pressure, walls = conditions.pressure, conditions.logged_air
    start = RoomStart(
        here.air[0], float(humidity_ratio(*here.air, pressure)), here.air[0] if walls is None else walls,
        (board_at(here.piece.value, here.as_it_is.pot.substrate),),
    )  # fmt: skip
    wet = float(humidity_ratio(*here.outdoors, pressure))
    leak = shop.room_volume * shop.limit("closed_room_leaks").value / 3600.0
    shut = Segment(minutes * 60.0, here.outdoors[0], wet, infiltration=leak)
    stages = [replace(shut, heater=power), replace(shut, duration=_STAND)]
    try:
        course = room_course(room_of(shop, pressure), start, stages)
    except OutOfRange:
        return None
    ends = (course.air_temperature, course.humidity_ratio, course.wall_temperature, course.piece_temperatures[0])
    warm, ratio, wall, piece = (float(settled(each[0, -1])) for each in ends)
    return here.with_piece(_room_at(conditions, warm, ratio, wall), piece)


def _room_at(conditions: Conditions, air: float, ratio: float, walls: float) -> Conditions:
    """The room with other air [°C, kg/kg] and walls [°C], as well known as now."""
    saturated = float(humidity_ratio(air, 1.0, conditions.pressure))
    # humidity by the vapour's share of saturation: e / e_s with e = p w / (0.622 + w)
    humidity = min(1.0, ratio / (MOLAR_MASS_RATIO + ratio) * (MOLAR_MASS_RATIO + saturated) / saturated)
    values = {"air_temperature": air, "relative_humidity": humidity}
    return replace(conditions.with_values(values), logged_air=walls)
