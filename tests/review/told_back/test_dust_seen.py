"""Dust in a review: held against the shop's own clean air, between a floor and a ceiling, by what was counted."""

import numpy as np
import pytest

from advisor.physics.room.particles import class_limit, count_at
from advisor.review.causes import Outcome, Standing
from advisor.review.page.words import told
from advisor.review.reviewed import Reviewed, review
from advisor.room.dust import clean_dust, counting_uncertainty, dust_view
from advisor.series.air_track import AirTrack
from advisor.series.trace import Trace
from tests.review.test_doubts import coat, noisy
from tests.review.told_back.blind_cases import DAY
from tests.support import SHOP

LACQUER = SHOP.coating("acrylic-lacquer")
KIND = "particles_5um"


def counted(before: float, over_the_coat: float, kind: str = KIND) -> Reviewed:
    """Nibs, in air that is fit; counts of a size [1/m3], or masses, before the gun and from an hour before it."""
    times = DAY.timestamp() + np.arange(1440) * 60.0
    counts = np.where(np.arange(1440) < 660, before, over_the_coat) * noisy(1.0, 0.05, 3)
    traces = {
        "air_temperature": Trace(times, noisy(21.0, 0.1, 1), 0.5),
        "relative_humidity": Trace(times, noisy(0.48, 0.005, 3), 0.03),
    }
    track = AirTrack("shop", traces, Trace(times, counts, 0.3), kind)
    return review(coat(), LACQUER, track, SHOP, "nibs", with_ways=False)


def stands(found: Reviewed) -> Standing:
    return next(cause.standing for cause in found.causes.judged if cause.mechanism.id == "dust")


@pytest.mark.parametrize(
    ("before", "over", "standing"),
    [
        (3e6, 3e6, Standing.SUPPORTED),  # dusty all day: its own level is no clean one
        (2_000.0, 6_000.0, Standing.AGAINST),  # a clean shop, and a footstep
        (2_000.0, 18_000.0, Standing.AGAINST),
        (2_000.0, 29_000.0, Standing.CANNOT_TELL),  # about the floor
        (2_000.0, 45_000.0, Standing.SUPPORTED),
        (100_000.0, 100_000.0, Standing.AGAINST),  # a busy shop as ever
        (180_000.0, 180_000.0, Standing.AGAINST),
        (290_000.0, 290_000.0, Standing.CANNOT_TELL),  # about the ceiling
        (420_000.0, 420_000.0, Standing.SUPPORTED),
        (20_000.0, 60_000.0, Standing.SUPPORTED),
    ],
)
def test_nothing_is_accused_under_the_floor_and_nothing_cleared_over_the_ceiling(before, over, standing):
    assert stands(counted(before, over)) is standing


@pytest.mark.parametrize(("micrograms", "standing"), [(15.0, Standing.AGAINST), (400.0, Standing.SUPPORTED)])
def test_a_mass_has_its_own_floor_and_ceiling(micrograms, standing):
    assert stands(counted(micrograms * 1e-9, micrograms * 1e-9, "pm10")) is standing


def test_other_sizes_stand_as_the_classes_of_cleanrooms_do():
    """ISO 14644-1:1999 Table 1, class 9: 35,200,000 of 0.5 µm and over, 8,320,000 of 1 µm, 293,000 of 5 µm."""
    for size, count in ((0.5e-6, 35_200_000), (1e-6, 8_320_000), (5e-6, 293_000)):
        assert class_limit(9, size) == pytest.approx(count, rel=0.005)
        assert count_at(293_000, 5e-6, size) == pytest.approx(count, rel=0.005)
    levels = np.full(100, 1e9)
    assert clean_dust(levels, "particles_0.5um", 1.5, SHOP) == pytest.approx(200_000 * 10**2.08)
    assert clean_dust(levels, KIND, 1.5, SHOP) == pytest.approx(200_000)


def test_few_particles_are_counted_badly():
    """A Poisson count of n is good to one over the root of n: five counts of a litre of 2,000 a cubic metre are ten."""
    assert counting_uncertainty(2_000.0, KIND, SHOP) == pytest.approx(10**-0.5)
    assert counting_uncertainty(200_000.0, KIND, SHOP) == pytest.approx(1000**-0.5)
    assert counting_uncertainty(2_000.0, "pm10", SHOP) == 0.0
    assert counting_uncertainty(0.0, KIND, SHOP) == 1.0


def test_a_clean_count_clears_the_air_alone():
    found = counted(2_000.0, 3_000.0)
    assert found.causes.outcome is Outcome.NOT_THE_AIR
    said = " ".join(told(found, SHOP))
    assert "not of piece, clothes or gun" in said
    assert "on gun, clothes or piece" in said


def test_a_shop_that_is_dusty_all_day_is_told_before_it_is_opened():
    seconds = np.arange(240.0) * 60.0
    view = dust_view(seconds, np.full(240, 3e6), KIND, float(seconds[-1]), False, SHOP)
    assert view is not None
    assert view.dusty
    assert view.clean_in is None
