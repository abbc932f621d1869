"""The night ahead: the lowest the room falls to while a coat cures, and damp morning air over cold pieces."""

from dataclasses import replace
from datetime import UTC, datetime

import numpy as np
import pytest

from advisor.catalog.coatings import load_coating
from advisor.outlook.day_ahead import lagging, night_ahead
from advisor.outlook.outlook import Outlook
from advisor.say.room_words import night_words
from tests.outlook.columns import Columns, outlook
from tests.support import SHOP

PRECAT, LACQUER = load_coating("precatalysed-lacquer"), load_coating("nitrocellulose-lacquer")
START = datetime(2025, 11, 10, 16, 0, tzinfo=UTC).timestamp()


def room(days=6.0, night=12.0, dew=6.0) -> Columns:
    """A shop of 20 °C by day, falling to its night value at 06:00; a reading every 15 min, and tenths of noise."""
    times = START - np.arange(0.0, days * 86_400.0, 900.0)[::-1]
    random = np.random.default_rng(1)
    phase = np.cos(2 * np.pi * (times / 86_400.0 - 0.25))
    air = 0.5 * (20.0 + night) - 0.5 * (20.0 - night) * phase + 0.1 * random.standard_normal(len(times))
    return Columns(times, air, np.full(len(times), dew) + 0.1 * random.standard_normal(len(times)))


@pytest.fixture(scope="module")
def ahead() -> Outlook:
    return outlook(room(), START)


def test_the_low_of_the_night_is_what_the_nights_before_were(ahead):
    night = night_ahead(ahead, LACQUER, SHOP)
    assert night.low == pytest.approx(12.0, abs=1.0)
    assert 4 <= night.low_at.hour <= 8
    assert night.low_edge < night.low


def test_only_the_hours_that_the_coat_must_be_warm_count(ahead):
    """Twelve hours from 16:00 end at 04:00, before the coldest."""
    assert night_ahead(ahead, PRECAT, SHOP).low > night_ahead(ahead, LACQUER, SHOP).low


def test_damp_morning_air_over_pieces_still_cold_is_told(ahead):
    assert night_words(night_ahead(ahead, LACQUER, SHOP), SHOP) == ""
    damp = replace(ahead, dew_point=np.where(np.arange(96) > 56, 13.0, 5.0))
    night = night_ahead(damp, LACQUER, SHOP)
    assert night.dew_at is not None
    assert "damp air" in night_words(night, SHOP)


def test_pieces_lag_and_end_where_the_air_stays():
    step = np.concatenate([np.full(4, 10.0), np.full(60, 20.0)])
    pieces = lagging(step, 3600.0)
    assert pieces[4] < 13.0
    assert np.all(np.diff(pieces) >= 0.0)
    assert pieces[-1] == pytest.approx(20.0, abs=0.01)
    assert pieces[8] - 10.0 == pytest.approx(10.0 * (1 - np.exp(-1.0)), abs=1.2)
