"""The air of a room while its openings, fan and heater change: one well-mixed zone, for many cases at once.

Humidity follows the outdoor air within volume / flow. The air's temperature goes part of the way at once, to where the
walls' warmth and the draught hold each other, and then as slowly as the walls. Air and vapour keep the density and heat
capacity of the start (within 4 % over 12 K). Water does not stick to walls unless a MoistureBuffer says so.

Every input is a float or an array of shape (cases,).
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from advisor.errors import OutOfRange
from advisor.physics.air.compressed_air import SEA_LEVEL
from advisor.physics.air.moist_air import MOLAR_MASS_RATIO, PRESSURE_RANGE, Values, dew_point_of, saturation_pressure
from advisor.physics.basics import ZERO_CELSIUS, Array, all_inside, inside
from advisor.physics.film.transfer import AIR_HEAT_CAPACITY, air_density
from advisor.physics.room.piece import Piece
from advisor.physics.room.stores import Linked, Stretch, stores_course

# Envelope of 129 m2 for 90 m3: a room of 5.5 x 6 m, 2.7 m high. 6 would be a cube, 7 a long low room
ENVELOPE_SHAPE = 6.4
# [W/(m2 K)] air to wall, floor and ceiling with what stands there; 6 to 8 in building standards (from memory)
WALL_FILM = 7.0
_CELLS = 6  # of the wall, each twice as thick as the one before: of 100 mm 1.6 mm at the face
VAPOUR_HEAT_CAPACITY = 1860.0  # [J/(kg K)], ASHRAE Fundamentals 2017 ch. 1 eq. 30
# A dehumidifier's rating is taken to hold at 20 °C and 60 %, and to fall with the moisture; common practice, no source
RATED_HUMIDITY_RATIO = 0.0087  # [kg/kg]

TEMPERATURE_RANGE = (-40.0, 60.0)  # [°C]
HUMIDITY_RATIO_RANGE = (1e-5, 0.1)  # [kg/kg]
VOLUME_RANGE = (1.0, 1e5)  # [m3]
FLOW_RANGE = (0.0, 100.0)  # [m3/s]
_HEATER_RANGE = (0.0, 1e6)  # [W]
_WATER_RANGE = (0.0, 1.0)  # [kg/s]
_LONGEST = 1e7  # [s] of a segment


@dataclass(frozen=True)
class Wall:
    """What walls, floor and ceiling are made of: conductivity [W/(m K)], heat_capacity [J/(m3 K)], thickness [m].

    Its back is insulated but for the room's `loss`. The kinds with their sources: catalog/walls.csv.
    """

    conductivity: float
    heat_capacity: float
    thickness: float


BRICK = Wall(0.8, 1.6e6, 0.1)  # 100 mm of brick or block, from memory; warmth gets about 60 mm deep in 2 h


@dataclass(frozen=True)
class MoistureBuffer:
    """What takes up and gives back water in the room: a store at the air's own humidity at the start.

    exchange: dry air brought to the store's humidity each second [kg/s]; capacity: dry air that holds as much water
    for the same change of humidity ratio [kg]. The room's own air is volume x 1.2 kg/m3.
    """

    exchange: Values
    capacity: Values

    def __post_init__(self) -> None:
        all_inside(
            ("moisture exchange", self.exchange, (0.0, 1e3), "kg/s"),
            ("moisture capacity", self.capacity, (1e-3, 1e8), "kg"),
        )


@dataclass(frozen=True)
class Room:
    """A room: volume [m3] 1 to 1e5.

    envelope_area [m2]: walls, floor and ceiling; None: 6.4 x volume^(2/3). film_conductance [W/K]: air to those, as
    a fan-on trial finds it; None: 7 W/(m2 K) x area. loss [W/K]: through the walls' back to outdoors, which matters
    after hours only. pressure [Pa]. moisture: None where walls and goods take up no water, which brings damp outdoor
    air to the work a little sooner than it will be, and dries a closed room too soon.
    """

    volume: Values
    envelope_area: Values | None = None
    film_conductance: Values | None = None
    loss: Values = 0.0
    pressure: float = SEA_LEVEL
    moisture: MoistureBuffer | None = None
    wall: Wall = BRICK

    def __post_init__(self) -> None:
        all_inside(
            ("room volume", self.volume, VOLUME_RANGE, "m3"),
            ("air pressure", self.pressure, PRESSURE_RANGE, "Pa"),
            ("envelope loss", self.loss, (0.0, 1e5), "W/K"),
        )
        all_inside(
            ("envelope area", self.area, (1.0, 1e6), "m2"),
            ("wall film conductance", self.conductance, (1e-3, 1e7), "W/K"),
        )

    @property
    def area(self) -> Array:
        """Envelope [m2], given or estimated from the volume."""
        shape = ENVELOPE_SHAPE * np.asarray(self.volume, dtype=np.float64) ** (2.0 / 3.0)
        return shape if self.envelope_area is None else np.asarray(self.envelope_area, dtype=np.float64)

    @property
    def conductance(self) -> Array:
        """Air to walls [W/K], given or estimated."""
        return WALL_FILM * self.area if self.film_conductance is None else np.asarray(self.film_conductance)


@dataclass(frozen=True)
class RoomStart:
    """The room at the first moment: air_temperature [°C] -40 to 60, humidity_ratio [kg/kg] 1e-5 to 0.1.

    wall_temperature [°C]: None: as the air, a room that has stood for hours. pieces: what stands in it.
    """

    air_temperature: Values
    humidity_ratio: Values
    wall_temperature: Values | None = None
    pieces: tuple[Piece, ...] = ()

    def __post_init__(self) -> None:
        all_inside(
            ("air temperature", self.air_temperature, TEMPERATURE_RANGE, "°C"),
            ("humidity ratio", self.humidity_ratio, HUMIDITY_RATIO_RANGE, "kg/kg"),
            ("wall temperature", self.walls, TEMPERATURE_RANGE, "°C"),
        )

    @property
    def walls(self) -> Array:
        """The walls' temperature at the start [°C]."""
        return np.asarray(self.air_temperature if self.wall_temperature is None else self.wall_temperature, np.float64)


