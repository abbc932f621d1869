"""Quality control marks what is wrong, keeps everything, and looks only backwards."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from advisor.readings.quality import MINUTE, QualityControl
from tests.readings.quality_cases import ACCURACY, run


def test_ordinary_air_is_left_alone():
    assert set(run([20 + 0.1 * n for n in range(60)])) == {""}
    assert set(run([0.45 + 0.002 * n for n in range(60)], "relative_humidity")) == {""}


@pytest.mark.parametrize(
    ("quantity", "inside", "outside"),
    [
        ("air_temperature", (-40.0, 60.0), (-40.1, 60.1, 70.0, float("nan"), float("inf"))),
        ("relative_humidity", (0.02, 1.0, 1.05), (0.0, 0.01, 0.019, 1.06)),
        ("surface_temperature", (-40.0, 80.0), (-40.1, 80.1)),
        ("particles_5um", (0.0, 1e10), (-1.0, 1.1e10)),
        ("pm2.5", (0.0, 1e-5), (-1e-9, 1.1e-5)),
    ],
)
def test_what_cannot_be_is_out_of_range(quantity, inside, outside):
    assert [run([value], quantity) for value in inside] == [[""]] * len(inside)
    assert [run([value], quantity) for value in outside] == [["out-of-range"]] * len(outside)


def test_70_fahrenheit_under_celsius_is_out_of_range_but_35_cannot_be_seen_in_one_row():
    """A single 35 is plausible Celsius; only a sister sensor can tell. The guide says so."""
    assert run([70.0]) == ["out-of-range"]
    assert run([35.0]) == [""]


def test_fahrenheit_beside_a_celsius_sister_is_told():
    control = QualityControl(ACCURACY)
    run([1.6], control=control, sensor="wall")
    assert run([35.0], control=control, start=MINUTE) == ["wrong-unit"]


@pytest.mark.parametrize(("step", "mark"), [(2.9, ""), (3.0, ""), (3.1, "step")])
def test_a_jump_is_held_when_faster_than_air_turns(step, mark):
    assert run([20.0, 20.0 + step]) == ["", mark]
    assert run([20.0, 20.0 - step]) == ["", mark]


def test_a_spike_is_marked_and_the_return_is_not():
    assert run([20, 20, 29, 20, 20]) == ["", "", "step", "", ""]


def test_a_true_change_is_believed_from_the_second_reading_on():
    assert run([20, 29, 29, 29]) == ["", "step", "", ""]


def test_slow_loggers_may_step_further():
    assert run([20.0, 29.0], minutes=10) == ["", ""]


def test_a_humidity_at_its_end_stop_for_two_hours_is_the_sensor():
    marks = run([0.999] * 181, "relative_humidity")
    assert marks[119] == ""
    assert marks[120] == "pinned"
    assert marks[180] == "pinned"


def test_a_humidity_just_under_the_end_stop_is_damp_air():
    marks = run([0.985, 0.989] * 100, "relative_humidity")
    assert set(marks) == {""}


def test_a_long_silence_ends_a_run():
    marks = run([0.999] * 60, "relative_humidity") + run([0.999] * 60, "relative_humidity", start=480 * MINUTE)
    assert set(marks) == {""}


def test_one_quantity_frozen_alone_is_stuck_after_a_day():
    marks = run([20.0] * 150, minutes=10)
    assert marks.index("stuck") == 144


def test_both_quantities_frozen_are_stuck_after_six_hours():
    control = QualityControl(ACCURACY)
    marks = []
    for minute in range(0, 500, 10):
        run([20.0], control=control, start=minute * MINUTE)
        marks += run([0.5], "relative_humidity", control=control, start=minute * MINUTE)
    assert 35 <= marks.index("stuck") <= 37


def test_a_steady_temperature_with_living_humidity_is_not_stuck():
    control = QualityControl(ACCURACY)
    marks = []
    for minute in range(0, 900, 10):
        marks += run([20.0], control=control, start=minute * MINUTE)
        marks += run([0.5 + 0.001 * (minute % 30)], "relative_humidity", control=control, start=minute * MINUTE)
    assert set(marks) == {""}


@pytest.mark.parametrize(("apart", "marked"), [(1.9, False), (2.0, False), (2.1, True)])
def test_sisters_apart_for_a_quarter_of_an_hour_are_both_doubted(apart, marked):
    control = QualityControl(ACCURACY)
    marks: dict[str, list[str]] = {"shelf": [], "wall": []}
    for minute in range(20):
        marks["shelf"] += run([20.0], control=control, start=minute * MINUTE)
        marks["wall"] += run([20.0 + apart], control=control, sensor="wall", start=minute * MINUTE)
    assert ("disagrees" in marks["shelf"]) == marked
    assert ("disagrees" in marks["wall"]) == marked
    assert marks["wall"][:14] == [""] * 14


def test_the_odd_one_of_three_is_doubted_alone():
    control = QualityControl(ACCURACY)
    marks: dict[str, list[str]] = {"a": [], "b": [], "c": []}
    for minute in range(30):
        for sensor, value in (("a", 0.5), ("b", 0.51), ("c", 0.7)):
            marks[sensor] += run([value], "relative_humidity", control=control, sensor=sensor, start=minute * MINUTE)
    assert "disagrees" in marks["c"]
    assert set(marks["a"]) | set(marks["b"]) == {""}


def test_a_stamp_beyond_the_present_is_a_wrong_clock():
    assert run([20.0, 20.0, 20.0], now=MINUTE) == ["", "", "future"]


def test_two_values_for_one_moment_are_a_conflict_and_a_repeat_is_not():
    assert run([20.0, 20.0, 20.5], minutes=0) == ["", "", "conflict"]


@pytest.mark.parametrize("first", [90.0, 500.0, None])
def test_a_sensor_that_said_two_things_for_one_moment_said_nothing_for_it(first):
    """A, B, A is no agreement on A, and neither is rubbish followed by a number."""
    assert run([first, 20.0], minutes=0)[1] == "conflict"
    assert run([20.0, first, 20.0], minutes=0)[1:] == ["conflict", "conflict"]


def test_the_same_line_twice_does_not_confirm_a_jump():
    control = QualityControl(ACCURACY)
    run([0.9] * 5, "relative_humidity", control=control)
    assert run([0.5, 0.5], "relative_humidity", minutes=0, control=control, start=10 * MINUTE) == ["", ""]
    assert run([0.2, 0.2], "relative_humidity", minutes=0, control=control, start=11 * MINUTE) == ["step", "step"]
    assert run([0.2], "relative_humidity", control=control, start=12 * MINUTE) == [""]


def test_a_slow_logger_can_be_stuck_too():
    control = QualityControl(ACCURACY)
    marks = []
    for minute in range(0, 5 * 1440, 61):
        run([21.0], control=control, start=minute * MINUTE)
        marks += run([0.5], "relative_humidity", control=control, start=minute * MINUTE)
    assert marks[-1] == "stuck"


@pytest.mark.parametrize("quantity", ["dew_point", "surface_temperature"])
def test_a_frozen_dew_point_or_surface_is_stuck_after_a_day(quantity):
    marks = run([10.0] * 30, quantity, minutes=60)
    assert marks.index("stuck") == 24


def test_sisters_that_speak_in_turns_are_compared_and_both_doubted():
    control = QualityControl(ACCURACY)
    marks: dict[str, list[str]] = {"a": [], "b": []}
    for minute in range(0, 600, 15):
        marks["a"] += run([0.8], "relative_humidity", control=control, sensor="a", start=minute * MINUTE)
        marks["b"] += run([0.45], "relative_humidity", control=control, sensor="b", start=(minute + 11) * MINUTE)
    assert marks["a"][-1] == marks["b"][-1] == "disagrees"


def test_a_late_reading_is_kept_and_upsets_nothing():
    control = QualityControl(ACCURACY)
    run([20.0] * 3, control=control, start=10 * MINUTE)
    assert run([35.0], control=control, start=5 * MINUTE) == [""]
    assert run([20.1], control=control, start=14 * MINUTE) == [""]


def test_counts_are_by_reason():
    control = QualityControl(ACCURACY)
    run([20, None, 70, 20], control=control)
    assert control.counts == {"missing": 1, "out-of-range": 1}


@given(st.lists(st.one_of(st.none(), st.floats(-50, 110), st.just(float("nan"))), max_size=60))
def test_a_mark_never_depends_on_what_comes_later(values):
    marks = run(values)
    assert run(values[: len(values) // 2]) == marks[: len(values) // 2]
    assert len(marks) == len(values)


@pytest.mark.parametrize("values", [[None], [None, 20.0], [20.0, 30.0], [30.0, None, 20.0], [500.0]])
def test_what_is_ahead_of_the_clock_is_future_before_all_else_and_is_not_remembered(values):
    """Without a value, or with two for one moment, or a value that cannot be: it was never said."""
    control = QualityControl(ACCURACY)
    run([20.0], control=control)
    assert run(values, minutes=0, control=control, start=90 * MINUTE, now=60 * MINUTE) == ["future"] * len(values)
    assert run([20.1], control=control, start=90 * MINUTE, now=90 * MINUTE) == [""]
