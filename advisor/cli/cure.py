"""`advisor cure`: how far a coat has hardened, from the logged temperature of the room."""

import json
from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from advisor.advice.cure import cure
from advisor.advice.cure_words import cure_record, told, told_together
from advisor.advice.phrases import RECORDED_HINT
from advisor.advice.verdict import EXIT_CANNOT_TELL
from advisor.catalog.coatings import Coating
from advisor.cli.paper import print_wrapped
from advisor.cli.recorded import counted, moment_asked, place_in, zone_of
from advisor.cli.typed import past_moment
from advisor.errors import UsageError, did_you_mean, shown
from advisor.logbook.air_log import AirLog
from advisor.logbook.conditions import milliseconds
from advisor.logbook.present import place_to_spray
from advisor.logbook.room_temperature import QUANTITY, room_temperature
from advisor.logbook.store import logbook, logbook_path
from advisor.readings.csv_file import CsvReadings
from advisor.readings.reading import Reading
from advisor.readings.recorded import mark_until, read_recorded
from advisor.say.as_json import SCHEMA
from advisor.shop.find import shop_from
from advisor.shop.shop import Shop

MOST_COATS = 20
MOST_PIECES = 50
_LONGEST_NAME = 40  # characters


@dataclass(frozen=True)
class AskedCure:
    """The command line of `advisor cure`."""

    config: Path | None = None
    csv: Path | None = None
    coating: str | None = None
    sprayed: str | None = None
    at: str = "now"
    zone: str | None = None
    place: str | None = None
    coats: int | None = None
    pieces: tuple[str, ...] = ()
    as_json: bool = False


@dataclass(frozen=True)
class _Piece:
    """One piece that hardens: its name, empty for the only one, its coating, and when it was sprayed."""

    name: str
    coating: Coating
    sprayed: datetime


@dataclass(frozen=True)
class _Air:
    """The readings that count, of one place, as of a moment; counts of a file's readings for the record."""

    readings: Iterable[Reading]
    place: str
    as_of: datetime
    counts: dict[str, Any] | None = None


def run_cure(asked: AskedCure) -> int:
    """Compute, print, and give the exit code: 0, or 3 where it cannot tell."""
    computed_at = datetime.now(UTC)
    shop = shop_from(asked.config)
    zone = _refuse_unfit(asked, shop)
    tolerance = timedelta(seconds=shop.limit("clock_tolerance").value)
    pieces = _pieces(asked, shop, zone, computed_at + tolerance)
    longest = shop.limit("cure_gap_bridged").value
    if asked.csv is None:
        first = min(piece.sprayed for piece in pieces)
        air = _logged(asked, shop, zone, computed_at, first - timedelta(seconds=longest))
    else:
        air = _recorded(asked, shop, zone, computed_at)
    if max(piece.sprayed for piece in pieces) > air.as_of + tolerance:
        raise UsageError("--sprayed lies after the moment asked for", "a time before --at", "correct one of them")
    record, missing = room_temperature(air.readings, air.place, longest)
    states = [
        cure(piece.coating, record, piece.sprayed, max(air.as_of, piece.sprayed), shop, asked.coats, missing)
        for piece in pieces
    ]
    if asked.as_json:
        extra = {} if air.counts is None else {"readings": air.counts}
        each = [cure_record(state, shop, computed_at, air.place, asked.coats) for state in states]
        named = [{"piece": piece.name, **one} for piece, one in zip(pieces, each, strict=True)]
        answer = {"schema": SCHEMA, "pieces": named} if asked.pieces else each[0]
        print(json.dumps({**answer, **extra}, ensure_ascii=False, allow_nan=False))
    else:
        stale = asked.csv is not None and asked.at == "now" and states[0].present is None
        hint = RECORDED_HINT if stale else ""
        seen = shop if shop.zone or zone is None else replace(shop, zone=zone.key)
        print_wrapped(
            told_together([piece.name for piece in pieces], states, seen, hint)
            if asked.pieces
            else told(states[0], seen, hint)
        )
    return EXIT_CANNOT_TELL if any(state.cannot_tell for state in states) else 0


