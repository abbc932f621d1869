"""Dust before opening: an index against the shop's own clean air, which decides nothing."""

import numpy as np
import pytest

from advisor.room.dust import dust_view
from advisor.say.room_words import dust_words
from advisor.sources.counting import Counts, chosen, traces
from tests.support import SHOP, fixture_file, fixture_verdict, local

CLEAN = 2500.0
KIND = "particles_5um"


def decay(minutes: float, constant: float = 8.0, height: float = 400_000.0, clean_hours: int = 4):
    """Clean hours, then sanding that ends at once, and so many minutes of cleaner; a reading a minute, 5 % of noise."""
    random = np.random.default_rng(3)
    before = np.full(clean_hours * 60, CLEAN)
    after = CLEAN + height * np.exp(-np.arange(0.0, minutes) / constant)
    counts = np.concatenate([before, after]) * (1 + 0.05 * random.standard_normal(len(before) + len(after)))
    seconds = np.arange(len(counts)) * 60.0
    return seconds, counts, float(seconds[-1])


def test_a_clean_shop_has_nothing_to_say():
    seconds, counts, now = decay(0.0)
    view = dust_view(seconds, counts, KIND, now, False, SHOP)
    assert view is not None
    assert not view.dusty
    assert dust_words(view, 60.0, False, SHOP) == ""


def test_the_cleaner_runs_until_the_fall_is_down_to_the_shops_own_clean_level():
    """400,000 over 2,500 with 8 min: under 1.5 times clean after 8 ln(320) = 46 min; 30 of them are over."""
    seconds, counts, now = decay(30.0)
    view = dust_view(seconds, counts, KIND, now, False, SHOP)
    assert view is not None
    assert view.clean == pytest.approx(CLEAN, rel=0.1)
    assert view.clean_in is not None
    assert view.clean_in / 60.0 == pytest.approx(46.1 - 30.0, abs=2.5)
    assert "more, then off, 10 min of rest" in dust_words(view, None, False, SHOP)


def test_a_matt_finish_waits_longer():
    seconds, counts, now = decay(30.0)
    usual, matt = (dust_view(seconds, counts, KIND, now, strict, SHOP) for strict in (False, True))
    assert usual is not None
    assert matt is not None
    assert matt.limit < usual.limit
    assert matt.clean_in is not None
    assert usual.clean_in is not None
    assert matt.clean_in > usual.clean_in


def test_dust_that_does_not_fall_has_no_moment():
    seconds = np.arange(300) * 60.0
    counts = np.where(seconds < 200 * 60, CLEAN, 40_000.0)
    view = dust_view(seconds, counts, KIND, float(seconds[-1]), False, SHOP)
    assert view is not None
    assert view.clean_in is None
    assert "not falling" in dust_words(view, None, False, SHOP)


@pytest.mark.parametrize(("count", "late"), [(29, 0.0), (300, 901.0)])
def test_too_short_or_too_old_a_log_says_nothing(count, late):
    seconds = np.arange(count) * 60.0
    assert dust_view(seconds, np.full(count, 9e4), KIND, float(seconds[-1]) + late, False, SHOP) is None


@pytest.mark.parametrize(
    ("since", "strict", "told"),
    [(0.0, False, True), (1499.0, False, True), (1500.0, False, False), (1501.0, True, True), (1800.0, True, False),
     (None, True, False)],
)  # fmt: skip
def test_without_a_counter_the_clock_since_sanding_speaks(since, strict, told):
    """Cleaner 15 min and rest 10; half an hour for matt and black."""
    assert bool(dust_words(None, since, strict, SHOP)) == told


def test_the_dusty_day_is_clean_at_the_minute_its_answers_state():
    """10:38 by the day's own arithmetic; asked at 10:15 and 10:25, within 3 min."""
    for clock in ("10:15", "10:25"):
        when = local("dusty-clean-down", clock)
        readings = [one for one in fixture_file("dusty-clean-down").readings if one.at <= when.timestamp() * 1000]
        found = traces(readings, ("shop",), {"particles_5um": ()}, SHOP)
        largest = chosen(found, Counts.LARGEST)
        view = dust_view(found[largest].times, found[largest].values, largest.quantity, when.timestamp(), False, SHOP)
        assert view is not None
        assert view.clean_in is not None
        truth = (local("dusty-clean-down", "10:38") - when).total_seconds()
        assert view.clean_in == pytest.approx(truth, abs=180.0)


def test_dust_never_decides():
    for clock in ("09:42", "09:50"):
        assert fixture_verdict("dusty-clean-down", local("dusty-clean-down", clock), "waterborne-colour").state == "go"
