"""The fan-on trial read back: synthetic rooms, the fixture days, what cannot be told, doors found in a log."""

from dataclasses import replace

import numpy as np
import pytest

from advisor.physics.air.compressed_air import SEA_LEVEL
from advisor.physics.air.moist_air import humidity_ratio
from advisor.physics.room.room import Room, RoomStart, Segment, room_course
from advisor.readings.reading import BAD, STUCK, SUSPECT, Reading, Series
from advisor.room.trial import ALIKE, FEW, NO_OUTDOORS, UNSTEADY, OutdoorAir, best_opening, openings, read_trial
from advisor.say import room_words
from advisor.series.trace import AIR, HUMIDITY
from advisor.shop.shop import Shop
from advisor.sources.counting import OF_THE_AIR, paired, traces
from tests.outlook.columns import damp_air
from tests.support import NOON, SHOP, fixture_file, local

START = 1_000_000.0
COLD, DAMP = OutdoorAir(0.0, 0.85, 0.5, 0.03), OutdoorAir(24.0, 0.8, 0.5, 0.03)


def ratio(air, humidity):
    return float(humidity_ratio(air, humidity, SEA_LEVEL))


def paired_at(readings, places, longest, shop):
    return paired(traces(readings, None, OF_THE_AIR, shop), places, longest, shop)


def room_log(outdoors, flow=0.3, film=900.0, before=0, after=10, dice=None, air=20.0, humidity=0.42, step=60.0):
    """A room with its door shut for `before` minutes and open for `after`; dice: noise and offsets as sensors have."""
    shut = Segment(before * 60.0, air, ratio(air, humidity))
    opened = Segment(
        after * 60.0,
        outdoors.air_temperature,
        ratio(outdoors.air_temperature, outdoors.relative_humidity),
        exhaust=flow,
    )
    seconds = np.arange(0.0, (before + after) * 60.0 + 1.0, step)
    course = room_course(
        Room(90.0, film_conductance=film), RoomStart(air, ratio(air, humidity)), [shut, opened], seconds
    )
    warm, damp = course.air_temperature[0], course.relative_humidity[0]
    if dice is not None:
        warm = warm + dice.normal(0.0, 0.5) + dice.normal(0.0, 0.1, warm.size)
        damp = np.clip(damp + dice.normal(0.0, 0.03) + dice.normal(0.0, 0.005, damp.size), 0.01, 1.0)
    return damp_air(START + seconds, warm, damp)


def read(indoors, outdoors, shop=SHOP, minutes=10):
    return read_trial(indoors, outdoors, START, START + 60.0 * minutes, shop)


@pytest.mark.slow
@pytest.mark.parametrize("outdoors", [COLD, DAMP], ids=["cold", "damp"])
@pytest.mark.parametrize(("flow", "film"), [(0.2, 700.0), (0.31, 880.0), (0.6, 1500.0)])
def test_the_flow_of_a_made_room_is_found_within_its_own_uncertainty(outdoors, flow, film):
    """Sensors 0.5 K and 3 % off, and noise: of 20 most within two of the uncertainties stated, none over five."""
    dice = np.random.default_rng(17)
    trials = [read(room_log(outdoors, flow, film, dice=dice), outdoors) for _ in range(20)]
    off = np.array([abs(one.fit.flow.value - flow) / one.fit.flow.uncertainty for one in trials if one.fit is not None])
    assert off.size >= 14
    assert np.mean(off <= 2.0) >= 0.8
    assert off.max() < 5.0


def test_a_smaller_flow_reads_as_smaller_and_is_set_against_half_the_name_plate():
    small, large = (read(room_log(COLD, flow), COLD) for flow in (0.2, 0.4))
    assert small.fit.flow.value < large.fit.flow.value
    assert (small.counted, small.name_plate) == (0.25, True)
    assert small.share_of_counted == pytest.approx(0.8, rel=0.01)
    measured = read(room_log(COLD, 0.2), COLD, replace(SHOP, fan_flow=0.4, fan_flow_measured=True))
    assert (measured.counted, measured.name_plate) == (0.4, False)
    assert "Look at filters" in " ".join(room_words.trial_told(small, "shop", SHOP))
    assert "Look at filters" not in " ".join(room_words.trial_told(large, "shop", SHOP))


@pytest.mark.parametrize(
    ("indoors", "outdoors", "why"),
    [
        (room_log(COLD).during(START, START + 240.0), COLD, FEW),
        (room_log(COLD, step=150.0), COLD, FEW),
        (room_log(COLD), None, NO_OUTDOORS),
        (room_log(OutdoorAir(20.0, 0.42, 0.5, 0.03)), OutdoorAir(20.0, 0.42, 0.5, 0.03), ALIKE),
        (room_log(COLD, flow=0.0), COLD, UNSTEADY),
    ],
    ids=["short", "rare", "no outdoors", "alike", "shut"],
)
def test_what_cannot_be_told_says_why(indoors, outdoors, why):
    told = read(indoors, outdoors)
    assert told.fit is None
    assert told.unclear == why
    said = " ".join(room_words.trial_told(told, "shop", SHOP))
    assert "Cannot tell: " in said
    assert "fan_flow" not in said


def test_six_readings_are_enough_and_five_are_not():
    assert read(room_log(COLD, step=120.0), COLD).fit is not None
    assert read(room_log(COLD, step=120.0).during(START, START + 480.0), COLD).unclear == FEW


def test_no_step_cuts_the_ventilation_and_there_are_at_most_eight_lines():
    assert len(room_words.STEPS) <= 8
    assert all(len(step) < 80 for step in room_words.STEPS)


