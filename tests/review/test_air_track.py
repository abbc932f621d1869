"""The air over a coat: what was read counts, what was not stays a gap, what stood still is doubted from its start."""

import numpy as np
import pytest

from advisor.readings.reading import BAD, PINNED, STEP, STUCK, SUSPECT, Reading, Series
from advisor.review.air_track import track_of
from advisor.review.doubts import in_the_plume
from advisor.series.air_track import AirTrack
from advisor.series.trace import Trace, Window
from tests.support import SHOP

MINUTE = 60.0


def trace(minutes: list[float], values: list[float] | None = None) -> Trace:
    return Trace(np.array(minutes) * MINUTE, np.array(values or [20.0] * len(minutes)), 0.5)


def words(quantity: str, values: list[float], marks: dict[int, tuple[str, str]] | None = None) -> list[Reading]:
    """One reading a minute."""
    series, found = Series("shelf", "shop", quantity), []
    for minute, value in enumerate(values):
        level, reason = (marks or {}).get(minute, ("good", ""))
        found.append(Reading(series, value, minute * 60_000, "test", level, reason))
    return found


def test_each_reading_stands_for_a_quarter_of_an_hour():
    hour = Window(0.0, 60 * MINUTE)
    assert trace([0, 15, 30, 45]).covered(hour) == pytest.approx(1.0)
    assert trace([0, 30]).covered(hour) == pytest.approx(0.5)
    assert trace([]).covered(hour) == 0.0
    assert trace([-10]).covered(hour) == pytest.approx(5 / 60)
    assert trace([0, 30]).gaps(hour) == (Window(15 * MINUTE, 30 * MINUTE), Window(45 * MINUTE, 60 * MINUTE))


def test_a_moment_is_read_by_what_was_said_up_to_it():
    read = trace([0, 10], [20.0, 21.0])
    assert read.at(9 * MINUTE) == 20.0
    assert read.at(10 * MINUTE) == 21.0
    assert read.at(25 * MINUTE) == 21.0
    assert read.at(25 * MINUTE + 1) is None
    assert read.at(-1.0) is None


def test_a_run_marked_late_is_doubted_from_its_start():
    """The mark comes hours after the value stopped moving; looking back, none of the run counts."""
    moving, still = [20.0 + 0.1 * minute for minute in range(10)], [21.4] * 30
    marks = dict.fromkeys(range(35, 40), (BAD, STUCK))
    read = track_of(words("air_temperature", [*moving, *still], marks), "shop", SHOP).trace("air_temperature")
    assert len(read.times) == 10
    assert read.fault(Window(20 * MINUTE, 30 * MINUTE)) == STUCK


def test_an_end_stop_is_doubted_from_its_start_although_it_wavers():
    damp = [0.60, 0.70, 0.999, 0.998, 0.999, 0.999]
    read = track_of(words("relative_humidity", damp, {5: (BAD, PINNED)}), "shop", SHOP).trace("relative_humidity")
    assert read.values.tolist() == [0.60, 0.70]


def test_a_leap_as_the_gun_is_used_is_the_plume():
    marks = {20: (SUSPECT, STEP)}
    read = track_of(words("relative_humidity", [0.5] * 20 + [0.8] * 20, marks), "shop", SHOP)
    damp = read.trace("relative_humidity")
    assert in_the_plume(damp, Window(18 * MINUTE, 30 * MINUTE))
    assert not in_the_plume(damp, Window(30 * MINUTE, 40 * MINUTE))


def test_what_is_taken_out_leaves_its_reason():
    left = trace([0, 5, 10]).without_window(Window(4 * MINUTE, 6 * MINUTE), "in-the-plume")
    assert left.times.tolist() == [0.0, 600.0]
    assert left.fault(Window(0.0, 600.0)) == "in-the-plume"


def test_a_dew_point_sensor_gives_a_humidity():
    readings = [*words("air_temperature", [20.0] * 5), *words("dew_point", [10.0] * 5)]
    humidity = track_of(readings, "shop", SHOP).trace("relative_humidity").at(2 * MINUTE)
    assert humidity == pytest.approx(0.525, abs=0.005)  # ASHRAE Fundamentals 2017, ch. 1: psychrometric tables


def test_other_places_do_not_count():
    assert not track_of(words("air_temperature", [20.0] * 5), "booth", SHOP).traces


