"""What the fan moves, and how long it and a mask stay on: one answer for everything that asks."""

from dataclasses import replace

import pytest

from advisor.catalog.coatings import coating_ids, load_coating
from advisor.judge.plan import after_coat, fan_flow, fan_flows
from tests.support import SHOP

LACQUER, CLEAR = load_coating("nitrocellulose-lacquer"), load_coating("waterborne-clear-2k")


def test_a_name_plate_may_move_half_or_all_and_a_measured_fan_one_flow():
    assert fan_flows(SHOP) == pytest.approx((0.5 * SHOP.fan_flow, SHOP.fan_flow))
    assert fan_flow(SHOP) == fan_flows(SHOP)[0]
    assert fan_flows(replace(SHOP, fan_flow_measured=True)) == (SHOP.fan_flow,)


def test_the_fan_stays_three_times_the_removal_table_and_the_flash_off():
    """90 m3 at 0.25 m3/s are 10 changes an hour: 28 min for 99 % (CDC table B.1), three times, and 10 min."""
    assert after_coat(LACQUER, SHOP).fan / 60.0 == pytest.approx(3 * 27.63 + 10.0, abs=0.1)


def test_it_is_never_shorter_than_the_shop_s_own_least():
    swift = replace(SHOP, fan_flow=50.0, room_volume=20.0)
    assert after_coat(LACQUER, swift).fan == swift.limit("fan_after_coat").value


def test_isocyanate_keeps_people_out_until_the_coat_can_be_handled():
    assert after_coat(CLEAR, SHOP).mask == CLEAR.numbers["handle_high"].value > after_coat(CLEAR, SHOP).fan
    assert after_coat(LACQUER, SHOP).mask == after_coat(LACQUER, SHOP).fan


@pytest.mark.parametrize("coating_id", coating_ids())
def test_less_fan_stays_on_longer(coating_id):
    coating = load_coating(coating_id)
    less, more = (after_coat(coating, replace(SHOP, fan_flow=flow)) for flow in (0.3, 0.6))
    assert less.fan > more.fan
    assert less.mask >= less.fan
