"""The shop's quiet hours, in its own zone; they may run over midnight."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

from advisor.shop.shop import Notices
from advisor.times import milliseconds, moment_of

_MINUTES_A_DAY = 1440


def quiet_end(at: int, notices: Notices, zone: str | None) -> int:
    """When the quiet hours that hold at a moment end [ms UTC]; the moment itself where none hold."""
    if notices.quiet_from is None or notices.quiet_until is None or notices.quiet_from == notices.quiet_until:
        return at
    here = ZoneInfo(zone) if zone else UTC
    local = moment_of(at).astimezone(here)
    minute = local.hour * 60 + local.minute
    since_start = (minute - notices.quiet_from) % _MINUTES_A_DAY
    length = (notices.quiet_until - notices.quiet_from) % _MINUTES_A_DAY
    if since_start >= length:
        return at
    tomorrow = minute >= notices.quiet_until
    day = local.date() + timedelta(days=1 if tomorrow else 0)
    end = datetime(day.year, day.month, day.day, *divmod(notices.quiet_until, 60), tzinfo=here)
    return milliseconds(end)
