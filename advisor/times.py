"""Moments as the logbook and the sensors count them, and back; every moment is kept in UTC, a day is the shop's own."""

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

EPOCH = datetime(1970, 1, 1, tzinfo=UTC)


def milliseconds(moment: datetime) -> int:
    """Milliseconds UTC since 1970."""
    return (moment - EPOCH) // timedelta(milliseconds=1)


def moment_of(at: int) -> datetime:
    """The moment of milliseconds UTC since 1970."""
    return EPOCH + timedelta(milliseconds=at)


def moment_at(seconds: float) -> datetime:
    """The moment of seconds since 1970, to a millisecond."""
    return moment_of(round(seconds * 1000.0))


def local_day(when: datetime, zone: str | None) -> date:
    """The day in the shop's zone, in UTC where no zone is known."""
    return when.astimezone(ZoneInfo(zone or "UTC")).date()
