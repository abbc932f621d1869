"""The sentences of a review: every exposure, reason and way has its words, in the reader's units."""

from dataclasses import replace

import pytest

from advisor.catalog.mechanisms import mechanisms
from advisor.review import ways
from advisor.review.causes import Cause, Standing
from advisor.review.page.words import SAID, WAYS, cause
from advisor.shop.shop import US
from tests.support import SHOP

IN_FAHRENHEIT = replace(SHOP, units=US)


def judged(mechanism: str, exposure: str, measured: float, limit: float, unit: str) -> Cause:
    found = mechanisms()[mechanism]
    return Cause(found, Standing.SUPPORTED, exposure, measured, limit, unit, 2.0, "", "test")


def test_every_exposure_that_is_probed_has_words():
    assert {probe.exposure for each in mechanisms().values() for probe in each.probes} == set(SAID)


def test_every_way_to_change_the_air_has_words():
    kinds = {
        ways.COOL,
        ways.COOL_AND_DAMP,
        ways.DAMP,
        ways.HELD,
        ways.WARM_PIECES,
        ways.WARM_THROUGH,
        ways.WARM_AND_DRY,
    }
    assert kinds <= set(WAYS)


@pytest.mark.parametrize(
    ("found", "metric", "us"),
    [
        (judged("cold-film", "film_at_packing", 9.0, 12.0, "°C"), "film 9 °C as it formed (needs 12 °C)", "48.2 °F"),
        (judged("heavy-film", "wet_film", 190e-6, 125e-6, "m"), "wet film 190 µm (limit 125 µm)", "7.5 mil"),
        (judged("high-pressure", "gun_pressure", 3.2e5, 2e5, "Pa"), "3.2 bar at the gun (limit 2 bar)", "46 psi"),
        (judged("old-mix", "mix_age", 18e3, 7.2e3, "s"), "mix 5 h old (lives 2 h)", "5 h"),
        (judged("damp-air", "humidity_while_drying", 0.9, 0.8, "fraction"), "90 %", "90 %"),
        (judged("cold-piece", "piece_over_dew", -4.0, 0.0, "K"), "piece 4 °C under the dew point", "7.2 °F under"),
        (judged("thick-mix", "cup", 25.0, 18.0, "s"), "25 s in the cup (limit 18 s)", "25 s"),
    ],
)
def test_numbers_stand_in_the_readers_units(found, metric, us):
    assert metric in cause(found, SHOP)
    assert us in cause(found, IN_FAHRENHEIT)


def test_a_sensors_mark_is_said_in_words():
    told = replace(
        judged("cold-film", "film_at_packing", 0.0, 12.0, "°C"), standing=Standing.CANNOT_TELL, reason="pinned"
    )
    assert cause(told, SHOP).endswith("cannot tell, at the end stop.")
