"""Read off a film's history: when it set, how cold it got, how long below the dew, and the water in it then."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from advisor.errors import OutOfRange
from advisor.physics.film import setting
from advisor.physics.film.film import HeatBalance, History
from advisor.physics.film.mixture import activity_per_mass
from tests.physics.film.film_cases import coating_mix, films_of

NOTHING = HeatBalance(*(np.zeros(1),) * 5)


def history(moments, temperature, water=None, solids=None) -> History:
    """A history of one film made up for a test: water is the only liquid."""
    count = len(moments)
    water = np.zeros(count) if water is None else np.asarray(water, dtype=np.float64)
    solids = np.linspace(0.2, 0.9, count) if solids is None else np.asarray(solids, dtype=np.float64)
    column = np.asarray(temperature, dtype=np.float64)[:, None]
    return History(np.asarray(moments, dtype=np.float64), column, water[:, None, None], solids[:, None], NOTHING)


def test_time_to_solids_lies_on_the_straight_line_between_two_moments():
    found = history([0, 10, 20], [20, 10, 20], solids=[0.2, 0.5, 0.7])
    assert setting.time_to_solids(found, 0.6)[0] == pytest.approx(15.0)
    assert setting.time_to_solids(found, 0.5)[0] == pytest.approx(10.0)
    temperature, _ = setting.at_solids(found, 0.6)
    assert temperature[0] == pytest.approx(15.0)


def test_a_film_that_does_not_get_there_has_no_time_and_is_read_at_the_end():
    found = history([0, 10, 20], [20, 10, 18], water=[3, 2, 1], solids=[0.2, 0.4, 0.5])
    assert np.isnan(setting.time_to_solids(found, 0.6)[0])
    temperature, masses = setting.at_solids(found, 0.6)
    assert (temperature[0], masses[0, 0]) == (18.0, 1.0)


def test_a_film_that_lands_set_is_set_at_once():
    assert setting.time_to_solids(history([0, 10], [20, 10], solids=[0.7, 0.8]), 0.6)[0] == 0.0


@given(st.floats(0.21, 0.88), st.floats(0.0, 0.01))
def test_more_solids_take_longer(solids, more):
    found = history(np.linspace(0, 100, 12), np.full(12, 20.0))
    assert setting.time_to_solids(found, solids + more)[0] >= setting.time_to_solids(found, solids)[0]


def test_the_first_3_seconds_do_not_count_as_the_films_temperature():
    """A droplet of 2 °C that meets a piece of 20 °C is not a film of 2 °C."""
    found = history([0, 1, 3, 10], [2, 5, 12, 15])
    assert setting.lowest_temperature(found)[0] == 12.0
    assert setting.seconds_below(found, np.array([12.5]))[0] == pytest.approx(7.0 * 0.5 / 3.0)


def test_seconds_below_a_line_are_exact_for_straight_lines():
    """A V of 4 K a second, 3 K deep below the dew point: half a cycle each way."""
    found = history([3, 13, 23], [16, 6, 16])
    assert setting.seconds_below(found, np.array([9.0]))[0] == pytest.approx(6.0)
    assert setting.seconds_below(found, np.array([5.0]))[0] == 0.0
    assert setting.seconds_below(found, np.array([20.0]))[0] == 20.0


@given(st.floats(0.0, 25.0), st.floats(0.0, 2.0))
def test_a_higher_dew_point_is_never_left_sooner(dew, more):
    found = history([3, 7, 13, 40, 90], [18, 9, 7, 14, 22])
    assert setting.seconds_below(found, np.array([dew + more])) >= setting.seconds_below(found, np.array([dew]))


def test_water_condensed_counts_what_came_while_the_film_was_below_the_dew_point():
    found = history([0, 3, 10, 20, 30], [20, 10, 8, 9, 15], water=[0.0, 1.0, 3.0, 4.0, 6.0])
    # from 3 to 20 s below 10 °C: 2 and 1; the last gain came above it, the first before 3 s
    assert setting.water_condensed(found, np.array([9.5]), 0)[0] == pytest.approx(3.0)
    assert setting.water_condensed(found, np.array([5.0]), 0)[0] == 0.0


def real(share_of_water: float):
    """A lacquer film at one moment with this mass of water to organic liquid, and the films it belongs to."""
    films = films_of(coating_mix("nitrocellulose-lacquer"), ["wood"])
    masses = films.masses[0] * 0.1
    water = films.liquids.names.index("water")
    masses[water] = share_of_water * masses.sum()
    volume = float((masses / films.liquids.density).sum())
    films = replace(films, resin_volume=np.array([1.5 * volume]))  # 60 % solids
    still = np.array([masses, masses])[:, None]
    found = History(np.array([0.0, 10.0]), np.full((2, 1), 20.0), still, np.full((2, 1), 0.6), NOTHING)
    return films, found


def test_water_held_is_water_over_the_slow_solvent():
    films, found = real(0.05)
    names = films.liquids.names
    slow = np.array([name in ("n-butyl-acetate", "2-butoxyethanol") for name in names])
    masses = found.masses[0, 0]
    held = setting.water_held(found, films, 0.6, slow)
    assert held.to_slow_solvent[0] == pytest.approx(masses[names.index("water")] / masses[slow].sum())
    assert held.slow_share[0] == pytest.approx(masses[slow].sum() / (masses.sum() - masses[names.index("water")]))


def test_as_much_water_as_stays_dissolved_has_an_activity_of_1():
    """Round trip: put that much in, and the film's own activity says saturated; a little less, and it is not."""
    films, found = real(0.001)
    keeps = np.array([name != "water" for name in films.liquids.names])
    held = setting.water_held(found, films, 0.6, keeps)
    water = films.liquids.names.index("water")
    masses = found.masses[0].copy()
    slow = masses[:, keeps].sum()
    for share, expected in ((1.0, 1.0), (0.9, None)):
        masses[:, water] = share * held.dissolved_at_most[0] * slow
        activity = (activity_per_mass(masses, films.resin_volume, films.liquids, films.resin) * masses)[0, water]
        assert activity == pytest.approx(1.0, abs=1e-6) if expected else activity < 1.0


