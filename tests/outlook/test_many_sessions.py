"""Many sessions at once: the same answer as the rules give one by one."""

import numpy as np
import pytest

from advisor.catalog.coatings import coating_ids
from advisor.judge.conditions import Conditions, Measured
from advisor.judge.film_rules import UNKNOWN_POT
from advisor.judge.finding import CHANGE, LEVELS, OK, STOP
from advisor.judge.plan import plan_for
from advisor.judge.session import worst_of_air
from advisor.outlook.many_sessions import Sessions, air_levels, session_levels
from advisor.physics.air.moist_air import dew_point
from advisor.shop.shop import Shop
from tests.support import SHOP, every


def known(air: float, humidity: float, out_air: float, out_humidity: float, logged: float) -> Conditions:
    """Room and outdoors read just now, and the room's log."""
    values = {
        ("shop", "air_temperature"): Measured(air, 0.5, 0.0),
        ("shop", "relative_humidity"): Measured(humidity, 0.03, 0.0),
        ("outdoors", "air_temperature"): Measured(out_air, 0.5, 0.0),
        ("outdoors", "relative_humidity"): Measured(out_humidity, 0.03, 0.0),
    }
    return Conditions("shop", values, logged_air=logged)


# a logged piece in a step of the session (0.2 K), so that both reckon with the same one
EVEN = Shop(limits={"surface_below_logged_air": 0.4})


@pytest.mark.slow
@pytest.mark.parametrize("coating_id", coating_ids())
@pytest.mark.parametrize("coats", [1, 2])
def test_it_says_of_each_session_what_the_rules_say(coating_id, coats):
    """Random rooms and outdoor air, in the steps in which the session takes them (0.2 K, one per cent).

    None lies on a limit (whole degrees, fives of a per cent), where the last bit would decide.
    """
    coating = EVEN.coating(coating_id)
    plan = plan_for(coating, EVEN, coats)
    random = np.random.default_rng(coats)
    cases = 60
    air, out_air = (np.round(random.uniform(low, high, cases) * 5) for low, high in ((8.0, 34.0), (-5.0, 34.0)))
    humidity, out_humidity = (np.round(random.uniform(0.2, 1.0, cases) * 100) for _ in range(2))
    air, out_air = ((each + (each % 5 == 0)) / 5 for each in (air, out_air))
    humidity, out_humidity = ((each - (each % 5 == 0)) / 100 for each in (humidity, out_humidity))
    walls = np.round((air + random.uniform(-3.0, 3.0, cases)) * 5) / 5
    piece = np.minimum(air, walls) - 0.4
    outdoors = [np.repeat(each[:, np.newaxis], coats, 1) for each in (out_air, dew_point(out_air, out_humidity))]
    found = session_levels(
        Sessions(air, dew_point(air, humidity), walls, piece, outdoors[0], outdoors[1]), coating, EVEN, plan
    )
    expected = [
        LEVELS.index(worst_of_air(known(*each), coating, EVEN, UNKNOWN_POT, plan))
        for each in zip(*(each.tolist() for each in (air, humidity, out_air, out_humidity, walls)), strict=True)
    ]
    assert found.tolist() == expected
    assert len(set(expected)) > 1


@every(
    "air, humidity, level",
    [
        (20.0, 0.50, OK), (17.9, 0.50, CHANGE), (18.0, 0.50, OK), (15.0, 0.50, CHANGE), (14.9, 0.50, STOP),
        (28.0, 0.50, OK), (28.1, 0.50, CHANGE), (30.1, 0.50, STOP),
        (20.0, 0.65, OK), (20.0, 0.651, CHANGE), (20.0, 0.75, CHANGE), (20.0, 0.751, STOP), (20.0, 0.2, CHANGE),
        (float("nan"), 0.5, STOP), (20.0, float("nan"), STOP),
    ],
)  # fmt: skip
def test_each_limit_at_it_and_just_beyond(air, humidity, level):
    """The two-pack water-borne clear: 18-28 (15-30) °C, 35-65 (75) %; what is no number stops."""
    coating = SHOP.coating("waterborne-clear-2k")
    assert air_levels(np.array(air), np.array(humidity), np.array(9.0), coating, SHOP) == level


def test_a_piece_near_the_dew_point_asks_for_a_change():
    coating = SHOP.coating("shellac")
    levels = air_levels(np.full(3, 22.0), np.full(3, 0.5), np.array([2.99, 3.0, np.nan]), coating, SHOP)
    assert levels.tolist() == [CHANGE, OK, CHANGE]
