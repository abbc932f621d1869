"""What `advisor check` looks at beside the air: dust, vapour, the night and the morning after."""

from collections.abc import Callable
from contextlib import AbstractContextManager, nullcontext
from dataclasses import dataclass
from datetime import datetime
from functools import partial
from typing import Any

from advisor.advice.conditions import Conditions, outdoor_place
from advisor.advice.dust import DustView, dust_record, dust_view, dust_words
from advisor.advice.night_ahead import NightAhead, night_ahead, night_record, night_words
from advisor.advice.outlook import Outlook
from advisor.advice.record import vapour_record
from advisor.advice.remedies import Ahead
from advisor.advice.trace import NOTHING, Trace
from advisor.advice.vapour_rule import VapourNote
from advisor.advice.verdict import Verdict
from advisor.catalog.coatings import Coating
from advisor.logbook.store import logbook_path
from advisor.shop.shop import Shop
from advisor.sources.air_source import AirSource
from advisor.sources.file_air import Recorded
from advisor.sources.log_air import log_air


@dataclass(frozen=True)
class Logged:
    """What the log says beside the present air: particle counts [1/m3] and what of, and the outlooks."""

    counts: tuple[Trace, str] = (NOTHING, "")
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
        return {
            "dust": dust_record(self.dust),
            "vapour": vapour_record(self.vapour),
            "night": night_record(self.night),
        }


def read_log(recorded: Recorded | None, typed: bool, conditions: Conditions, shop: Shop, now: datetime) -> Logged:
    """Of the file, or of the logbook; nothing where values were typed."""
    place, outdoors = conditions.place, outdoor_place(conditions, shop)
    if recorded is None and (typed or not logbook_path(shop.logbook).exists()):
        return Logged()

    def source() -> AbstractContextManager[AirSource]:
        return log_air(shop) if recorded is None else nullcontext(recorded.air)

    def ahead(where: str) -> Outlook | None:
        with source() as air:
            return air.outlook(now, where) if where else None

    with source() as air:
        counts = air.dust(now, place)
    return Logged(counts, ahead(place), partial(ahead, outdoors))


def night_of(logged: Logged, coating: Coating, shop: Shop) -> NightAhead | None:
    """The night ahead for a coating; None where the log does not tell."""
    return None if logged.outlook is None else night_ahead(logged.outlook, coating, shop)


def look_at_dust(logged: Logged, now: datetime, matt: bool, shop: Shop) -> DustView | None:
    """The dust as it is now."""
    counts, kind = logged.counts
    return dust_view(counts.times, counts.values, kind, now.timestamp(), matt, shop)


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
