"""Linear stores: exact in time. The oracle is scipy's LSODA on the same equations, at 1e-10."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from advisor.physics.room.stores import Stretch, stores_course
from tests.oracles import integrate

CAPACITY = np.array([[1.0e5, 4.0e5, 3.0e6]])
LINKS = [(0, 1, np.array([900.0])), (1, 2, np.array([2000.0]))]
STRETCHES = [
    Stretch(np.array([300.0]), ((0, np.array([600.0])),), ((0, np.array([600.0 * 5.0])),)),
    Stretch(np.array([400.0]), ((2, np.array([50.0])),), ((0, np.array([2000.0])), (2, np.array([50.0 * 5.0])))),
    Stretch(np.array([0.0]), (), ((0, np.array([1e6])),)),
    Stretch(np.array([500.0]), (), ()),
]
START = np.array([[20.0, 19.0, 18.0]])
MOMENTS = np.array([0.0, 1.0, 60.0, 299.0, 300.0, 301.0, 700.0, 900.0, 1200.0])


def integrated(moments):
    """The same course by scipy, stretch by stretch."""

    def slope(stretch):
        def of(_, x):
            flow = np.zeros(3)
            for one, other, exchange in LINKS:
                passed = exchange[0] * (x[one] - x[other])
                flow[one] -= passed
                flow[other] += passed
            for store, loss in stretch.losses:
                flow[store] -= loss[0] * x[store]
            for store, source in stretch.sources:
                flow[store] += source[0]
            return flow / CAPACITY[0]

        return of

    state, begin, found = START[0], 0.0, {0.0: START[0]}
    for stretch in STRETCHES:
        end = begin + stretch.span[0]
        if end > begin:
            wanted = [moment for moment in moments if begin < moment < end]
            done = integrate.solve_ivp(
                slope(stretch), (begin, end), state, "LSODA", [*wanted, end], rtol=1e-10, atol=1e-10
            )
            found.update(zip([*wanted, end], done.y.T, strict=True))
            state, begin = done.y[:, -1], end
    return np.array([found[moment] for moment in moments])


def test_stores_follow_what_an_integrator_finds_through_every_switch():
    course = stores_course(CAPACITY, LINKS, START, STRETCHES, MOMENTS)
    assert course[0] == pytest.approx(integrated(MOMENTS), abs=1e-6)


def test_a_course_does_not_depend_on_how_often_it_is_looked_at():
    often = np.union1d(MOMENTS, np.linspace(0.0, 1200.0, 977))
    course = stores_course(CAPACITY, LINKS, START, STRETCHES, often)
    few = stores_course(CAPACITY, LINKS, START, STRETCHES, MOMENTS)
    assert course[:, np.searchsorted(often, MOMENTS)] == pytest.approx(few, abs=1e-9)


def test_cases_with_switches_at_different_moments_are_each_their_own():
    """Side by side, and one by one."""
    spans = np.array([120.0, 300.0])
    both = [
        Stretch(spans, ((0, np.array([600.0, 100.0])),), ((0, np.array([3000.0, 900.0])),)),
        Stretch(900.0 - spans, (), ()),
    ]
    moments = np.linspace(0.0, 900.0, 16)
    links = [(one, other, np.repeat(exchange, 2)) for one, other, exchange in LINKS]
    together = stores_course(np.repeat(CAPACITY, 2, 0), links, np.repeat(START, 2, 0), both, moments)
    for case in (0, 1):
        alone = [
            Stretch(
                stretch.span[[case]],
                tuple((store, figure[[case]]) for store, figure in stretch.losses),
                tuple((store, figure[[case]]) for store, figure in stretch.sources),
            )
            for stretch in both
        ]
        assert together[case] == pytest.approx(stores_course(CAPACITY, LINKS, START, alone, moments)[0], abs=1e-9)


def test_a_single_store_falls_to_1_over_e_in_its_time_constant():
    stretch = Stretch(np.array([100.0]), ((0, np.array([2.0])),), ())
    course = stores_course(np.array([[200.0]]), [], np.array([[1.0]]), [stretch], np.array([100.0]))
    assert course[0, 0, 0] == pytest.approx(np.exp(-1.0))


@given(st.floats(0.0, 1e7), st.floats(-1e4, 1e4))
def test_a_store_that_loses_nothing_keeps_all_that_flows_in(seconds, flow):
    stretch = Stretch(np.array([seconds]), (), ((0, np.array([flow])),))
    course = stores_course(np.array([[50.0]]), [], np.array([[3.0]]), [stretch], np.array([seconds]))
    assert course[0, 0, 0] == pytest.approx(3.0 + flow * seconds / 50.0, rel=1e-9)


@given(st.floats(1e-16, 1e-3), st.floats(1.0, 1e6))
def test_slow_leaks_are_exact_too(rate, seconds):
    """(1 - exp(-x)) without loss of digits, however small x is."""
    stretch = Stretch(np.array([seconds]), ((0, np.array([rate])),), ((0, np.array([1.0])),))
    course = stores_course(np.array([[1.0]]), [], np.array([[0.0]]), [stretch], np.array([seconds]))
    assert course[0, 0, 0] == pytest.approx(-np.expm1(-rate * seconds) / rate, rel=1e-6)
