"""Properties of the room: heat and water balance, no air beyond what goes in, more fan nearer outdoors."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.physics.air.compressed_air import SEA_LEVEL
from advisor.physics.room.room import RATED_HUMIDITY_RATIO, MoistureBuffer, Room, RoomStart, Segment, room_course
from tests.physics.room.room_cases import board, ratio
from tests.support import examples

airs = st.tuples(st.floats(0.0, 35.0), st.floats(0.1, 0.95))
outdoors = st.tuples(st.floats(-15.0, 38.0), st.floats(0.2, 1.0))
flows = st.floats(0.0, 2.0)


@st.composite
def stretches(draw, heated=True):
    celsius, humidity = draw(outdoors)
    return Segment(
        duration=draw(st.floats(60.0, 3600.0)),
        outdoor_temperature=celsius,
        outdoor_humidity_ratio=ratio(celsius, humidity),
        exhaust=draw(flows),
        infiltration=draw(st.floats(0.0, 0.1)),
        heater=draw(st.floats(0.0, 5000.0)) if heated else 0.0,
        make_up_rise=draw(st.floats(0.0, 10.0)) if heated else 0.0,
        dehumidifier=draw(st.floats(0.0, 3e-4)) if heated else 0.0,
        moisture=draw(st.floats(0.0, 3e-4)) if heated else 0.0,
    )


def integral(seconds, values):
    return float(np.sum(0.5 * (values[1:] + values[:-1]) * np.diff(seconds)))


@settings(max_examples=examples(60))
@given(st.floats(20.0, 500.0), airs, st.floats(0.0, 30.0), st.lists(stretches(), min_size=1, max_size=3))
def test_what_flows_in_less_what_flows_out_is_what_is_stored(volume, air, piece, segments):
    """Heat and water, over each segment, within 0.1 %; the dry air's mass and heat worked out apart."""
    room = Room(volume, moisture=MoistureBuffer(0.02, 300.0))
    damp = ratio(*air)
    start = RoomStart(air[0], damp, wall_temperature=piece, pieces=(board(piece), board(air[0], stacked=True)))
    density = SEA_LEVEL / (287.05 * (air[0] + 273.15) * (1.0 + damp / 0.621945))
    heat = 1006.0 + 1860.0 * damp
    begin = 0.0
    for segment in segments:
        close = begin + np.append(0.0, np.geomspace(0.01, segment.duration, 1500))
        seconds = np.minimum(close, sum(each.duration for each in segments))
        course = room_course(room, start, segments, seconds)
        through = (segment.exhaust + segment.infiltration) * density
        arriving = segment.outdoor_temperature + segment.make_up_rise
        gained = through * heat * (arriving - course.air_temperature[0]) + segment.heater
        wet = through * (segment.outdoor_humidity_ratio - course.humidity_ratio[0]) + segment.moisture
        wet -= segment.dehumidifier / RATED_HUMIDITY_RATIO * course.humidity_ratio[0]
        for stored, flow in ((course.heat_stored[0], gained), (course.water_stored[0], wet)):
            scale = integral(seconds, np.abs(flow)) + 1e-9 * abs(stored[0])
            assert stored[-1] - stored[0] == pytest.approx(integral(seconds, flow), abs=1e-3 * scale)
        begin += segment.duration


@settings(max_examples=examples(100))
@given(airs, st.floats(0.0, 30.0), st.floats(0.0, 30.0), st.lists(stretches(heated=False), min_size=1, max_size=3))
def test_without_a_heater_nothing_is_warmer_or_colder_or_damper_than_what_goes_in(air, wall, piece, segments):
    start = RoomStart(air[0], ratio(*air), wall, (board(piece),))
    course = room_course(Room(90.0), start, segments)
    warmths = [air[0], wall, piece, *(segment.outdoor_temperature for segment in segments)]
    damps = [ratio(*air), *(segment.outdoor_humidity_ratio for segment in segments)]
    for temperature in (course.air_temperature, course.wall_temperature, *course.piece_temperatures):
        assert temperature.min() >= min(warmths) - 1e-9
        assert temperature.max() <= max(warmths) + 1e-9
    assert course.humidity_ratio.min() >= min(damps) * (1 - 1e-9)
    assert course.humidity_ratio.max() <= max(damps) * (1 + 1e-9)


@settings(max_examples=examples(100))
@given(airs, outdoors, st.floats(0.0, 1.9), st.floats(0.01, 0.1))
def test_more_exhaust_brings_the_room_nearer_to_outdoors_at_every_minute(air, outside, flow, more):
    damp = ratio(*outside)
    course = room_course(
        Room(90.0),
        RoomStart(air[0], ratio(*air)),
        [Segment(1800.0, outside[0], damp, exhaust=np.array([flow, flow + more]))],
    )
    apart = np.abs(course.humidity_ratio - damp)
    assert np.all(apart[1] <= apart[0] + 1e-15)
    warm = np.abs(course.air_temperature - outside[0])
    assert np.all(warm[1] <= warm[0] + 1e-9)


@settings(max_examples=examples(50))
@given(airs, outdoors, st.lists(stretches(), min_size=1, max_size=3))
def test_nothing_comes_out_that_is_no_number(air, outside, segments):
    course = room_course(Room(90.0), RoomStart(air[0], ratio(*air), pieces=(board(outside[0]),)), segments)
    for name in ("air_temperature", "humidity_ratio", "relative_humidity", "dew_point", "wall_temperature"):
        assert np.all(np.isfinite(getattr(course, name)))
    assert np.all((course.relative_humidity > 0.0) & (course.relative_humidity <= 1.0))
