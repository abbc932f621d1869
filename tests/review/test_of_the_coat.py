"""What was said of a coat: the gap to the one below, scuffing, what goes over what, the mix and the cup."""

from datetime import timedelta

import pytest

from advisor.review.coat import Below, SprayedCoat
from advisor.review.of_the_coat import exposures
from tests.support import NOON, SHOP

HOUR = timedelta(hours=1)


def found(coating: str, over: str | None = None, gap: timedelta | None = None, slower: float = 1.0, **said) -> dict:
    below = None if over is None else Below(coating=over, sprayed=None if gap is None else NOON - gap)
    coat = SprayedCoat(coating=coating, sprayed=NOON, ended=NOON + timedelta(minutes=10), below=below, **said)
    under = None if over is None else SHOP.coating(over)
    return {each.name: each for each in exposures(coat, SHOP.coating(coating), under, slower, SHOP)}


def test_what_nobody_said_is_unsaid():
    assert all(each.measured is None and each.reason == "unsaid" for each in found("oil-varnish").values())


def test_the_gap_is_held_against_the_sheets_earliest():
    gap = found("oil-varnish", "oil-varnish", 7 * HOUR)["recoat_gap"]
    assert gap.measured == pytest.approx(7 * 3600.0)
    assert gap.limit == pytest.approx(16 * 3600.0)


def test_a_slow_day_asks_for_a_longer_gap():
    assert found("oil-varnish", "oil-varnish", 7 * HOUR, slower=2.0)["recoat_gap"].limit == pytest.approx(32 * 3600.0)


def test_a_coat_past_its_window_wants_to_be_known_as_scuffed_or_not():
    late = 144 * HOUR
    not_said = found("waterborne-clear-2k", "waterborne-clear-2k", late)["gap_not_scuffed"]
    assert not_said.measured is None
    bare = found("waterborne-clear-2k", "waterborne-clear-2k", late, sanded=False)["gap_not_scuffed"]
    assert bare.measured > bare.limit
    scuffed = found("waterborne-clear-2k", "waterborne-clear-2k", late, sanded=True)["gap_not_scuffed"]
    assert scuffed.measured < scuffed.limit


def test_within_the_window_nobody_need_say():
    soon = found("waterborne-clear-2k", "waterborne-clear-2k", 6 * HOUR)["gap_not_scuffed"]
    assert soon.measured < soon.limit


def test_a_lacquer_over_itself_needs_no_scuff():
    assert found("shellac", "shellac", 900 * HOUR)["gap_not_scuffed"].limit is None


def test_what_never_goes_over_is_no_matter_of_time():
    """Lacquer over oil varnish, from overcoats.csv."""
    over = found("acrylic-lacquer", "oil-varnish", 120 * HOUR)
    assert over["goes_not_over"].measured > over["goes_not_over"].limit
    assert over["recoat_gap"].limit is None
    same = found("acrylic-lacquer", "acrylic-lacquer", 120 * HOUR)["goes_not_over"]
    assert same.measured < same.limit


def test_a_mix_ages_until_the_gun_is_put_down():
    age = found("waterborne-clear-2k", mixed_at=NOON - 5 * HOUR)["mix_age"].measured
    assert age == pytest.approx(5 * 3600.0 + 600.0)


def test_another_cup_is_read_as_din_4():
    """ISO 2431 4 mm: 1.37 t - 200/t, DIN 53211: 4.57 t - 452/t [mm2/s] (reference/cups.csv); 40 s are 16.8 s."""
    assert found("oil-varnish", cup="DIN 4", seconds=25.0)["cup"].measured == pytest.approx(25.0)
    assert found("oil-varnish", cup="ISO 4", seconds=40.0)["cup"].measured == pytest.approx(16.8, abs=0.1)
