"""Rooms, airs and boards that the tests of the room share."""

from advisor.catalog.materials import find_substrate
from advisor.physics.air.compressed_air import SEA_LEVEL
from advisor.physics.air.moist_air import humidity_ratio
from advisor.physics.room.piece import Piece
from advisor.physics.room.room import Room, RoomCourse, RoomStart, Segment, room_course

SHOP_ROOM = Room(90.0)
FAN = 0.5  # [m3/s], measured


def ratio(celsius, humidity):
    """Humidity ratio [kg/kg] at sea level."""
    return humidity_ratio(celsius, humidity, SEA_LEVEL)


def board(temperature, thickness=0.020, stacked=False, area=2.0):
    """A board of the catalog's wood."""
    wood = find_substrate("wood")
    return Piece(thickness, wood.density, wood.heat_capacity, temperature, area, stacked)


def session(inside, outside, piece=None, minutes=60, room=SHOP_ROOM, **switched) -> RoomCourse:
    """The course with the fan on, from (°C, fraction) inside and outside, minute by minute."""
    start = RoomStart(inside[0], ratio(*inside), pieces=() if piece is None else (board(piece),))
    segment = Segment(minutes * 60.0, outside[0], ratio(*outside), exhaust=FAN, **switched)
    return room_course(room, start, [segment])