def test_where_only_diluent_is_left_it_counts_as_the_slow_solvent():
    films, found = real(0.05)
    none = np.zeros(len(films.liquids.names), dtype=bool)
    masses, water = found.masses[0, 0], films.liquids.names.index("water")
    held = setting.water_held(found, films, 0.6, none)
    assert held.to_slow_solvent[0] == pytest.approx(masses[water] / (masses.sum() - masses[water]))
    assert held.slow_share[0] == 0.0


def test_more_water_is_more_water_held():
    keeps = None
    for share in (0.01, 0.02, 0.1):
        films, found = real(share)
        slow = np.array([name != "water" for name in films.liquids.names])
        held = setting.water_held(found, films, 0.6, slow).to_slow_solvent[0]
        assert keeps is None or held > keeps
        keeps = held


@pytest.mark.parametrize("solids", [0.0, 1.0, -0.1, 60.0, float("nan")])
def test_a_share_of_solids_that_is_none_is_refused(solids):
    with pytest.raises(OutOfRange, match="solids of"):
        setting.time_to_solids(history([0, 10], [20, 10]), solids)


def test_a_history_of_under_3_seconds_has_no_lowest_temperature():
    with pytest.raises(OutOfRange, match="under 3 s"):
        setting.lowest_temperature(history([0, 1, 2], [20, 10, 12]))


def test_films_without_water_in_their_list_hold_none_to_judge():
    films, found = real(0.01)
    with pytest.raises(OutOfRange, match="without water"):
        setting.water_held(found, replace(films, liquids=replace(films.liquids, water=None)), 0.6, np.ones(1, bool))


def test_what_comes_after_a_film_is_judged_is_not_counted():
    """A batch goes on for its slowest film; each counts up to its own moment, the step that holds it included."""
    found = history([0, 3, 13, 23, 33], [18, 16, 6, 16, 2], water=[0.0, 0.0, 1.0, 2.0, 5.0])
    until, dew = np.array([20.0]), np.array([9.0])
    assert setting.lowest_temperature(found, until)[0] == 6.0
    assert setting.seconds_below(found, dew, until)[0] == pytest.approx(6.0)
    assert setting.seconds_below(found, dew)[0] == pytest.approx(11.0)
    assert setting.water_condensed(found, dew, 0, until)[0] == pytest.approx(1.0)
    assert setting.water_condensed(found, dew, 0)[0] == pytest.approx(4.0)
