"""What it takes to warm or dry a room, against psychrolib, chemistry and the room's own course."""

import numpy as np
import psychrolib
import pytest
from hypothesis import given
from hypothesis import strategies as st

from advisor.errors import OutOfRange
from advisor.physics.air.compressed_air import SEA_LEVEL
from advisor.physics.room.room import Room, RoomStart, Segment, room_course
from advisor.physics.room.room_needs import (
    PROPANE_WATER,
    dehumidifier_warmth,
    drying_time,
    gas_heater_water,
    heating_time,
    make_up_energy,
    make_up_power,
    make_up_rise,
    water_to_remove,
)
from tests.physics.room.room_cases import FAN, SHOP_ROOM, ratio
from tests.support import every

DAY = 86_400.0
NAN = float("nan")


@pytest.mark.parametrize(("flow", "outdoors", "held"), [(0.5, 0.0, 20.0), (0.5, 10.0, 18.0), (1.2, -10.0, 22.0)])
def test_power_for_make_up_air_is_the_enthalpy_it_lacks(flow, outdoors, held):
    """psychrolib (ASHRAE Fundamentals 2017 ch. 1), air of 80 % warmed; its vapour is left out: 2 %."""
    psychrolib.SetUnitSystem(psychrolib.SI)
    moisture = psychrolib.GetHumRatioFromRelHum(outdoors, 0.8, SEA_LEVEL)
    rise = psychrolib.GetMoistAirEnthalpy(held, moisture) - psychrolib.GetMoistAirEnthalpy(outdoors, moisture)
    expected = flow / psychrolib.GetMoistAirVolume(held, moisture, SEA_LEVEL) * rise
    assert make_up_power(flow, outdoors, held, SEA_LEVEL) == pytest.approx(expected, rel=0.02)


def test_a_fan_in_frost_takes_a_dozen_kilowatts():
    """0.5 m3/s from 0 to 20 °C: 12 kW, 2 kWh in ten minutes."""
    assert make_up_power(FAN, 0.0, 20.0, SEA_LEVEL) == pytest.approx(12_100.0, rel=0.01)
    assert make_up_energy(FAN, 0.0, 20.0, SEA_LEVEL, 600.0) / 3.6e6 == pytest.approx(2.02, rel=0.01)
    assert make_up_power(FAN, 25.0, 20.0, SEA_LEVEL) == 0.0


@given(st.floats(0.01, 5.0), st.floats(-20.0, 19.0), st.floats(19.5, 30.0))
def test_that_power_gives_the_rise_it_was_made_for(flow, outdoors, held):
    power = make_up_power(flow, outdoors, held, SEA_LEVEL)
    assert make_up_rise(power, flow, held, SEA_LEVEL) == pytest.approx(held - outdoors)


def test_make_up_air_heated_with_that_power_holds_the_room():
    """Round trip through the room: day 6 with its make-up air warmed by 20 K stays at 20 °C."""
    held = Segment(3600.0, 0.0, ratio(0.0, 0.85), exhaust=FAN, make_up_rise=20.0)
    course = room_course(SHOP_ROOM, RoomStart(20.0, ratio(20.0, 0.4)), [held])
    assert course.air_temperature == pytest.approx(np.full((1, 61), 20.0))


def test_water_in_the_air_of_a_room_is_the_handbook_s():
    """90 m3 at 20 °C from 70 to 50 %: 17.3 g/m3 saturated (steam tables, from memory) x 0.2 x 90 = 0.31 kg."""
    assert water_to_remove(90.0, 20.0, 0.70, 0.50) == pytest.approx(0.2 * 0.0173 * 90.0, rel=0.005)
    assert water_to_remove(90.0, 20.0, 0.50, 0.70) == 0.0


@given(st.floats(1.0, 1000.0), st.floats(0.0, 40.0), st.floats(0.3, 0.9))
def test_more_is_taken_from_larger_warmer_and_damper_rooms(volume, celsius, humidity):
    here = water_to_remove(volume, celsius, humidity, 0.2)
    assert water_to_remove(volume * 1.1, celsius, humidity, 0.2) > here
    assert water_to_remove(volume, celsius + 1.0, humidity, 0.2) > here
    assert water_to_remove(volume, celsius, humidity + 0.05, 0.2) > here


def test_a_gas_heater_of_ten_kilowatts_breathes_out_a_litre_and_a_quarter_an_hour():
    """1.63 kg a kg of propane: C3H8 + 5 O2 -> 3 CO2 + 4 H2O, atomic masses 12.011, 1.008, 15.999."""
    water, propane = 2 * 1.008 + 15.999, 3 * 12.011 + 8 * 1.008
    assert 4 * water / propane == pytest.approx(PROPANE_WATER, abs=0.005)
    assert gas_heater_water(10_000.0) * 3600.0 == pytest.approx(1.63 * 36.0 / 46.35, rel=1e-6)
    assert gas_heater_water(20_000.0) == pytest.approx(2.0 * gas_heater_water(10_000.0))


def test_a_gas_heater_makes_the_air_damp_as_it_warms_it():
    """Shut room of 90 m3 with a leak, ten minutes of 10 kW: the dew point is up by 4 K and more."""
    power = 10_000.0
    start = RoomStart(10.0, ratio(10.0, 0.7))
    lit = Segment(600.0, 10.0, ratio(10.0, 0.7), infiltration=0.02, heater=power, moisture=gas_heater_water(power))
    course = room_course(SHOP_ROOM, start, [lit])
    assert course.air_temperature[0, -1] > 17.0
    assert course.dew_point[0, -1] > course.dew_point[0, 0] + 4.0


