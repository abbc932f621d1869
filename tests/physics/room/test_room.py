"""The room through a session: the finisher's days, exact solutions, what is refused."""

import numpy as np
import pytest

from advisor.errors import OutOfRange
from advisor.physics.air.moist_air import dew_point, relative_humidity_at, vapour_pressure
from advisor.physics.room import room as r
from advisor.physics.room.room import MoistureBuffer, Room, RoomStart, Segment, room_course
from advisor.physics.room.room_needs import make_up_power
from tests.oracles import integrate, special
from tests.physics.room.room_cases import FAN, SHOP_ROOM, board, ratio, session
from tests.support import every

WARM_DAMP = ((18.0, 0.55), (22.0, 0.85))  # test day 5
COLD_DRY = ((20.0, 0.40), (0.0, 0.85))  # test day 6


def test_warm_damp_outdoor_air_brings_the_dew_over_cool_pieces_in_four_minutes():
    """Test day 5: dew 14.8 °C at 2 min, 17 at about minute 4, over boards of 17 °C (common practice; dew computed)."""
    course = session(*WARM_DAMP, piece=17.0)
    dew = course.dew_point[0]
    assert dew[0] == pytest.approx(dew_point(18.0, 0.55), abs=1e-6)
    assert dew[2] == pytest.approx(14.8, abs=0.05)
    assert dew[3] < 17.0 < dew[4] < 17.3
    below = course.piece_temperatures[0][0] < dew
    assert list(below[:6]) == [False, False, False, False, False, True]
    assert np.all(below[5:16])  # a quarter of an hour and more: the boards lag


def test_cold_dry_outdoor_air_cools_the_work_in_a_minute_or_two_and_not_to_outdoors():
    """Test day 6: under 15 °C by minute 1-2, 11 to 12 °C after (40 % of the way), 39 to 47 % (computed; to a unit)."""
    course = session(*COLD_DRY, minutes=20)
    air = course.air_temperature[0]
    assert air[1] > 15.0 > air[2]
    assert np.all((air[5:21] > 10.9) & (air[5:21] < 12.0))
    assert (20.0 - air[5]) / 20.0 == pytest.approx(0.40, abs=0.02)
    assert np.all((course.relative_humidity[0] > 0.385) & (course.relative_humidity[0] < 0.485))
    assert np.all(course.dew_point[0] < 6.1)


def test_humidity_goes_to_outdoors_with_volume_over_flow_and_temperature_does_not():
    """90 m3 at 0.5 m3/s: 63 % of the way in 3 min, whole in 15."""
    course = session(*WARM_DAMP)
    way = (course.humidity_ratio[0] - ratio(18.0, 0.55)) / (ratio(22.0, 0.85) - ratio(18.0, 0.55))
    assert way[3] == pytest.approx(1 - np.exp(-1), abs=1e-9)
    assert way[15] > 0.99
    assert course.air_temperature[0, 15] < 20.0


def test_the_defaults_give_the_walls_900_watts_a_kelvin_in_a_room_of_90_cubic_metres():
    assert SHOP_ROOM.conductance == pytest.approx(900.0, rel=0.01)
    assert 6.0 * 90.0 ** (2 / 3) < SHOP_ROOM.area < 7.0 * 90.0 ** (2 / 3)  # a cube has the least


def test_the_wall_s_face_warms_as_a_half_space_with_a_film():
    """Carslaw and Jaeger 1959 section 2.7 (from memory): 1 - exp(h2 a t / k2) erfc(h sqrt(a t) / k), air held at 1."""
    held = Segment(3600.0, 21.0, 0.008, exhaust=100.0)
    seconds = np.array([120.0, 300.0, 600.0, 1200.0, 3600.0])
    course = room_course(Room(90.0), RoomStart(20.0, 0.008), [held], seconds)
    spread = np.sqrt(seconds * r.BRICK.conductivity / r.BRICK.heat_capacity)
    exact = 1.0 - special.erfcx(r.WALL_FILM * spread / r.BRICK.conductivity)
    assert course.wall_temperature[0] - 20.0 == pytest.approx(exact, abs=0.01)


