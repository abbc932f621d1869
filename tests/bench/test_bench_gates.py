"""The gates of the bench: just under passes, just over is named, and what stops says so."""

import pytest

from advisor.bench.bench import InThePot, bench
from advisor.bench.bench_gates import AGEING, BUILD, COATS, DEAD, OLD, WET_FILM, WET_FILM_USUAL, gates
from advisor.catalog.coatings import load_coating
from advisor.physics.paint.cups import find_cup
from advisor.say.craft.bench_words import gate_words
from tests.support import SHOP

CLEAR, PRECAT, SHELLAC = map(load_coating, ("waterborne-clear-2k", "precatalysed-lacquer", "shellac"))
MONTH = 2.6298e6


def kinds(coating, wet=100e-6, dry=30e-6, coats=2, age=None, life=None):
    return [(gate.kind, gate.stop) for gate in gates(coating, wet, dry, coats, age, life)]


@pytest.mark.parametrize(
    ("wet", "expected"),
    [(119e-6, []), (120e-6, []), (121e-6, [(WET_FILM_USUAL, False)]), (150e-6, [(WET_FILM_USUAL, False)]),
     (151e-6, [(WET_FILM, True)])],
)  # fmt: skip
def test_a_film_over_the_usual_is_told_and_over_the_most_stops(wet, expected):
    assert kinds(CLEAR, wet) == expected


@pytest.mark.parametrize(("coats", "expected"), [(4, []), (5, []), (6, [(BUILD, False)])])
def test_too_high_a_build_is_told(coats, expected):
    """150 µm in all for this clear, 30 a coat."""
    assert kinds(CLEAR, coats=coats) == expected


@pytest.mark.parametrize(("coats", "expected"), [(3, []), (4, [(COATS, False)])])
def test_too_many_coats_of_a_precatalysed_lacquer_are_told(coats, expected):
    assert kinds(PRECAT, dry=20e-6, coats=coats) == expected


@pytest.mark.parametrize(
    ("months", "expected"),
    [(5.99, []), (6.01, [(AGEING, False)]), (11.99, [(AGEING, False)]), (12.01, [(OLD, True)])],
)
def test_a_catalysed_lacquer_ages_and_is_then_too_old(months, expected):
    assert kinds(PRECAT, age=months * MONTH) == expected


@pytest.mark.parametrize(("months", "expected"), [(5.99, []), (6.01, [(OLD, True)])])
def test_shellac_from_flake_keeps_half_a_year(months, expected):
    assert kinds(SHELLAC, wet=60e-6, dry=9e-6, age=months * MONTH) == expected


@pytest.mark.parametrize(("age", "expected"), [(7199.0, []), (7200.0, []), (7201.0, [(DEAD, True)])])
def test_a_pot_past_its_life_stops(age, expected):
    assert kinds(CLEAR, age=age, life=7200.0) == expected


def test_an_age_that_is_no_number_stops():
    assert kinds(CLEAR, age=float("nan"), life=7200.0) == [(DEAD, True)]


def test_what_stops_stands_first_and_says_wait():
    found = gates(CLEAR, 400e-6, 130e-6, 9, 9000.0, 7200.0)
    assert [gate.stop for gate in found] == [True, True, False]
    assert all(gate_words(gate, SHOP).startswith("WAIT: ") == gate.stop for gate in found)


def test_the_bench_takes_the_age_from_the_pots_own_clock():
    reading = InThePot(find_cup("DIN 4"), 40.0, 23.0, 500e-6, age=3000.0)
    answer = bench(CLEAR, reading, SHOP)
    assert answer.pot_left == pytest.approx(7200.0 - 3000.0)
    assert not answer.stopped
    assert bench(CLEAR, InThePot(find_cup("DIN 4"), 40.0, 23.0, 500e-6, age=7300.0), SHOP).stopped
