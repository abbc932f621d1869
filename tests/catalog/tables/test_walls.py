"""What walls are made of: every row a wall that can be, with a source; light ones hold a winter shop up less."""

import numpy as np
import pytest

from advisor.catalog.materials import UNSAID, find_wall, walls
from advisor.catalog.sourced import table_rows
from advisor.errors import CatalogError
from advisor.physics.room.room import Room, RoomStart, Segment, room_course
from advisor.shop.shop import Shop


def test_every_wall_states_where_its_figures_come_from():
    rows = table_rows("walls.csv")
    assert {row["id"] for row in rows} == set(walls()) == {"brick", "boards", "plasterboard", "insulated-steel"}
    assert all(row["tag"] in ("published", "common practice", "from memory") and row["source"] for row in rows)
    assert UNSAID in walls()


def test_walls_spelt_wrong_are_answered_with_the_nearest():
    with pytest.raises(CatalogError, match="did you mean brick"):
        find_wall("brik")


def minute_ten(wall: str, flow: float) -> float:
    """20 °C in, 0 °C out: the air [°C] ten minutes after the fan went on in the default room."""
    volume = Shop().room_volume
    segment = Segment(600.0, 0.0, 0.003, exhaust=flow, infiltration=volume * 0.5 / 3600.0)
    course = room_course(Room(volume, wall=find_wall(wall)), RoomStart(20.0, 0.006), [segment], np.array([600.0]))
    return float(course.air_temperature[0, 0])


def test_the_default_shop_is_at_eleven_to_twelve_by_the_worse_of_its_fan_s_two_flows():
    """Practice says 11 to 12 °C (common practice, no source)."""
    plate = Shop().fan_flow
    worse = min(minute_ten("brick", plate), minute_ten("brick", plate / 2.0))
    assert 11.0 <= worse <= 12.0


def test_light_walls_hold_less_the_lighter_they_are():
    plate = Shop().fan_flow
    falls = [minute_ten(name, plate) for name in ("brick", "plasterboard", "insulated-steel")]
    assert falls == sorted(falls, reverse=True)
    assert 6.0 <= falls[-1] <= 8.0
    assert falls[1] < 10.0
