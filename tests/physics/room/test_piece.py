"""A board that lags: the finisher's figures, and how far it is from conduction in one dimension."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from advisor.errors import OutOfRange
from advisor.physics.air.moist_air import dew_point
from advisor.physics.film.slab import Slab, slab_modes
from advisor.physics.room.piece import FACE_TRANSFER, Piece, warm_up_time
from tests.physics.film.film_cases import slab_of
from tests.physics.room.room_cases import board
from tests.support import every

MINUTE = 60.0


@pytest.mark.parametrize(("thickness", "minutes"), [(0.020, 20.0), (0.045, 45.0)])
def test_wood_with_both_faces_free_follows_a_minute_a_millimetre(thickness, minutes):
    """The finisher's starting table (from memory): 20 mm 20 min, 45 mm 45 min, stacked 4 times that."""
    assert board(8.0, thickness).time_constant / MINUTE == pytest.approx(minutes, abs=0.5)
    assert board(8.0, thickness, stacked=True).time_constant / MINUTE == pytest.approx(4 * minutes, abs=2.0)


def test_a_board_out_of_a_cold_car_is_over_the_dew_in_10_to_15_min_and_at_18_in_about_30():
    """Test day 10: 8 °C into 21 °C 50 % (dew + 3 K: 13.2 °C); stacked: hours. Common practice, no source."""
    cold = board(8.0)
    safe = dew_point(21.0, 0.50) + 3.0
    assert safe == pytest.approx(13.2, abs=0.05)
    assert 10.0 <= warm_up_time(cold, 21.0, safe) / MINUTE <= 15.0
    assert warm_up_time(cold, 21.0, 18.0) / MINUTE == pytest.approx(30.0, abs=3.0)
    assert warm_up_time(board(8.0, stacked=True), 21.0, 18.0) > 1.5 * 3600.0


def conducted(minutes, thickness):
    """Face and middle of a board in one dimension, 0 at the start and 1 in the air: half of it, its back insulated."""
    wood = slab_of("wood")
    slab = Slab(thickness / 2, wood.conductivity, wood.density, wood.heat_capacity, 0.0)
    modes = slab_modes((slab,), 40)
    through = 1.0 / (1.0 / FACE_TRANSFER + 1.0 / modes.conductance[0])
    # the exchange at the face joins the modes: rate matrix diag(rates) + through front drive
    matrix = np.diag(modes.rates[0]) + through * np.outer(modes.drive[0], modes.front[0])
    rates, vectors = np.linalg.eigh(0.5 * (matrix + matrix.T))
    drive = vectors.T @ (through * modes.drive[0])
    state = vectors @ (-np.expm1(-rates * minutes * MINUTE) / rates * drive)
    first = modes.front[0] @ state
    face = (FACE_TRANSFER + modes.conductance[0] * first) / (FACE_TRANSFER + modes.conductance[0])
    return face, modes.heat_content[0] @ state / (wood.density * wood.heat_capacity * thickness / 2)


@every("thickness", [0.020, 0.045])
@every("minutes", [2.0, 5.0, 10.0, 20.0, 40.0, 80.0])
def test_the_lumped_board_is_colder_than_the_face_of_one_that_conducts_until_it_is_nearly_there(thickness, minutes):
    """The face leads, most of all at first and in thick wood, and lags by 3 % of the way late; the mean always lags."""
    lumped = -np.expm1(-minutes * MINUTE / board(0.0, thickness).time_constant)
    face, mean = conducted(minutes, thickness)
    assert mean < lumped
    assert -0.03 < face - lumped < (0.135 if thickness < 0.03 else 0.215)


@pytest.mark.parametrize(("thickness", "early", "late"), [(0.020, 18.0, 22.0), (0.045, 38.0, 45.0)])
def test_the_face_of_a_board_that_conducts_comes_63_percent_of_the_way_in_about_the_finisher_s_time(
    thickness, early, late
):
    assert conducted(early, thickness)[0] < 1.0 - np.exp(-1.0) < conducted(late, thickness)[0]


@given(st.floats(-10.0, 40.0), st.floats(-10.0, 40.0), st.floats(0.001, 0.999), st.floats(0.002, 0.1))
def test_waiting_the_warm_up_time_brings_it_to_the_target(start, air, share, thickness):
    """There and back: the exponential it comes from."""
    piece = board(start, thickness)
    target = start + share * (air - start)
    if abs(air - start) > 0.01:
        waited = warm_up_time(piece, air, target)
        assert air + (start - air) * np.exp(-waited / piece.time_constant) == pytest.approx(target, abs=1e-6)


def test_thicker_stacked_and_colder_takes_longer():
    here = warm_up_time(board(8.0), 21.0, 15.0)
    assert warm_up_time(board(8.0, 0.021), 21.0, 15.0) > here
    assert warm_up_time(board(8.0, stacked=True), 21.0, 15.0) == pytest.approx(4.0 * here)
    assert warm_up_time(board(7.0), 21.0, 15.0) > here
    assert warm_up_time(board(8.0), 22.0, 15.0) < here


@pytest.mark.parametrize(
    ("start", "air", "target", "seconds"),
    [(8.0, 21.0, 8.0, 0.0), (8.0, 21.0, 7.9, 0.0), (8.0, 21.0, 21.0, np.inf), (8.0, 21.0, 21.1, np.inf),
     (25.0, 15.0, 25.1, 0.0), (25.0, 15.0, 15.0, np.inf), (25.0, 15.0, 14.9, np.inf), (20.0, 20.0, 20.0, 0.0),
     (20.0, 20.0, 20.1, np.inf), (20.0, 20.0, 19.9, np.inf)],
)  # fmt: skip
def test_a_target_already_reached_takes_no_time_and_one_beyond_the_air_for_ever(start, air, target, seconds):
    assert warm_up_time(board(start), air, target) == seconds


def test_many_boards_at_once_are_each_their_own():
    starts = np.array([2.0, 8.0, 14.0])
    assert warm_up_time(board(starts), 21.0, 15.0).tolist() == [
        float(warm_up_time(board(t), 21.0, 15.0)) for t in starts
    ]


@pytest.mark.parametrize(
    ("figures", "words"),
    [((np.nan, 680.0, 1650.0, 8.0), "thickness nan"), ((0.0, 680.0, 1650.0, 8.0), "thickness 0"),
     ((0.02, 20.0, 1650.0, 8.0), "density 20"), ((0.02, 680.0, np.inf, 8.0), "heat capacity inf"),
     ((0.02, 680.0, 1650.0, np.nan), "piece temperature nan"), ((0.02, 680.0, 1650.0, 8.0, 0.0), "area of the pieces")],
)  # fmt: skip
def test_what_is_no_board_is_refused(figures, words):
    with pytest.raises(OutOfRange, match=words):
        Piece(*figures)


@pytest.mark.parametrize("temperatures", [(np.nan, 15.0), (21.0, np.nan), (90.0, 15.0)])
def test_temperatures_that_are_none_are_refused(temperatures):
    with pytest.raises(OutOfRange, match="temperature"):
        warm_up_time(board(8.0), *temperatures)
