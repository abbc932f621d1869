"""The floors of cure: which cold loses a coat, which only stalls it, and from when it is past harm."""

from datetime import datetime
from zoneinfo import ZoneInfo

import pytest

from advisor.catalog.coatings import coating_ids, load_coating
from advisor.judge.finding import Level, against_floors, floors_of
from advisor.outlook.day_ahead import until_night
from advisor.shop.shop import Shop
from tests.support import SHOP, every

HOUR = 3600.0
POLY = "solvent-polyurethane-2k"


@every(
    "coating, celsius, hours, held, level",
    [
        ("precatalysed-lacquer", 17.9, 0, False, Level.STOP), ("precatalysed-lacquer", 18.0, 0, False, Level.OK),
        ("precatalysed-lacquer", 18.1, 0, False, Level.OK), ("precatalysed-lacquer", 12.0, 0, True, Level.CHANGE),
        ("precatalysed-lacquer", 12.0, 11.9, False, Level.STOP), ("precatalysed-lacquer", 12.0, 12, False, Level.OK),
        ("oil-varnish", 3.0, 0, False, Level.CHANGE), ("oil-varnish", 5.0, 0, False, Level.OK),
        (POLY, 9.9, 0, False, Level.CHANGE), (POLY, 10.0, 0, False, Level.OK), (POLY, 7.9, 0, False, Level.STOP),
        (POLY, 8.0, 0, False, Level.CHANGE), (POLY, 7.9, 0, True, Level.CHANGE),
        ("waterborne-clear-1k", 11.9, 2.9, False, Level.STOP), ("waterborne-clear-1k", 11.9, 3, False, Level.CHANGE),
        ("waterborne-clear-1k", 12.0, 0, False, Level.CHANGE), ("waterborne-clear-1k", 15.0, 0, False, Level.OK),
        ("nitrocellulose-lacquer", -5.0, 0, False, Level.OK), ("shellac", -5.0, 0, False, Level.OK),
    ],
)  # fmt: skip
def test_what_a_cold_does_to_a_coat_of_an_age(coating, celsius, hours, held, level):
    assert against_floors("night", celsius, hours * HOUR, held, load_coating(coating)).level is level


def test_a_night_of_which_nobody_said_when_it_comes_counts_as_at_once():
    clear = load_coating("waterborne-clear-1k")
    assert against_floors("night", 11.0, None, False, clear).level is Level.STOP
    assert against_floors("night", 11.0, 6 * HOUR, False, clear).level is Level.CHANGE


def test_the_oil_is_kept_above_ten_degrees():
    """It stalls under 5 and is never sprayed under 10."""
    finding = against_floors("night", 3.0, 0.0, False, load_coating("oil-varnish"))
    assert finding.remedies[0].target == 10.0


@pytest.mark.parametrize("coating_id", coating_ids())
def test_what_is_kept_is_never_under_what_is_needed(coating_id):
    floors = floors_of(load_coating(coating_id))
    assert floors is None or floors.keep >= floors.go >= floors.lost


@pytest.mark.parametrize(
    ("clock", "hours"), [("06:00", 12), ("12:00", 6), ("17:59", 1 / 60), ("18:00", 0), ("03:00", 0)]
)
def test_an_unheated_shop_gets_cold_when_one_goes_home(clock, hours):
    hour, minute = map(int, clock.split(":"))
    now = datetime(2025, 11, 4, hour, minute, tzinfo=ZoneInfo("Europe/London"))
    shop = Shop(zone="Europe/London")
    assert until_night(now, shop) == pytest.approx(hours * HOUR)
    assert until_night(now.astimezone(ZoneInfo("Asia/Tokyo")), shop) == until_night(now, shop)
    assert SHOP.zone is None
