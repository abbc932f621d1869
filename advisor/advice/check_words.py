"""An advice as text and as JSON: the verdict, and beside it dust, the night, and what was typed without effect."""

from datetime import datetime
from typing import Any

from advisor.advice import words
from advisor.advice.advise import Advice
from advisor.advice.record import VERDICT_FORMS, verdict_record
from advisor.advice.room_words import dust_words, night_words
from advisor.shop.shop import Shop


def told(
    advice: Advice, shop: Shop, coats: int | None, since_sanding: float | None, matt: bool, lines: int
) -> list[str]:
    """The paragraphs, of so many lines at most. coats, since_sanding [s], matt: as typed."""
    ways = advice.ways
    first = dust_words(advice.dust, since_sanding, matt, shop) or night_words(advice.night, shop)
    notes = []
    if coats is not None and coats > 1 and advice.verdict.session is None:
        notes.append(f"Air outdoors not known: the {coats} coats are judged in the room as it is now.")
    if matt and advice.dust is None and since_sanding is None:
        notes.append("--matt counts with a particle counter or --sanded: dust is not known.")
    return words.told(
        advice.verdict,
        shop,
        () if ways is None else ways.changes,
        advice.times,
        () if ways is None else ways.remedies,
        first,
        advice.plan,
        notes=tuple(notes),
        lines=lines,
    )


def beside_record(advice: Advice) -> dict[str, Any]:
    """Dust, vapour and night of an advice, beside its verdict's own keys."""
    return VERDICT_FORMS.keyed("dust vapour=verdict.vapour night", advice)


def advice_record(advice: Advice, shop: Shop, computed_at: datetime) -> dict[str, Any]:
    """The record of an advice: its verdict's, with the ways and times known."""
    ways = advice.ways
    if ways is None:
        return verdict_record(advice.verdict, shop, computed_at, times=advice.times)
    return verdict_record(advice.verdict, shop, computed_at, ways.changes, advice.times, ways.remedies, ways.as_of)
