"""Quiet hours, over midnight and over a change of the clocks."""

from datetime import UTC, datetime

import pytest

from advisor.notices.announced import quiet_end
from advisor.shop.shop import Notices, Shop
from advisor.times import milliseconds, moment_of

NIGHT = Notices((), 22 * 60, 7 * 60)
SIESTA = Notices((), 13 * 60, 15 * 60)


@pytest.mark.parametrize(
    ("hours", "clock", "end"),
    [
        (NIGHT, "2025-07-01T21:59", "2025-07-01T21:59"), (NIGHT, "2025-07-01T22:00", "2025-07-02T07:00"),
        (NIGHT, "2025-07-02T06:59", "2025-07-02T07:00"), (NIGHT, "2025-07-02T07:00", "2025-07-02T07:00"),
        (SIESTA, "2025-07-01T13:00", "2025-07-01T15:00"), (SIESTA, "2025-07-01T15:00", "2025-07-01T15:00"),
        (Notices(), "2025-07-01T23:00", "2025-07-01T23:00"),
    ],
)  # fmt: skip
def test_when_quiet_hours_end(hours, clock, end):
    at, until = (milliseconds(datetime.fromisoformat(text).replace(tzinfo=UTC)) for text in (clock, end))
    assert quiet_end(at, Shop(notices=hours)) == until


def test_they_follow_the_shops_own_clock():
    """In the night in which London's clocks go back, seven o'clock is seven o'clock."""
    at = milliseconds(datetime(2025, 10, 25, 22, 30, tzinfo=UTC))
    london = Shop(notices=NIGHT, zone="Europe/London")
    assert moment_of(quiet_end(at, london)) == datetime(2025, 10, 26, 7, 0, tzinfo=UTC)