def slopes(_, x):
    """Day 6 written out for scipy, with a board and a moisture buffer: air, six wall cells, board; water, buffer."""
    celsius, damp = x[:8], x[8:]
    density = (101_325.0 - 101_325.0 * W0 / (0.621945 + W0)) / 287.05 / 293.15
    heat = 1006.0 + 1860.0 * W0
    area = 6.4 * 90.0 ** (2 / 3)
    widths = 0.1 * 2.0 ** np.arange(6) / 63.0
    passed = np.empty(8)
    passed[0] = area * (celsius[0] - celsius[1]) / (1 / 7.0 + widths[0] / 2 / 0.8)
    for n in range(1, 6):
        passed[n] = 0.8 * area * (celsius[n] - celsius[n + 1]) / (0.5 * (widths[n - 1] + widths[n]))
    passed[6] = 100.0 * celsius[6]
    passed[7] = 9.35 * 2.0 * (celsius[0] - celsius[7])
    walls = (passed[:6] - passed[1:7]) / (1.6e6 * widths * area)
    air = (FAN * density * heat * (3.0 - celsius[0]) + 1500.0 - passed[0] - passed[7]) / (90.0 * density * heat)
    wood = passed[7] / (0.01 * 680.0 * 1650.0 * 2.0)
    taken = 0.05 * (damp[0] - damp[1])
    dried = 2e-4 / 0.0087 * damp[0]
    water = (FAN * density * (ratio(0.0, 0.85) - damp[0]) + 1e-4 - dried - taken) / (90.0 * density)
    return np.array([air, *walls, wood, water, taken / 400.0])


W0 = ratio(20.0, 0.40)


def test_the_course_is_that_of_an_integrator_on_the_equations_written_out():
    """scipy's Radau at 1e-9; everything switched on at once. Tolerance 1e-5 K."""
    room = Room(90.0, loss=100.0, moisture=MoistureBuffer(0.05, 400.0))
    start = RoomStart(20.0, W0, pieces=(board(19.5),))
    segment = Segment(
        3600.0, 0.0, ratio(0.0, 0.85), exhaust=FAN, heater=1500.0, make_up_rise=3.0, dehumidifier=2e-4, moisture=1e-4
    )
    course = room_course(room, start, [segment])
    begin = np.array([*np.full(7, 20.0), 19.5, W0, W0])
    done = integrate.solve_ivp(slopes, (0.0, 3600.0), begin, "Radau", course.seconds, rtol=1e-9, atol=1e-12)
    assert course.air_temperature[0] == pytest.approx(done.y[0], abs=1e-5)
    assert course.wall_temperature[0] == pytest.approx(done.y[1], abs=1e-5)
    assert course.piece_temperatures[0][0] == pytest.approx(done.y[7], abs=1e-5)
    assert course.humidity_ratio[0] == pytest.approx(done.y[8], abs=1e-8)


def test_humidity_and_dew_point_are_those_of_the_same_air():
    course = session(*COLD_DRY)
    air, humidity = course.air_temperature[0], course.relative_humidity[0]
    assert dew_point(air, humidity) == pytest.approx(course.dew_point[0], abs=1e-4)
    vapour = vapour_pressure(air, humidity)
    assert 0.621945 * vapour / (101_325.0 - vapour) == pytest.approx(course.humidity_ratio[0], rel=1e-9)
    assert relative_humidity_at(0.0, 0.85, air[-1]) == pytest.approx(humidity[-1], rel=1e-3)


def test_mist_shows_as_100_percent_with_a_dew_point_over_the_air():
    """Saturated summer air into a cold cellar."""
    course = session((12.0, 0.90), (25.0, 0.95))
    late = course.relative_humidity[0] == 1.0
    assert late[5:].all()
    assert np.all(course.dew_point[0, 5:] > course.air_temperature[0, 5:])


