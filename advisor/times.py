"""Moments and days: every moment is kept in UTC, a day is the shop's own."""

from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo


def local_day(when: datetime, zone: str | None) -> date:
    """The day in the shop's zone, in UTC where no zone is known."""
    return when.astimezone(ZoneInfo(zone or "UTC")).date()


def moment_at(seconds: float) -> datetime:
    """The moment of seconds since 1970, UTC."""
    return datetime.fromtimestamp(seconds, UTC)
