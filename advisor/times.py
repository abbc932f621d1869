"""Moments as the logbook and the sensors count them, and back."""

from datetime import UTC, datetime, timedelta

EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
MILLISECOND = timedelta(milliseconds=1)


def milliseconds(moment: datetime) -> int:
    """Milliseconds UTC since 1970."""
    return (moment - EPOCH) // MILLISECOND


def moment_of(at: int) -> datetime:
    """The moment of milliseconds UTC since 1970."""
    return EPOCH + timedelta(milliseconds=at)


def moment_at(seconds: float) -> datetime:
    """The moment of seconds since 1970, to a millisecond."""
    return moment_of(round(seconds * 1000.0))
