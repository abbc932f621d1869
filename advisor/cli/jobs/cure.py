"""`advisor cure`: how far a coat has hardened, from the logged temperature of the room."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Annotated
from zoneinfo import ZoneInfo

import typer

from advisor.catalog.coatings import Coating
from advisor.cli.options import CoatingOption, CsvOption, JsonOption, ZoneOption
from advisor.cli.paper import Answer, Said
from advisor.desk.typed import past_moment, refuse_empty
from advisor.errors import refuse, shown
from advisor.jobs.cure import cure
from advisor.judge.verdict import EXIT_CANNOT_TELL
from advisor.say.as_json import SCHEMA
from advisor.say.craft.cure_words import cure_record, told, told_together
from advisor.say.phrases import RECORDED_HINT
from advisor.shop.shop import Shop
from advisor.sources.air_source import zone_of
from advisor.sources.counting import OF_THE_CURE
from advisor.sources.file_air import FileAir
from advisor.sources.log_air import opened
from advisor.times import milliseconds

MOST_COATS = 20
MOST_PIECES = 50
_LONGEST_NAME = 40  # characters


@dataclass(frozen=True)
class _Piece:
    """One piece that hardens: its name, empty for the only one, its coating, and when it was sprayed."""

    name: str
    coating: Coating
    sprayed: datetime


def run_cure(
    shop: Shop,
    now: datetime,
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
) -> Answer:
    """Say how far a coat has hardened in the room as it was: next coat, handle, sand, rub out, full cure.

    Exit code: 0, 2 an error in what was given, 3 cannot tell.
    """
    each_own = "one of the two", "each --piece has its own"
    refuse(
        (piece and coating is not None, "--coating beside --piece", *each_own),
        (not piece and coating is None, "--coating is missing", "--coating ID", "give it"),
        (piece and sprayed is not None, "--sprayed beside --piece", *each_own),
        (not piece and sprayed is None, "--sprayed is missing", "--sprayed 2025-10-14T14:05Z", "give it"),
    )
    refuse_empty("a word", zone=zone, place=place, coating=coating, sprayed=sprayed, at=at)
    refuse((
        coats is not None and not 1 <= coats <= MOST_COATS,
        f"--coats {coats}", f"1 to {MOST_COATS}", "count the coats on the piece",
    ))  # fmt: skip
    where = zone_of(zone or shop.zone)
    tolerance = timedelta(seconds=shop.limit("clock_tolerance").value)
    pieces = (
        _pieces(piece, shop, where, now + tolerance) if piece
        else [_Piece("", shop.coating(coating or ""), past_moment("--sprayed", sprayed or "", where, now + tolerance))]
    )  # fmt: skip
    first, last = (end(each.sprayed for each in pieces) for end in (min, max))
    with opened(csv, shop, where) as air:
        room_at = air.place(place)
        as_of = air.as_of(at, where, now, room_at, OF_THE_CURE)
        if isinstance(air, FileAir):
            air.mark(milliseconds(as_of), at == "now")
        room = air.room(room_at, first, as_of)
    refuse((
        last > as_of + tolerance,
        "--sprayed lies after the moment asked for", "a time before --at", "correct one of them",
    ))  # fmt: skip
    states = [cure(each.coating, room, each.sprayed, max(as_of, each.sprayed), shop, coats) for each in pieces]
    if as_json:
        extra = {} if air.counts is None else {"readings": air.counts}
        each_one = [cure_record(state, shop, now, room_at, coats) for state in states]
        named = [{"piece": each.name, **one} for each, one in zip(pieces, each_one, strict=True)]
        said: Said = {**({"schema": SCHEMA, "pieces": named} if piece else each_one[0]), **extra}
    else:
        stale = csv is not None and at == "now" and states[0].present is None
        hint = RECORDED_HINT if stale else ""
        seen = shop if shop.zone or where is None else replace(shop, zone=where.key)
        names = [each.name for each in pieces]
        said = told_together(names, states, seen, hint) if piece else told(states[0], seen, hint)
    return said, EXIT_CANNOT_TELL if any(state.cannot_tell for state in states) else 0


def _pieces(texts: Sequence[str], shop: Shop, zone: ZoneInfo | None, latest: datetime) -> list[_Piece]:
    """Those of --piece, like `lid: oil-varnish 2025-10-14T14:05Z`."""
    refuse((len(texts) > MOST_PIECES, f"--piece {len(texts)} times", f"up to {MOST_PIECES}", "ask for fewer at once"))
    pieces = []
    for text in texts:
        name, colon, rest = text.partition(":")
        coating, _, time = rest.strip().partition(" ")
        refuse((
            not (colon and name.strip() and name.strip().isprintable() and len(name) <= _LONGEST_NAME and time),
            f"--piece {shown(text)}", '"lid: oil-varnish 2025-10-14T14:05Z"', "name, coating, time",
        ))  # fmt: skip
        pieces.append(_Piece(name.strip(), shop.coating(coating), past_moment("--piece", time.strip(), zone, latest)))
    return pieces