def test_a_segment_goes_on_where_the_one_before_ended():
    """Cut in two, and with an empty one between, it is the same course."""
    whole = Segment(1200.0, 0.0, 0.003, exhaust=FAN)
    parts = [Segment(seconds, 0.0, 0.003, exhaust=FAN) for seconds in (430.0, 0.0, 770.0)]
    start = RoomStart(20.0, 0.006, pieces=(board(18.0),))
    one, other = room_course(SHOP_ROOM, start, [whole]), room_course(SHOP_ROOM, start, parts)
    assert one.air_temperature == pytest.approx(other.air_temperature, abs=1e-9)
    assert one.humidity_ratio == pytest.approx(other.humidity_ratio, abs=1e-12)
    assert one.piece_temperatures[0] == pytest.approx(other.piece_temperatures[0], abs=1e-9)


def test_with_the_door_shut_again_the_walls_warm_the_air_up():
    out = Segment(600.0, 0.0, ratio(0.0, 0.85), exhaust=FAN)
    shut = Segment(600.0, 0.0, ratio(0.0, 0.85))
    course = room_course(SHOP_ROOM, RoomStart(20.0, W0), [out, shut])
    assert course.air_temperature[0, 10] < 12.0
    assert course.air_temperature[0, 15] > 18.0
    assert course.humidity_ratio[0, 20] == pytest.approx(course.humidity_ratio[0, 10])


def test_cases_side_by_side_are_what_they_are_alone():
    """Volumes, flows, durations, boards as arrays of one length."""
    volumes, flows, minutes, boards = np.array([60.0, 90.0]), np.array([0.2, 0.5]), np.array([10.0, 15.0]), [15.0, 19.0]
    both = room_course(
        Room(volumes),
        RoomStart(20.0, W0, pieces=(board(np.array(boards)),)),
        [Segment(minutes * 60.0, 0.0, 0.003, exhaust=flows), Segment(1200.0, 0.0, 0.003, heater=500.0)],
    )
    assert both.air_temperature.shape == (2, 31)
    for n in (0, 1):
        alone = room_course(
            Room(volumes[n]),
            RoomStart(20.0, W0, pieces=(board(boards[n]),)),
            [Segment(minutes[n] * 60.0, 0.0, 0.003, exhaust=flows[n]), Segment(1200.0, 0.0, 0.003, heater=500.0)],
        )
        for name in ("air_temperature", "humidity_ratio", "wall_temperature", "dew_point", "heat_stored"):
            assert getattr(both, name)[n] == pytest.approx(getattr(alone, name)[0, :31], rel=1e-9)
        assert both.piece_temperatures[0][n] == pytest.approx(alone.piece_temperatures[0][0, :31], rel=1e-9)


@pytest.mark.parametrize(
    ("switched", "name", "up"),
    [({"heater": 3000.0}, "air_temperature", True), ({"make_up_rise": 5.0}, "air_temperature", True),
     ({"dehumidifier": 2e-4}, "humidity_ratio", False), ({"moisture": 2e-4}, "humidity_ratio", True),
     ({"heater": 3000.0}, "relative_humidity", False), ({"infiltration": 0.3}, "humidity_ratio", False)],
)  # fmt: skip
def test_each_switch_moves_the_air_its_own_way(switched, name, up):
    there, here = (getattr(session(*COLD_DRY, **with_it), name)[0, 1:20] for with_it in (switched, {}))
    assert np.all(there > here if up else there < here)


def test_heat_in_the_make_up_air_is_that_heat_in_the_room():
    power = float(make_up_power(FAN, 17.0, 20.0, 101_325.0))
    warmed = session(*COLD_DRY, make_up_rise=3.0).air_temperature[0, -1]
    assert session(*COLD_DRY, heater=power).air_temperature[0, -1] == pytest.approx(warmed, abs=0.02)


def test_in_the_long_run_a_heater_is_held_by_what_the_walls_lose():
    """Film, wall to the middle of its last cell (half of it) and loss in series."""
    room = Room(90.0, loss=100.0)
    course = room_course(room, RoomStart(10.0, W0), [Segment(9e6, 0.0, W0, heater=1000.0)], np.array([9e6]))
    last = 0.1 * 32.0 / 63.0
    series = 1.0 / 100.0 + 1.0 / room.conductance + (0.1 - last / 2) / (0.8 * room.area)
    assert course.air_temperature[0, 0] == pytest.approx(1000.0 * series, rel=1e-6)


