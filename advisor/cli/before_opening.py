"""What `advisor check` looks at beside the air: dust, vapour, the night and the morning after."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from advisor.advice.conditions import Conditions, outdoor_place
from advisor.advice.dust import DustView, dust_view
from advisor.advice.night_ahead import NightAhead, night_ahead
from advisor.advice.outlook import Outlook
from advisor.advice.record import VERDICT_FORMS
from advisor.advice.remedies import Ahead
from advisor.advice.room_words import dust_words, night_words
from advisor.advice.vapour_rule import VapourNote
from advisor.advice.verdict import Verdict
from advisor.catalog.coatings import Coating
from advisor.cli.recorded import Recorded
from advisor.logbook.air_log import AirLog
from advisor.logbook.conditions import milliseconds
from advisor.logbook.day_ahead import outlook_from_log, outlook_from_readings
from advisor.logbook.dust_log import counts_at
from advisor.logbook.store import logbook, logbook_path
from advisor.shop.shop import Shop

_DUST_LOG = timedelta(days=7)


@dataclass(frozen=True)
class Logged:
    """What the log says beside the present air: particle counts by time [s, 1/m3] and what of, and the outlooks."""

    counts: tuple[list[float], list[float], str] = ([], [], "")
    outlook: Outlook | None = None
    outdoors: Callable[[], Outlook | None] = lambda: None

    def ahead(self) -> Ahead | None:
        """Both outlooks, where both are known; that of the air outdoors is made only here, for waiting needs it."""
        outdoors = None if self.outlook is None else self.outdoors()
        return None if self.outlook is None or outdoors is None else Ahead(self.outlook, outdoors)


@dataclass(frozen=True)
class Beside:
    """Dust, vapour and night of one coating."""

    dust: DustView | None = None
    vapour: VapourNote | None = None
    night: NightAhead | None = None

    def record(self) -> dict[str, Any]:
        """The keys beside the verdict's own in JSON."""
        found: dict[str, Any] = VERDICT_FORMS(self)
        return found


def read_log(recorded: Recorded | None, typed: bool, conditions: Conditions, shop: Shop, now: datetime) -> Logged:
    """Of the file, or of the logbook; nothing where values were typed."""
    start, end, place = milliseconds(now - _DUST_LOG), milliseconds(now), conditions.place
    outdoors = outdoor_place(conditions, shop)
    if recorded is not None:
        readings = recorded.marked.readings
        counts = counts_at((one for one in readings if one.at >= start), place)
        return Logged(
            counts,
            outlook_from_readings(readings, now, place),
            lambda: outlook_from_readings(readings, now, outdoors) if outdoors else None,
        )
    path = logbook_path(shop.logbook)
    if typed or not path.exists():
        return Logged()
    with logbook(path) as connection:
        log = AirLog(connection)
        counters = [one for one in log.all_series() if one.place == place and one.quantity.startswith("particles")]
        counts = counts_at(log.between(start, end, counters), place) if counters else ([], [], "")
        room = outlook_from_log(log, now, place)

    def read_outdoors() -> Outlook | None:
        if not outdoors:
            return None
        with logbook(path) as connection:
            return outlook_from_log(AirLog(connection), now, outdoors)

    return Logged(counts, room, read_outdoors)


def night_of(logged: Logged, coating: Coating, shop: Shop) -> NightAhead | None:
    """The night ahead for a coating; None where the log does not tell."""
    return None if logged.outlook is None else night_ahead(logged.outlook, coating, shop)


def look_at_dust(logged: Logged, now: datetime, matt: bool, shop: Shop) -> DustView | None:
    """The dust as it is now."""
    return dust_view(*logged.counts, now.timestamp(), matt, shop)


def told_first(beside: Beside, since_sanding: float | None, matt: bool, shop: Shop) -> str:
    """What stands before the times: dust, else damp air over cold pieces tomorrow."""
    return dust_words(beside.dust, since_sanding, matt, shop) or night_words(beside.night, shop)


def without_effect(
    coats: int | None, matt: bool, since_sanding: float | None, verdict: Verdict, beside: Beside
) -> tuple[str, ...]:
    """What was typed and could not count, in a sentence each."""
    notes = []
    if coats is not None and coats > 1 and verdict.session is None:
        notes.append(f"Air outdoors not known: the {coats} coats are judged in the room as it is now.")
    if matt and beside.dust is None and since_sanding is None:
        notes.append("--matt counts with a particle counter or --sanded: dust is not known.")
    return tuple(notes)
