"""`advisor cure`: how far a coat has hardened, from the logged temperature of the room."""

import json
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

from advisor.advice.cure import cure
from advisor.advice.cure_words import cure_record, told, told_together
from advisor.advice.phrases import RECORDED_HINT
from advisor.advice.record import SCHEMA
from advisor.advice.verdict import EXIT_CANNOT_TELL
from advisor.catalog.coatings import Coating
from advisor.cli.paper import print_wrapped
from advisor.cli.typed import past_moment
from advisor.errors import UsageError, shown
from advisor.shop.find import shop_from
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


def run_cure(asked: AskedCure) -> int:
    """Compute, print, and give the exit code: 0, or 3 where it cannot tell."""
    computed_at = datetime.now(UTC)
    shop = shop_from(asked.config)
    zone = _refuse_unfit(asked, shop)
    tolerance = timedelta(seconds=shop.limit("clock_tolerance").value)
    pieces = _pieces(asked, shop, zone, computed_at + tolerance)
    first, last = (end(piece.sprayed for piece in pieces) for end in (min, max))
    with opened(asked.csv, shop, zone) as air:
        place = air.place(asked.place)
        as_of = air.as_of(asked.at, zone, computed_at, place, OF_THE_CURE)
        if isinstance(air, FileAir):
            air.mark(milliseconds(as_of), asked.at == "now")
        room = air.room(place, first, as_of)
    if last > as_of + tolerance:
        raise UsageError("--sprayed lies after the moment asked for", "a time before --at", "correct one of them")
    states = [
        cure(piece.coating, room, piece.sprayed, max(as_of, piece.sprayed), shop, asked.coats) for piece in pieces
    ]
    if asked.as_json:
        extra = {} if air.counts is None else {"readings": air.counts}
        each = [cure_record(state, shop, computed_at, place, asked.coats) for state in states]
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
