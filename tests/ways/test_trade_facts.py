"""What a small shop does every day, against catalog and bench. Source: common practice, no source (the table)."""

import csv

import pytest

from advisor.bench.bench import InThePot, bench
from advisor.catalog.coatings import load_coating
from advisor.physics.paint.cups import find_cup
from tests.support import ROOT, SHOP

DIN_4 = find_cup("DIN 4")
PSI = 6894.757293168  # [Pa]; NIST SP 811 Appendix B
with (ROOT / "tests" / "reference" / "trade_facts.csv").open(encoding="utf-8") as table:
    FACTS = {row["fact"]: row for row in csv.DictReader(table)}


def fact(name: str) -> tuple[float, float]:
    row = FACTS[name]
    return float(row["low"]), float(row["high"] or row["low"])


def number(coating: str, key: str) -> float:
    return load_coating(coating).numbers[key].value


def test_a_colour_thinned_runs_through_the_fine_needle_and_a_thick_clear_wants_the_large_one():
    colour, clear = load_coating("waterborne-colour"), load_coating("waterborne-clear-2k")
    thin = bench(colour, InThePot(DIN_4, 30.0, 21.0, 500e-6, target=20.0), SHOP)
    assert thin.needle * 1e3 == pytest.approx(fact("needle for thinned colour")[0])
    thick = bench(clear, InThePot(DIN_4, 40.0, 21.0, 500e-6), SHOP)
    assert thick.thinner == 0.0
    assert thick.needle * 1e3 == pytest.approx(fact("needle for thick two-pack clear unthinned")[0])


def test_the_needle_for_sealer_is_in_its_range():
    low, high = (number("waterborne-sealer", f"needle_{edge}") * 1e3 for edge in ("low", "high"))
    assert low <= fact("needle for sealer")[0] <= high


def test_the_pressure_for_thinned_colour_is_in_its_range():
    low, high = (number("waterborne-colour", f"gun_pressure_{edge}") for edge in ("low", "high"))
    assert low <= fact("gun pressure for thinned colour (HVLP detail gun)")[0] * PSI <= high


def test_the_hardener_of_a_water_borne_two_pack_is_a_tenth_by_volume():
    assert number("waterborne-clear-2k", "hardener_share") * 100 == fact("water-borne two-pack hardener by volume")[0]
    clear = bench(load_coating("waterborne-clear-2k"), InThePot(DIN_4, 30.0, 21.0, 500e-6), SHOP)
    assert clear.hardener == pytest.approx(50e-6)


def test_no_more_than_the_usual_coats_are_taken_when_nobody_says():
    assert fact("colour coats")[0] <= SHOP.limit("usual_coats").value <= fact("colour coats")[1]


def test_colour_waits_a_day_before_a_two_pack_clear():
    assert (
        number("waterborne-colour", "before_two_pack_clear") / 3600
        == fact("colour left to cure before a two-pack clear")[0]
    )


def test_water_borne_is_scuffed_after_six_to_eight_hours():
    low, high = fact("gap after which to scuff-sand before the next coat")
    for coating in ("waterborne-sealer", "waterborne-colour", "waterborne-clear-1k"):
        assert low <= number(coating, "recoat_until") / 3600 <= high


def test_one_pack_water_borne_wants_a_month_to_cure_whole():
    days, _ = fact('full cure of one-pack water-borne finishes ("a month or more")')
    for coating in ("waterborne-colour", "waterborne-clear-1k"):
        assert number(coating, "full_cure_high") / 86_400 >= days


def test_thinning_a_clear_costs_coats():
    clear = load_coating("waterborne-clear-1k")
    unthinned, thinned = (
        bench(clear, InThePot(DIN_4, seconds, 21.0, 500e-6, coats=5, target=24.0), SHOP) for seconds in (24.0, 32.0)
    )
    assert unthinned.extra_coats == 0
    assert thinned.extra_coats >= 1
