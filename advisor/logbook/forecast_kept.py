"""The newest forecast that came in over MQTT, kept whole in the logbook."""

import json
import sqlite3
from datetime import datetime

from advisor.logbook.conditions import milliseconds
from advisor.logbook.verdict_log import keep_value, kept_value
from advisor.readings.forecast_file import forecast_of
from advisor.readings.reading import Reading

_KEY = "forecast"
_COUNTS_FOR = 12 * 3_600_000  # [ms] after it came in: weather services send a new one every hour to six


def keep_forecast(connection: sqlite3.Connection, payload: bytes, at: int) -> None:
    """Keep a forecast that was read already, at [ms UTC], inside the caller's transaction."""
    keep_value(connection, _KEY, json.dumps({"at": at, "text": payload.decode("utf-8", "replace")}))


def kept_forecast(connection: sqlite3.Connection, now: datetime) -> tuple[Reading, ...]:
    """Its values, while it counts; none where there is none or it is over twelve hours old."""
    kept = kept_value(connection, _KEY)
    if kept is None:
        return ()
    entry = json.loads(kept)
    if not 0 <= milliseconds(now) - int(entry["at"]) <= _COUNTS_FOR:
        return ()
    return forecast_of(str(entry["text"]).encode(), "the forecast in the logbook", None)