@dataclass(frozen=True)
class Segment:
    """A stretch of time in which nothing is switched: duration [s] 0 to 1e7.

    outdoor_temperature [°C], outdoor_humidity_ratio [kg/kg]: of the air that comes in. exhaust [m3/s]: what the fan
    moves, measured (a name plate counts half: `air_change.flow_from_name_plate`). infiltration [m3/s]: what comes in
    besides. heater [W] in the room; make_up_rise [K]: by how much the air that comes in is warmed on its way.
    dehumidifier [kg/s]: as rated; it takes less from drier air, and its own warmth belongs into `heater`. moisture
    [kg/s]: given off in the room.
    """

    duration: Values
    outdoor_temperature: Values
    outdoor_humidity_ratio: Values
    exhaust: Values = 0.0
    infiltration: Values = 0.0
    heater: Values = 0.0
    make_up_rise: Values = 0.0
    dehumidifier: Values = 0.0
    moisture: Values = 0.0

    def __post_init__(self) -> None:
        all_inside(
            ("duration", self.duration, (0.0, _LONGEST), "s"),
            ("outdoor temperature", self.outdoor_temperature, TEMPERATURE_RANGE, "°C"),
            ("outdoor humidity ratio", self.outdoor_humidity_ratio, HUMIDITY_RATIO_RANGE, "kg/kg"),
            ("exhaust flow", self.exhaust, FLOW_RANGE, "m3/s"),
            ("infiltration", self.infiltration, FLOW_RANGE, "m3/s"),
            ("heater", self.heater, _HEATER_RANGE, "W"),
            ("make-up air rise", self.make_up_rise, (0.0, 80.0), "K"),
            ("dehumidifier", self.dehumidifier, _WATER_RANGE, "kg/s"),
            ("moisture source", self.moisture, _WATER_RANGE, "kg/s"),
        )


@dataclass(frozen=True)
class RoomCourse:
    """The room at seconds (T,) [s]; every other array has the shape (cases, T).

    air_temperature [°C], humidity_ratio [kg/kg], relative_humidity [fraction, at most 1], dew_point [°C, over liquid
    water; over the air's temperature where mist falls out of the air], wall_temperature [°C, 1 mm under its face],
    piece_temperatures [°C], one array a piece; heat_stored [J, above 0 °C] and water_stored [kg] in all of it.
    """

    seconds: Array
    air_temperature: Array
    humidity_ratio: Array
    relative_humidity: Array
    dew_point: Array
    wall_temperature: Array
    piece_temperatures: tuple[Array, ...]
    heat_stored: Array
    water_stored: Array


def room_course(room: Room, start: RoomStart, segments: Sequence[Segment], seconds: Array | None = None) -> RoomCourse:
    """The course of the room through segments one after the other; exact for each.

    seconds: moments asked for, rising from 0 or more up to the end of the shortest case; None: every minute.
    """
    none = np.zeros(_cases(room, start, segments))
    asked = _moments(none, segments, seconds)
    celsius, damp = none + start.air_temperature, none + start.humidity_ratio
    vapour = room.pressure * damp / (MOLAR_MASS_RATIO + damp)
    dry_air = air_density(celsius + ZERO_CELSIUS, room.pressure - vapour)  # [kg/m3] of moist air, as ideal gases
    warmth, heat_capacity = _heat_course(room, start, segments, asked, dry_air)
    water, water_capacity = _water_course(room, start, segments, asked, dry_air)
    temperature, ratio = warmth[:, :, 0], water[:, :, 0]
    vapour = room.pressure * ratio / (MOLAR_MASS_RATIO + ratio)
    return RoomCourse(
        seconds=asked,
        air_temperature=temperature,
        humidity_ratio=ratio,
        relative_humidity=np.minimum(vapour / saturation_pressure(temperature), 1.0),
        dew_point=np.asarray(dew_point_of(vapour)),
        wall_temperature=warmth[:, :, 1],
        piece_temperatures=tuple(warmth[:, :, 1 + _CELLS + n] for n in range(len(start.pieces))),
        heat_stored=np.einsum("ctn,cn->ct", warmth, heat_capacity),
        water_stored=np.einsum("ctn,cn->ct", water, water_capacity),
    )