def _pieces(asked: AskedCure, shop: Shop, zone: ZoneInfo | None, latest: datetime) -> list[_Piece]:
    """The one of --coating and --sprayed, or those of --piece, like `lid: oil-varnish 2025-10-14T14:05Z`."""
    if not asked.pieces:
        when = past_moment("--sprayed", asked.sprayed or "", zone, latest)
        return [_Piece("", shop.coating(asked.coating or ""), when)]
    if len(asked.pieces) > MOST_PIECES:
        raise UsageError(f"--piece {len(asked.pieces)} times", f"up to {MOST_PIECES}", "ask for fewer at once")
    pieces = []
    for text in asked.pieces:
        name, colon, rest = text.partition(":")
        coating, _, time = rest.strip().partition(" ")
        if not (colon and name.strip() and name.strip().isprintable() and len(name) <= _LONGEST_NAME and time):
            raise UsageError(f"--piece {shown(text)}", '"lid: oil-varnish 2025-10-14T14:05Z"', "name, coating, time")
        pieces.append(_Piece(name.strip(), shop.coating(coating), past_moment("--piece", time.strip(), zone, latest)))
    return pieces


def _refuse_unfit(asked: AskedCure, shop: Shop) -> ZoneInfo | None:
    """The zone of times without offset. Raises UsageError for what is missing or empty."""
    for name, form in (("coating", "ID"), ("sprayed", "2025-10-14T14:05Z")):
        if asked.pieces and getattr(asked, name) is not None:
            raise UsageError(f"--{name} beside --piece", "one of the two", "each --piece has its own")
        if not asked.pieces and getattr(asked, name) is None:
            raise UsageError(f"--{name} is missing", f"--{name} {form}", "give it")
    for name in ("zone", "place", "coating", "sprayed", "at"):
        if getattr(asked, name) == "":
            raise UsageError(f"--{name} is empty", "a word", "leave it out or name one")
    if asked.coats is not None and not 1 <= asked.coats <= MOST_COATS:
        raise UsageError(f"--coats {asked.coats}", f"1 to {MOST_COATS}", "count the coats on the piece")
    return zone_of(asked.zone or shop.zone)


def _recorded(asked: AskedCure, shop: Shop, zone: ZoneInfo | None, now: datetime) -> _Air:
    """A CSV file, marked as it would have been at the moment asked for."""
    file = read_recorded(CsvReadings(asked.csv or Path(), shop.csv, zone, shop.spray_place or "shop"))
    place = place_in(file, asked.place, shop)
    tolerance = timedelta(seconds=shop.limit("clock_tolerance").value)
    newest = file.newest(place, milliseconds(now + tolerance)) if asked.at == "last" else None
    as_of = moment_asked(asked.at, zone, now, newest, tolerance)
    marked = mark_until(file, milliseconds(as_of), asked.at == "now", shop.accuracy)
    return _Air(marked.readings, place, as_of, counted(file, marked))


def _logged(asked: AskedCure, shop: Shop, zone: ZoneInfo | None, now: datetime, start: datetime) -> _Air:
    """The logbook, beside a running daemon or without one."""
    path = logbook_path(shop.logbook)
    with logbook(path) as connection:
        air_log = AirLog(connection)
        every = air_log.all_series()
        places = sorted({series.place for series in every})
        if asked.place is not None and asked.place not in places:
            raise UsageError(f"no readings at place {shown(asked.place)}", "", did_you_mean(asked.place, places))
        place = asked.place or place_to_spray(shop, every)
        series = [one for one in every if one.place == place and one.quantity == QUANTITY]
        tolerance = timedelta(seconds=shop.limit("clock_tolerance").value)
        words = [word.at for word in air_log.newest(milliseconds(now)) if word.series in series]
        as_of = moment_asked(asked.at, zone, now, max(words, default=None), tolerance)
        readings = tuple(air_log.between(milliseconds(start), milliseconds(as_of), series))
    return _Air(readings, place, as_of)