def test_a_dehumidifier_warms_the_room_with_what_it_condenses():
    """10 litres a day: 2454 kJ/kg x 10 kg / 86400 s = 284 W, and its motor."""
    assert dehumidifier_warmth(10.0 / DAY, 250.0) == pytest.approx(284.0 + 250.0, abs=1.0)


START = RoomStart(12.0, ratio(12.0, 0.6))


def shut(**switched):
    return Segment(0.0, 5.0, ratio(5.0, 0.8), infiltration=0.0125, **switched)


def test_heating_a_room_takes_its_walls_too():
    """5 kW: up to power over conductance (5.5 K) within minutes, from then on only as fast as the walls warm."""
    five, eight = (float(heating_time(SHOP_ROOM, START, shut(heater=5000.0), 12.0 + rise)[0]) for rise in (5.0, 8.0))
    air_alone = 90.0 * 1.24 * 1006.0 * 5.0 / 5000.0
    assert air_alone < 120.0
    assert 2.0 * air_alone < five < 10.0 * 60.0
    assert 3600.0 < eight < 12 * 3600.0


@pytest.mark.parametrize("target", [13.0, 15.0, 17.0])
def test_the_room_is_at_the_target_after_that_time(target):
    """Back through the room's course."""
    lit = Segment(DAY, 5.0, ratio(5.0, 0.8), infiltration=0.0125, heater=5000.0)
    took = heating_time(SHOP_ROOM, START, lit, target)
    there = room_course(SHOP_ROOM, START, [lit], took)
    assert there.air_temperature[0, 0] == pytest.approx(target, abs=0.001)


def test_more_power_is_sooner_and_a_heater_too_small_never():
    powers = np.array([3000.0, 6000.0, 12_000.0])
    took = heating_time(SHOP_ROOM, START, shut(heater=powers), 16.0)
    assert np.all(np.diff(took) < 0)
    assert heating_time(Room(90.0, loss=200.0), START, shut(heater=200.0), 16.0)[0] == np.inf
    assert heating_time(SHOP_ROOM, START, shut(heater=5000.0), 12.0)[0] == 0.0
    assert heating_time(SHOP_ROOM, START, shut(heater=5000.0), 11.0)[0] == 0.0


def test_drying_a_shut_room_follows_its_exponential():
    """Rated 20 litres a day, half an air change an hour: w falls to its end as exp(-t (leak + drying) / air)."""
    rated, leak = 20.0 / DAY, 0.0125
    damp = RoomStart(20.0, ratio(20.0, 0.8))
    took = drying_time(
        SHOP_ROOM, damp, Segment(0.0, 15.0, ratio(15.0, 0.9), infiltration=leak, dehumidifier=rated), 0.0095
    )
    dense = SEA_LEVEL / (287.05 * 293.15 * (1 + ratio(20.0, 0.8) / 0.621945))
    through, drying = leak * dense, rated / 0.0087
    end = through * ratio(15.0, 0.9) / (through + drying)
    exact = np.log((ratio(20.0, 0.8) - end) / (0.0095 - end)) * 90.0 * dense / (through + drying)
    assert took[0] == pytest.approx(exact, abs=1.0)


def test_a_stronger_dehumidifier_is_sooner_and_one_against_a_wet_leak_never():
    damp = RoomStart(20.0, ratio(20.0, 0.8))
    rated = np.array([10.0, 20.0, 40.0]) / DAY
    took = drying_time(SHOP_ROOM, damp, Segment(0.0, 15.0, 0.009, infiltration=0.0125, dehumidifier=rated), 0.0105)
    assert np.all(np.diff(took) < 0)
    leaky = Segment(0.0, 15.0, 0.0105, infiltration=0.2, dehumidifier=10.0 / DAY)
    assert drying_time(SHOP_ROOM, damp, leaky, 0.008)[0] == np.inf
    assert drying_time(SHOP_ROOM, damp, leaky, 0.02)[0] == 0.0


@every(
    "asked, words",
    [(lambda: make_up_power(NAN, 0.0, 20.0, SEA_LEVEL), "flow nan"),
     (lambda: make_up_power(0.5, NAN, 20.0, SEA_LEVEL), "outdoor temperature nan"),
     (lambda: make_up_power(0.5, 0.0, NAN, SEA_LEVEL), "temperature to hold nan"),
     (lambda: make_up_power(0.5, 0.0, 20.0, NAN), "air pressure nan"),
     (lambda: make_up_rise(NAN, 0.5, 20.0, SEA_LEVEL), "power nan"),
     (lambda: make_up_rise(1e3, 0.0, 20.0, SEA_LEVEL), "flow 0"),
     (lambda: make_up_energy(0.5, 0.0, 20.0, SEA_LEVEL, NAN), "duration nan"),
     (lambda: water_to_remove(NAN, 20.0, 0.7, 0.5), "room volume nan"),
     (lambda: water_to_remove(90.0, 20.0, NAN, 0.5), "relative humidity nan"),
     (lambda: water_to_remove(90.0, 20.0, 0.7, NAN), "relative humidity nan"),
     (lambda: gas_heater_water(NAN), "power nan"), (lambda: dehumidifier_warmth(NAN, 0.0), "water removed nan"),
     (lambda: dehumidifier_warmth(1e-4, NAN), "electric power nan"),
     (lambda: heating_time(SHOP_ROOM, START, shut(), NAN), "target temperature nan"),
     (lambda: drying_time(SHOP_ROOM, START, shut(), NAN), "target humidity ratio nan")],
)  # fmt: skip
def test_figures_that_are_none_are_refused_by_name(asked, words):
    with pytest.raises(OutOfRange, match=words):
        asked()
