"""Temperature and moisture of one sensor that stand still: told, and doubted where something beside shows it."""

import pytest

from advisor.readings.quality import MINUTE, QualityControl
from advisor.readings.reading import Reading, Series
from tests.readings.quality_cases import ACCURACY, LATER, pair


def test_a_pair_that_has_not_moved_by_a_digit_is_told_from_one_hour_on_and_stays_good():
    control = QualityControl(ACCURACY)
    marks = pair(control, [20.5] * 300, [0.48] * 300)
    assert marks[59] == ("", "")
    assert set(marks[60:]) == {("still", "still")}
    assert not control.counts, "what is good is not counted among the faults"


@pytest.mark.parametrize(
    ("airs", "dampness"),
    [([20.0] * 100, [0.48 + 0.001 * (n % 30 == 0) for n in range(100)]), ([20.0, 20.1] * 50, [0.48] * 100)],
)
def test_one_that_moves_beside_one_that_does_not_is_an_ordinary_room(airs, dampness):
    assert set(pair(QualityControl(ACCURACY), airs, dampness)) == {("", "")}


def test_a_mark_it_came_with_goes_before_standing_still():
    control = QualityControl(ACCURACY)
    pair(control, [20.5] * 90, [0.48] * 90)
    stored = Reading(Series("shelf", "shop", "air_temperature"), 20.5, 90 * MINUTE, "x", "suspect", "not-live")
    assert control.mark(stored, LATER).reason == "not-live"


def beside(sister_moves: float, minutes: int = 60, apart: float = 0.0):
    """A sensor frozen as a pair beside a sister that goes so far in ten minutes and stays there; marks of both."""
    control, marks = QualityControl(ACCURACY), []
    for minute in range(minutes):
        gone = sister_moves * min(1.0, minute / 10)
        (frozen,) = pair(control, [20.5], [0.48], minute * MINUTE)
        (sister,) = pair(control, [20.5 + apart + gone], [0.48 - gone / 50], minute * MINUTE, "wall")
        marks.append((frozen, sister[0]))
    return marks


@pytest.mark.parametrize(("moves", "shown"), [(1.9, False), (2.1, True), (-2.1, True)])
def test_a_sister_that_has_moved_for_a_quarter_of_an_hour_shows_a_frozen_pair(moves, shown):
    """Begun apart to the other side, they never disagree; both quantities of the frozen one are doubted."""
    marks = beside(moves, apart=-moves / 2)
    assert (("stuck", "stuck") in [frozen for frozen, _ in marks]) == shown
    assert [frozen for frozen, _ in marks][:20] == [("", "")] * 20
    assert {sister for _, sister in marks} == {""}


def test_a_sister_in_the_sun_does_not_win_by_moving():
    """Apart from the still one it is doubted too, so nobody sprays by it."""
    frozen, sister = beside(4.0)[-1]
    assert frozen == ("stuck", "stuck")
    assert sister == "disagrees"


def test_a_door_that_opens_and_shuts_beside_a_sister_shows_nothing():
    control, marks = QualityControl(ACCURACY), []
    for minute in range(59):
        (frozen,) = pair(control, [20.5], [0.48], minute * MINUTE)
        pair(control, [20.0 - 2.4 * (minute % 20 > 8)], [0.48], minute * MINUTE, "door")
        marks.append(frozen)
    assert set(marks) == {("", "")}


@pytest.mark.parametrize(("humidity", "warmer", "shown"), [(0.5, 2.6, False), (0.5, 3.1, True), (0.2, 6.0, False)])
def test_a_humidity_that_does_not_move_with_its_own_temperature_is_stuck(humidity, warmer, shown):
    """The same water in warmer air: of 50 % it takes 8 from 2.9 K on, of 20 % not by 6 K; the temperature is well."""
    airs = [20.0 + warmer * min(1.0, minute / 20) for minute in range(60)]
    marks = pair(QualityControl(ACCURACY), airs, [humidity] * 60)
    assert ("stuck" in [damp for _, damp in marks]) == shown
    assert {air for air, _ in marks} == {""}


def test_a_coarse_sensor_in_a_steady_room_is_told_and_not_doubted_through_five_hours():
    """0.5 K and 1 %, a room that drifts by 0.4 K and 0.8 %, a sister of 0.01 K that shows it."""
    control, marks = QualityControl(ACCURACY), []
    for minute in range(300):
        drift = 0.4 * minute / 300
        marks += pair(control, [round((20.5 + drift / 2) * 2) / 2], [0.48], minute * MINUTE)
        pair(control, [20.5 + drift], [0.48 + drift / 50], minute * MINUTE, "fine")
    assert {mark for marked in marks for mark in marked} <= {"", "still"}
    assert marks[-1] == ("still", "still")


def test_a_silent_night_is_no_frozen_sensor():
    control = QualityControl(ACCURACY)
    pair(control, [20.5] * 10, [0.48] * 10)
    assert set(pair(control, [20.5] * 10, [0.48] * 10, 14 * 60 * MINUTE)) == {("", "")}