def hours(quantity: str, values: list[float]) -> list[Reading]:
    """A reading every ten minutes."""
    series = Series("shelf", "shop", quantity)
    return [Reading(series, value, index * 600_000, "test") for index, value in enumerate(values)]


@pytest.mark.parametrize(("swing", "kept"), [(0.15, 0), (0.05, 48)])
def test_a_temperature_that_stands_still_while_the_humidity_swings_is_stuck(swing, kept):
    """Eight hours to the tenth: with 15 % of swing no air does that, with 5 % a heated room may."""
    damp = [0.5 + swing * index / 47 for index in range(48)]
    track = track_of([*hours("air_temperature", [21.4] * 48), *hours("relative_humidity", damp)], "shop", SHOP)
    assert len(track.trace("air_temperature").times) == kept
    assert len(track.trace("relative_humidity").times) == 48


def test_a_humidity_that_stands_still_while_the_room_swings_is_stuck():
    warm = [18.0 + 4.0 * index / 47 for index in range(48)]
    track = track_of([*hours("air_temperature", warm), *hours("relative_humidity", [0.63] * 48)], "shop", SHOP)
    assert not len(track.trace("relative_humidity").times)
    assert len(track.trace("air_temperature").times) == 48


def test_short_stillness_is_no_fault():
    damp = [0.5 + 0.2 * index / 23 for index in range(24)]
    track = track_of([*hours("air_temperature", [21.4] * 24), *hours("relative_humidity", damp)], "shop", SHOP)
    assert len(track.trace("air_temperature").times) == 24


def drifted(hours: float, warms: float, high: float = 99.5) -> AirTrack:
    """Damp from the fourth hour on for so many, in a room that warms by so much meanwhile; a reading every 10 min."""
    shelf = Series("shelf", "shop", "air_temperature"), Series("shelf", "shop", "relative_humidity")
    found = []
    for at in np.arange(0.0, 4.0 + hours + 4.0, 1.0 / 6.0):
        inside = 4.0 <= at <= 4.0 + hours
        warm = 18.0 + warms * min(max((at - 4.0) / hours, 0.0), 1.0) + 0.05 * (round(at * 6) % 3)
        damp = (high if inside else 60.0) + 0.3 * (round(at * 6) % 4)
        found += [
            Reading(series, value, round(at * 3_600_000), "test", "good", "")
            for series, value in zip(shelf, (warm, damp / 100.0), strict=True)
        ]
    return track_of(found, "shop", SHOP)


@pytest.mark.parametrize(
    ("hours", "warms", "high", "doubted"),
    [
        (13.0, 2.0, 99.5, True), (12.1, 2.0, 99.5, True), (11.8, 2.0, 99.5, False),
        (13.0, 1.6, 99.5, True), (13.0, 1.2, 99.5, False), (30.0, -3.0, 99.5, False),
        (13.0, 2.0, 97.0, True), (13.0, 2.0, 95.9, False),
    ],
)  # fmt: skip
def test_half_a_day_at_saturation_in_a_room_that_warms_is_a_sensor_at_its_end(hours, warms, high, doubted):
    damp = drifted(hours, warms, high).trace("relative_humidity")
    eighth = 8.0 * 3600.0
    assert (damp.at(eighth) is None) is doubted
    assert damp.at(2.0 * 3600.0) is not None
    assert (damp.fault(Window(0.0, 2e5)) == PINNED) is doubted


def test_a_foggy_night_that_cools_is_believed():
    assert drifted(14.0, -4.0).trace("relative_humidity").at(10.0 * 3600.0) is not None


def test_a_room_brought_to_other_air_is_so_within_its_window_alone():
    track = drifted(2.0, 0.0)
    window = Window(3600.0, 7200.0)
    made = track.brought_to(23.0, 0.5, window)
    for moment, there in ((3000.0, False), (4000.0, True), (7000.0, True), (8000.0, False)):
        values = [made.trace(name).at(moment) for name in ("air_temperature", "relative_humidity")]
        before = [track.trace(name).at(moment) for name in ("air_temperature", "relative_humidity")]
        assert values == ([23.0, 0.5] if there else before)
    assert made.traces.keys() == track.traces.keys(), "no piece is made up where none was read"