def test_cold_pieces_by_the_rack_cool_the_room_and_a_few_do_not():
    def air(area):
        start = RoomStart(20.0, W0, pieces=(board(0.0, area=area),))
        return room_course(SHOP_ROOM, start, [Segment(1200.0, 0.0, W0)]).air_temperature[0, 10]

    assert air(1e-6) == pytest.approx(20.0, abs=1e-4)
    assert 19.5 < air(2.0) < 20.0
    assert air(60.0) < 16.0


def test_a_moisture_buffer_holds_the_humidity_back():
    held = Room(90.0, moisture=MoistureBuffer(0.1, 500.0))
    plain, slow = (session(*WARM_DAMP, room=room).humidity_ratio[0] for room in (SHOP_ROOM, held))
    assert np.all(slow[1:30] < plain[1:30])


NAN = float("nan")


@every(
    "made, words",
    [(lambda: Room(NAN), "room volume nan m3; allowed: 1 to 100000 m3"), (lambda: Room(0.9), "room volume 0.9"),
     (lambda: Room(90.0, envelope_area=NAN), "envelope area nan"),
     (lambda: Room(90.0, film_conductance=0.0), "film conductance 0"),
     (lambda: Room(90.0, loss=NAN), "envelope loss nan"), (lambda: Room(90.0, pressure=NAN), "air pressure nan"),
     (lambda: MoistureBuffer(NAN, 1.0), "moisture exchange nan"), (lambda: MoistureBuffer(1.0, 0.0), "capacity 0"),
     (lambda: RoomStart(NAN, W0), "air temperature nan °C; allowed: -40 to 60 °C"),
     (lambda: RoomStart(60.1, W0), "air temperature 60.1"), (lambda: RoomStart(20.0, NAN), "humidity ratio nan"),
     (lambda: RoomStart(20.0, 0.4), "humidity ratio 0.4"), (lambda: RoomStart(20.0, W0, NAN), "wall temperature nan"),
     (lambda: Segment(NAN, 0.0, W0), "duration nan"), (lambda: Segment(-1.0, 0.0, W0), "duration -1"),
     (lambda: Segment(60.0, NAN, W0), "outdoor temperature nan"), (lambda: Segment(60.0, 0.0, NAN), "ratio nan"),
     (lambda: Segment(60.0, 0.0, np.array([W0, NAN])), "humidity ratio nan")],
)  # fmt: skip
def test_what_no_room_has_is_refused_by_name_and_range(made, words):
    with pytest.raises(OutOfRange, match=words):
        made()


@every(
    "name, words",
    [("exhaust", "exhaust flow"), ("infiltration", "infiltration"), ("heater", "heater"), ("moisture", "moisture"),
     ("make_up_rise", "make-up air rise"), ("dehumidifier", "dehumidifier")],
)  # fmt: skip
@every("value", [NAN, -0.001, np.inf])
def test_no_switch_takes_less_than_nothing_or_no_number(name, words, value):
    with pytest.raises(OutOfRange, match=words):
        Segment(60.0, 0.0, W0, **{name: value})


def test_arrays_that_do_not_fit_are_refused():
    start = RoomStart(np.array([20.0, 21.0]), W0)
    for room in (Room(np.array([90.0, 80.0, 70.0])), Room(np.full((2, 2), 90.0)), Room(np.array([]))):
        with pytest.raises(OutOfRange, match="arrays of one length"):
            room_course(room, start, [Segment(60.0, 0.0, W0)])


@pytest.mark.parametrize(
    ("seconds", "words"), [([0.0, 61.0], "time 61 s; allowed: 0 to 60 s"), ([NAN], "time nan"), ([50.0, 40.0], "fall")]
)
def test_times_beyond_the_segments_or_out_of_order_are_refused(seconds, words):
    with pytest.raises(OutOfRange, match=words):
        room_course(SHOP_ROOM, RoomStart(20.0, W0), [Segment(60.0, 0.0, W0)], np.array(seconds))


def test_no_segment_is_refused():
    with pytest.raises(OutOfRange, match="no segment"):
        room_course(SHOP_ROOM, RoomStart(20.0, W0), [])
