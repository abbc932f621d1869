"""The vapour of a session: a caution that never turns green."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.advice.mix import mix_of, usual
from advisor.advice.session import plan_for
from advisor.advice.vapour_note import vapour_note, vapour_words
from advisor.catalog.coatings import coating_ids, load_coating
from tests.support import SHOP

LACQUER = load_coating("nitrocellulose-lacquer")


def note(coating=LACQUER, shop=SHOP, spray=None):
    return vapour_note(coating, mix_of(coating, usual(coating)), plan_for(coating, shop, 1, spray), shop)


def test_a_gun_of_lacquer_makes_half_a_litre_of_vapour_a_second():
    """150 ml/min at 83 % of volatiles by volume, some 90 g/mol and 860 kg/m3: 2.0 g/s, 0.022 mol/s, 0.54 l/s."""
    assert note().made == pytest.approx(0.54e-3, rel=0.12)


def test_mask_and_fan_stay_three_times_the_removal_table_and_the_flash_off():
    """90 m3 at 0.25 m3/s are 10 changes an hour: 28 min for 99 % (CDC table B.1), three times, and 10 min."""
    assert note().mask_and_fan / 60.0 == pytest.approx(3 * 27.63 + 10.0, abs=0.1)


@given(st.sampled_from(coating_ids()), st.floats(0.1, 3.0), st.floats(60.0, 3600.0))
@settings(max_examples=40, deadline=None)
def test_more_fan_is_less_vapour_and_a_shorter_stay(coating_id, flow, spray):
    coating = load_coating(coating_id)
    less, more = (note(coating, replace(SHOP, fan_flow=flow * step), spray) for step in (1.0, 1.5))
    assert more.mask_and_fan < less.mask_and_fan
    assert less.share is not None
    assert more.share is not None
    assert more.share < less.share


def test_too_much_says_so_first_and_nothing_is_ever_called_safe():
    much = note(shop=replace(SHOP, fan_flow=0.02, room_volume=15.0), spray=1800.0)
    assert much.too_much
    assert vapour_words(much).startswith("TOO MUCH VAPOUR")
    for coating_id in coating_ids():
        said = vapour_words(note(load_coating(coating_id))).lower()
        assert "at least" in said
        assert not any(word in said for word in ("safe", "fit to breathe", "clear to", "ok"))