def fixture_air(name, shop=SHOP):
    readings = fixture_file(name).readings
    return paired_at(readings, ["shop"], 180.0, shop), paired_at(readings, ["outdoors"], 900.0, shop)


@pytest.mark.parametrize(
    ("day", "clock", "low", "high"), [("winter-door", "14:00", 0.4, 0.6), ("warm-damp-front", "11:00", 0.18, 0.30)]
)
def test_a_door_opened_on_a_fixture_day_is_found_by_itself(day, clock, low, high):
    """The invented days run to outdoors with a time constant of 3.5 and 5 min of their dew point: 90 m3 over these."""
    trial, found = best_opening(*fixture_air(day), 600.0, SHOP)
    assert found == 1
    assert abs(trial.start - local(day, clock).timestamp()) <= 60.0
    assert low <= trial.fit.flow.value <= high


@pytest.mark.parametrize("day", ["good-day", "humid-evening", "cold-morning", "dusty-clean-down"])
def test_no_door_is_found_on_a_day_without_one(day):
    assert openings(*fixture_air(day), 600.0, SHOP) == []


def test_the_surest_of_several_openings_counts():
    steady = damp_air(START + np.arange(0, 7200.0, 600.0), np.full(12, 0.0), np.full(12, 0.85))
    first, second = room_log(COLD, 0.2, before=20, after=15), room_log(COLD, 0.5, before=20, after=15)
    log = damp_air(
        np.concatenate([first.trace(AIR).times, second.trace(AIR).times + 3600.0]),
        *(np.concatenate([each.trace(name).values for each in (first, second)]) for name in (AIR, HUMIDITY)),
    )  # fmt: skip
    trial, found = best_opening(log, steady, 600.0, SHOP)
    assert found == 2
    assert min(abs(trial.fit.flow.value - flow) for flow in (0.2, 0.5)) < 0.01
    assert best_opening(log, steady.during(0.0, 1.0), 600.0, SHOP) == (None, 0)


def test_a_us_shop_reads_cfm_and_its_configuration_takes_it():
    shop = Shop(units="us")
    found = read(room_log(COLD, 0.31), COLD, shop)
    assert 'fan_flow = "657 cfm"' in room_words.configuration(found, shop)
    assert 'fan_flow = "0.31 m3/s"' in room_words.configuration(found, SHOP)
    said = " ".join(room_words.trial_told(found, "shop", shop))
    assert "°C" not in said
    assert "cfm" in said


def reading(quantity, minute, value, sensor="shelf", place="shop", level="good", reason=""):
    return Reading(Series(sensor, place, quantity), value, minute * 60_000, "test", level, reason)


def test_temperature_and_humidity_are_paired_and_marked_ones_left_out():
    words = [reading("air_temperature", minute, 20.0 + minute) for minute in range(0, 5, 2)]
    words += [reading("relative_humidity", minute, 0.5) for minute in range(5)]
    words += [reading("relative_humidity", 2.5, 0.9, level=BAD, reason="out-of-range")]
    record = paired_at(words, ["shop"], 180.0, SHOP)
    assert record.trace(AIR).times.tolist() == [0, 60, 120, 180, 240]
    assert record.trace(AIR).values.tolist() == [20, 21, 22, 23, 24]
    assert paired_at(words, ["shop"], 60.0, SHOP).trace(AIR).times.tolist() == [0, 120, 240]
    assert len(paired_at(words, ["loft", "shop"], 180.0, SHOP).trace(AIR).times) == 5
    assert len(paired_at(words, ["loft"], 180.0, SHOP).trace(AIR).times) == 0


def test_a_heated_room_may_stand_still_and_a_humidity_may_not():
    still = [reading("air_temperature", minute, 20.0, level=SUSPECT, reason=STUCK) for minute in range(5)]
    damp = [reading("relative_humidity", minute, 0.5) for minute in range(5)]
    assert len(paired_at(still + damp, ["shop"], 180.0, SHOP).trace(AIR).times) == 5
    stuck = [replace(one, level=SUSPECT, reason=STUCK) for one in damp]
    assert len(paired_at(still + stuck, ["shop"], 180.0, SHOP).trace(AIR).times) == 0


def test_a_thermometer_and_a_hygrometer_count_together_and_of_two_pairs_the_fuller_one():
    apart = [reading("air_temperature", minute, 20.0, "a") for minute in range(5)]
    apart += [reading("relative_humidity", minute, 0.5, "b") for minute in range(5)]
    assert len(paired_at(apart, ["shop"], 180.0, SHOP).trace(AIR).times) == 5
    both = [reading(quantity, 0, 0.4, "c") for quantity in ("air_temperature", "relative_humidity")]
    assert len(paired_at(apart + both, ["shop"], 180.0, SHOP).trace(AIR).times) == 1


def test_the_record_is_plain_si():
    found = read(room_log(COLD, 0.31), COLD)
    record = room_words.trial_record(found, "shop", SHOP, NOON, None)
    assert record["schema"] == 1
    assert record["fan_flow"] == pytest.approx(0.31, rel=0.02)
    assert record["air_change"] == pytest.approx(record["fan_flow"] / 90.0, rel=1e-4)
    assert record["configuration"][0] == "[booth]"
    nothing = room_words.trial_record(None, "shop", SHOP, NOON, 0)
    assert (nothing["cannot_tell"], nothing["reason"], nothing["fan_flow"]) == (True, "none_found", None)