def _heat_course(
    room: Room, start: RoomStart, segments: Sequence[Segment], asked: Array, dry_air: Array
) -> tuple[Array, Array]:
    """Temperatures (cases, T, n) of air, wall cells from the face in, pieces; their capacities [J/K] (cases, n)."""
    none = np.zeros_like(dry_air)
    heat = dry_air * (AIR_HEAT_CAPACITY + VAPOUR_HEAT_CAPACITY * (none + start.humidity_ratio))  # [J/(m3 K)]
    widths = 2.0 ** np.arange(_CELLS)
    wall = room.wall
    widths *= wall.thickness / widths.sum()
    area = none + room.area
    capacity = [none + room.volume * heat, *(wall.heat_capacity * width * area for width in widths)]
    capacity += [none + piece.capacity for piece in start.pieces]

    links: list[Linked] = [(0, 1, 1.0 / (1.0 / room.conductance + 0.5 * widths[0] / (wall.conductivity * area)))]
    for cell in range(1, _CELLS):
        links.append((cell, cell + 1, wall.conductivity * area / (0.5 * (widths[cell - 1] + widths[cell]))))
    links += [(0, 1 + _CELLS + n, none + piece.transfer) for n, piece in enumerate(start.pieces)]

    stretches = []
    for segment in segments:
        through, loss = heat * (none + segment.exhaust + segment.infiltration), none + room.loss
        gains = through * (segment.outdoor_temperature + np.asarray(segment.make_up_rise)) + segment.heater
        back = loss * segment.outdoor_temperature
        stretches.append(Stretch(none + segment.duration, ((0, through), (_CELLS, loss)), ((0, gains), (_CELLS, back))))
    state = [start.air_temperature, *[start.walls] * _CELLS, *(piece.temperature for piece in start.pieces)]
    begin = np.stack([none + temperature for temperature in state], 1)
    return stores_course(np.stack(capacity, 1), links, begin, stretches, asked), np.stack(capacity, 1)


def _water_course(
    room: Room, start: RoomStart, segments: Sequence[Segment], asked: Array, dry_air: Array
) -> tuple[Array, Array]:
    """Humidity ratios (cases, T, n) of the air and a moisture buffer; the dry air each stands for [kg] (cases, n)."""
    none = np.zeros_like(dry_air)
    capacity, links = [dry_air * room.volume], []
    if room.moisture is not None:
        capacity.append(none + room.moisture.capacity)
        links.append((0, 1, none + room.moisture.exchange))
    stretches = []
    for segment in segments:
        through = dry_air * (none + segment.exhaust + segment.infiltration)  # [kg/s]
        drying = none + segment.dehumidifier / np.asarray(RATED_HUMIDITY_RATIO)
        water = through * segment.outdoor_humidity_ratio + segment.moisture
        stretches.append(Stretch(none + segment.duration, ((0, through + drying),), ((0, water),)))
    begin = np.repeat((none + start.humidity_ratio)[:, None], len(capacity), 1)
    return stores_course(np.stack(capacity, 1), links, begin, stretches, asked), np.stack(capacity, 1)


def _moments(none: Array, segments: Sequence[Segment], seconds: Array | None) -> Array:
    end = float(np.min(sum((segment.duration for segment in segments), start=none)))
    if seconds is None:
        return np.arange(0.0, end + 1e-6, 60.0)
    asked = np.atleast_1d(inside("time", seconds, (0.0, end), "s"))
    if not np.all(np.diff(asked) >= 0.0):
        raise OutOfRange("times that fall", "rising times", "put them in order")
    return asked


def _cases(room: Room, start: RoomStart, segments: Sequence[Segment]) -> int:
    """How many cases the inputs make together. Raises OutOfRange where they do not fit."""
    if not segments:
        raise OutOfRange("no segment", "one or more", "say what happens first")
    records: list[object] = [room, start, *segments, *start.pieces, *filter(None, [room.moisture])]
    values = [value for record in records for value in vars(record).values()]
    shapes = {np.shape(value) for value in values if isinstance(value, int | float | np.ndarray | np.generic)}
    try:
        shape = np.broadcast_shapes((1,), *shapes)
    except ValueError:
        shape = ()
    if len(shape) != 1 or shape[0] == 0:
        raise OutOfRange(f"inputs of shapes {sorted(shapes)}", "numbers, or arrays of one length", "one entry a case")
    return int(shape[0])
