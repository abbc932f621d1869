"""`advisor cure`: how far a coat has hardened, from the logged temperature of the room."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Annotated, Any
from zoneinfo import ZoneInfo

import typer

from advisor.advice.cure import cure
from advisor.advice.cure_words import cure_record, told, told_together
from advisor.advice.phrases import RECORDED_HINT
from advisor.advice.record import SCHEMA
from advisor.advice.verdict import EXIT_CANNOT_TELL
from advisor.catalog.coatings import Coating
from advisor.cli.options import CoatingOption, ConfigOption, CsvOption, JsonOption, ZoneOption
from advisor.cli.paper import print_answer
from advisor.cli.recorded import counted, moment_asked, place_in, zone_of
from advisor.desk.typed import past_moment, refuse_empty
from advisor.errors import UsageError, did_you_mean, refuse, shown
from advisor.logbook.air_log import AirLog
from advisor.logbook.conditions import milliseconds
from advisor.logbook.present import place_to_spray
from advisor.logbook.room_temperature import QUANTITY, room_temperature
from advisor.logbook.store import logbook, logbook_path
from advisor.readings.csv_file import CsvReadings
from advisor.readings.reading import Reading
from advisor.readings.recorded import mark_until, read_recorded
from advisor.shop.find import shop_from
from advisor.shop.shop import Shop

MOST_COATS = 20
MOST_PIECES = 50
_LONGEST_NAME = 40  # characters


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


def run_cure(
    config: ConfigOption = None,
    csv: CsvOption = None,
    coating: CoatingOption = None,
    sprayed: Annotated[
        str | None, typer.Option("--sprayed", help="When the last coat was sprayed: an ISO time.")
    ] = None,
    at: Annotated[str, typer.Option("--at", help="As of this moment: now, last (reading), or an ISO time.")] = "now",
    zone: ZoneOption = None,
    place: Annotated[str | None, typer.Option("--place", help="Where the piece stands: whose readings count.")] = None,
    coats: Annotated[int | None, typer.Option("--coats", help="Coats on the piece, for lacquer and shellac.")] = None,
    piece: Annotated[
        list[str] | None,
        typer.Option("--piece", help='Several at once, each "lid: oil-varnish 2025-10-14T14:05Z".'),
    ] = None,
    as_json: JsonOption = False,
) -> int:
    """Say how far a coat has hardened in the room as it was: next coat, handle, sand, rub out, full cure.

    Exit code: 0, 2 an error in what was given, 3 cannot tell.
    """
    shop, now = shop_from(config), datetime.now(UTC)
    each_own = "one of the two", "each --piece has its own"
    refuse(
        (piece and coating is not None, "--coating beside --piece", *each_own),
        (not piece and coating is None, "--coating is missing", "--coating ID", "give it"),
        (piece and sprayed is not None, "--sprayed beside --piece", *each_own),
        (not piece and sprayed is None, "--sprayed is missing", "--sprayed 2025-10-14T14:05Z", "give it"),
    )
    refuse_empty("a word", zone=zone, place=place, coating=coating, sprayed=sprayed, at=at)
    if coats is not None and not 1 <= coats <= MOST_COATS:
        raise UsageError(f"--coats {coats}", f"1 to {MOST_COATS}", "count the coats on the piece")
    where = zone_of(zone or shop.zone)
    tolerance = timedelta(seconds=shop.limit("clock_tolerance").value)
    pieces = (
        _pieces(piece, shop, where, now + tolerance) if piece
        else [_Piece("", shop.coating(coating or ""), past_moment("--sprayed", sprayed or "", where, now + tolerance))]
    )  # fmt: skip
    longest = shop.limit("cure_gap_bridged").value
    if csv is None:
        first = min(each.sprayed for each in pieces)
        air = _logged(place, at, shop, where, now, first - timedelta(seconds=longest))
    else:
        air = _recorded(csv, place, at, shop, where, now)
    if max(each.sprayed for each in pieces) > air.as_of + tolerance:
        raise UsageError("--sprayed lies after the moment asked for", "a time before --at", "correct one of them")
    record, missing = room_temperature(air.readings, air.place, longest)
    states = [
        cure(each.coating, record, each.sprayed, max(air.as_of, each.sprayed), shop, coats, missing) for each in pieces
    ]
    if as_json:
        extra = {} if air.counts is None else {"readings": air.counts}
        each_one = [cure_record(state, shop, now, air.place, coats) for state in states]
        named = [{"piece": each.name, **one} for each, one in zip(pieces, each_one, strict=True)]
        print_answer({**({"schema": SCHEMA, "pieces": named} if piece else each_one[0]), **extra})
    else:
        stale = csv is not None and at == "now" and states[0].present is None
        hint = RECORDED_HINT if stale else ""
        seen = shop if shop.zone or where is None else replace(shop, zone=where.key)
        print_answer(
            told_together([each.name for each in pieces], states, seen, hint) if piece else told(states[0], seen, hint)
        )
    return EXIT_CANNOT_TELL if any(state.cannot_tell for state in states) else 0


def _pieces(texts: Sequence[str], shop: Shop, zone: ZoneInfo | None, latest: datetime) -> list[_Piece]:
    """Those of --piece, like `lid: oil-varnish 2025-10-14T14:05Z`."""
    if len(texts) > MOST_PIECES:
        raise UsageError(f"--piece {len(texts)} times", f"up to {MOST_PIECES}", "ask for fewer at once")
    pieces = []
    for text in texts:
        name, colon, rest = text.partition(":")
        coating, _, time = rest.strip().partition(" ")
        if not (colon and name.strip() and name.strip().isprintable() and len(name) <= _LONGEST_NAME and time):
            raise UsageError(f"--piece {shown(text)}", '"lid: oil-varnish 2025-10-14T14:05Z"', "name, coating, time")
        pieces.append(_Piece(name.strip(), shop.coating(coating), past_moment("--piece", time.strip(), zone, latest)))
    return pieces


def _recorded(csv: Path, place: str | None, at: str, shop: Shop, zone: ZoneInfo | None, now: datetime) -> _Air:
    """A CSV file, marked as it would have been at the moment asked for."""
    file = read_recorded(CsvReadings(csv, shop.csv, zone, shop.spray_place or "shop"))
    where = place_in(file, place, shop)
    tolerance = timedelta(seconds=shop.limit("clock_tolerance").value)
    newest = file.newest(where, milliseconds(now + tolerance)) if at == "last" else None
    as_of = moment_asked(at, zone, now, newest, tolerance)
    marked = mark_until(file, milliseconds(as_of), at == "now", shop.accuracy)
    return _Air(marked.readings, where, as_of, counted(file, marked))


def _logged(place: str | None, at: str, shop: Shop, zone: ZoneInfo | None, now: datetime, start: datetime) -> _Air:
    """The logbook, beside a running daemon or without one."""
    path = logbook_path(shop.logbook)
    with logbook(path) as connection:
        air_log = AirLog(connection)
        every = air_log.all_series()
        places = sorted({series.place for series in every})
        if place is not None and place not in places:
            raise UsageError(f"no readings at place {shown(place)}", "", did_you_mean(place, places))
        where = place or place_to_spray(shop, every)
        series = [one for one in every if one.place == where and one.quantity == QUANTITY]
        tolerance = timedelta(seconds=shop.limit("clock_tolerance").value)
        words = [word.at for word in air_log.newest(milliseconds(now)) if word.series in series]
        as_of = moment_asked(at, zone, now, max(words, default=None), tolerance)
        readings = tuple(air_log.between(milliseconds(start), milliseconds(as_of), series))
    return _Air(readings, where, as_of)
