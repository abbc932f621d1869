"""What is said of the day ahead: ten lines of 80 columns at most, and its record for JSON.

Never a GO: that comes from the room's air of the last minutes alone.
"""

from collections.abc import Sequence
from datetime import UTC, datetime
from math import floor
from typing import Any

import numpy as np

from advisor.advice.cautions import cautions_for
from advisor.advice.fitting import first_that_fits
from advisor.advice.foretold import GIVEN, GIVEN_EXACT, KEPT_WARM, ROOM_AS_IT_IS, Foretold
from advisor.advice.hours import HOUR, Floats
from advisor.advice.many_sessions import relative_humidity
from advisor.advice.measures import bare_temperature, clock, local_day, moment, percent, temperature, trimmed
from advisor.advice.outlook import Edges, LeadSkill, Outlook
from advisor.advice.phrases import CAUTION_WORDS
from advisor.advice.record import SCHEMA, number, utc
from advisor.advice.windows import Window
from advisor.advice.words import short_caution
from advisor.shop.shop import Shop

ASSUMED_WORDS = {
    KEPT_WARM: "Only outdoors is known: shop counted as {kept} or warmer until the door opens.",
    ROOM_AS_IT_IS: "Outdoors is not known: counted for the room as it is, not for an open door.",
    GIVEN: "Outdoors the given forecast counts, its likely error taken from this log's own.",
    GIVEN_EXACT: "Outdoors the given forecast counts as exact: no log tells how far off it is.",
}
NO_GO = "No GO: that comes only from the room's air of the last minutes (check)."
TOO_FEW_DAYS = "Chances come from past errors: this log has too few yet, from its fourth day on it should tell."
_MOST_LINES = 10
_MOST_WINDOWS = 3
_NEXT = 3.0  # [h] ahead that are told by themselves


def told(foretold: Foretold, shop: Shop, not_now: bool) -> list[str]:
    """The outlook as short paragraphs; what can best be missed is left out until ten lines hold it."""
    when = moment(foretold.as_of, shop.zone) + (", not now" if not_now else "")
    name = foretold.coating.name if foretold.coating else "The day ahead"
    if foretold.room is None:
        return [f"{name}: outlook as of {when}.", f"Cannot tell: {foretold.reason}", NO_GO]
    days = trimmed(floor(foretold.room.days_known * 10) / 10, 1) if foretold.room.days_known < 3 else ""
    days = days or str(floor(foretold.room.days_known))
    head = f"{name}: outlook as of {when}, from {days} days of log."
    airs, extremes = [_air(foretold.place, foretold.room, shop)], [_extremes(foretold.place, foretold.room, shop)]
    if foretold.outdoors is not None:
        airs.append(_air(foretold.outdoor_place, foretold.outdoors, shop))
        extremes.append(_extremes(foretold.outdoor_place, foretold.outdoors, shop))
    kept = temperature(shop.limit("outlook_room_kept").value, shop.units)
    assumed = [ASSUMED_WORDS[key].format(kept=kept) for key in foretold.assumed] if foretold.coating else []
    caution = short_caution(foretold.coating) if foretold.coating else ""
    chance = _windows(foretold, shop)
    return first_that_fits(
        (
            [head, *airs, chance, *assumed, NO_GO, caution],
            [head, airs[0], *extremes[1:], chance, *assumed, NO_GO, caution],
            [head, *extremes, chance, *assumed, NO_GO, caution],
            [head, extremes[0], chance, *assumed[:1], NO_GO, caution],
            [head, chance, NO_GO, caution],
        ),
        _MOST_LINES,
    )


def _air(place: str, outlook: Outlook, shop: Shop) -> str:
    air, dew = outlook.air_temperature, outlook.dew_point
    soon = int(np.argmin(np.abs(outlook.times - outlook.times[0] - _NEXT * HOUR)))
    band = f"{bare_temperature(outlook.low.air_temperature[soon], shop.units)} to " + temperature(
        outlook.high.air_temperature[soon], shop.units
    )
    return (
        f"{place}: in {_NEXT:g} h {temperature(air[soon], shop.units)} ({band}), dew point "
        f"{temperature(dew[soon], shop.units)}; {_extremes('', outlook, shop)}"
    )


def _extremes(place: str, outlook: Outlook, shop: Shop) -> str:
    air, humidity = outlook.air_temperature, relative_humidity(outlook.air_temperature, outlook.dew_point)
    warm, cold, damp = int(air.argmax()), int(air.argmin()), int(humidity.argmax())
    return (
        f"{place + ': ' if place else ''}warmest {temperature(air[warm], shop.units)} at "
        f"{_clock(outlook.times[warm], shop)}, coldest {temperature(air[cold], shop.units)} at "
        f"{_clock(outlook.times[cold], shop)}, dampest {percent(float(humidity[damp]))} at "
        f"{_clock(outlook.times[damp], shop)}."
    )


def _windows(foretold: Foretold, shop: Shop) -> str:
    if foretold.coating is None:
        return ""
    if foretold.chances is None:
        return TOO_FEW_DAYS
    if not foretold.windows:
        no_stop = foretold.chances.no_stop
        if not np.isfinite(no_stop).any() or foretold.room is None:
            return "No start within these hours can be judged."
        best = int(np.nanargmax(no_stop))
        likeliest = float(no_stop[best])
        at = _clock(float(foretold.room.times[best]), shop, day=True)
        told = f"; likeliest {at}, {in_ten(likeliest)}" if in_ten(likeliest) != in_ten(0.0) else ""
        return f"No start in the next 24 h has an even chance to pass without a stop{told}."
    ranked = sorted(foretold.windows, key=lambda each: (-each.best_chance, each.start))[:_MOST_WINDOWS]
    shown = [_window(each, shop) for each in sorted(ranked, key=lambda each: each.start)]
    more = f" And {len(foretold.windows) - len(ranked)} less likely." if len(foretold.windows) > len(ranked) else ""
    return f"Begun in these, it likely meets no stop: {'; '.join(shown)}.{more}"


def _window(window: Window, shop: Shop) -> str:
    """The best part first; the whole of it behind, where its worst start is less likely."""
    best = f"{_span(window.best_from, window.best_until, shop)}, {in_ten(window.best_chance)}"
    if in_ten(window.best_chance) == in_ten(window.chance):
        return f"{_span(window.start, window.until, shop)}, {in_ten(window.chance)}"
    return f"{best} ({_span(window.start, window.until, shop, day=False)}, {in_ten(window.chance)})"


def in_ten(chance: float) -> str:
    """`8 in 10`, rounded down."""
    return f"{floor(chance * 10 + 1e-9)} in 10"


def _span(start: float, until: float, shop: Shop, day: bool = True) -> str:
    first, last = (local_day(datetime.fromtimestamp(each, UTC), shop.zone) for each in (start, until))
    return f"{_clock(start, shop, day)}-{_clock(until, shop, day=first != last)}"


def _clock(seconds: float, shop: Shop, day: bool = False) -> str:
    at = datetime.fromtimestamp(seconds, UTC)
    return (f"{local_day(at, shop.zone):%a} " if day else "") + clock(at, shop.zone or "UTC")


def outlook_record(foretold: Foretold, computed_at: datetime) -> dict[str, Any]:
    """The answer as JSON: °C, K, fractions, times UTC; null where it cannot be told."""
    room, outdoors, chances = foretold.room, foretold.outdoors, foretold.chances
    members = None if chances is None else chances.members
    coating = foretold.coating
    return {
        "schema": SCHEMA,
        "as_of": utc(foretold.as_of),
        "computed_at": utc(computed_at),
        "coating": None if coating is None else coating.id,
        "cannot_tell": room is None,
        "reason": foretold.reason or None,
        "days_known": None if room is None else number(room.days_known),
        "places": [place for place in (foretold.place, foretold.outdoor_place) if place],
        **_course(foretold.place, room),
        "outdoors": None if outdoors is None else _course(foretold.outdoor_place, outdoors),
        "assumed": list(foretold.assumed),
        "members": members,
        "chances": None if chances is None else _numbers(chances.no_stop),
        "chances_without_changes": None if chances is None else _numbers(chances.no_change),
        "windows": None
        if room is None
        else [
            {
                "from": _utc(window.start),
                "until": _utc(window.until),
                "chance": number(window.chance),
                "members": members,
                "best_from": _utc(window.best_from),
                "best_until": _utc(window.best_until),
                "best_chance": number(window.best_chance),
            }
            for window in foretold.windows
        ],
        "cautions": [] if coating is None else [CAUTION_WORDS[key] for key in cautions_for(coating)],
    }


def _course(place: str, outlook: Outlook | None) -> dict[str, Any]:
    if outlook is None:
        return dict.fromkeys(("times", "air_temperature", "dew_point", "low", "high"), None) | {"place": place or None}
    return {
        "place": place,
        "times": [_utc(each) for each in outlook.times.tolist()],
        "air_temperature": _numbers(outlook.air_temperature),
        "dew_point": _numbers(outlook.dew_point),
        "low": _edges(outlook.low),
        "high": _edges(outlook.high),
    }


def _edges(edges: Edges) -> dict[str, Any]:
    return {name: _numbers(values) for name, values in vars(edges).items()}


def _numbers(values: Floats) -> list[float | None]:
    return [number(each) for each in values.tolist()]


def _utc(seconds: float) -> str:
    return utc(datetime.fromtimestamp(seconds, UTC))


def skill_record(skills: Sequence[LeadSkill], leads: Sequence[int]) -> dict[str, Any]:
    """How far off it was, for each lead asked for; null where the log has no such case."""
    known = {skill.hours: skill for skill in skills}
    return {"leads": [_skill(lead, known.get(lead)) for lead in leads]}


def _skill(lead: int, skill: LeadSkill | None) -> dict[str, Any]:
    def value(name: str) -> float | None:
        return None if skill is None else number(getattr(skill, name))

    return {
        "hours": lead,
        "air_temperature": {"mae": value("air_temperature_error"), "persistence": value("air_temperature_persistence")},
        "spread": {"mae": value("spread_error"), "persistence": value("spread_persistence")},
        "coverage": value("air_temperature_coverage"),
        "dew_point_coverage": value("dew_point_coverage"),
        "spread_coverage": value("spread_coverage"),
        "cases": 0 if skill is None else skill.cases,
    }


def skill_told(skills: Sequence[LeadSkill], place: str, shop: Shop) -> list[str]:
    """The same as a small table, mean errors of the outlook and of "it stays as it is"."""
    factor, sign = (1.8, "°F") if shop.units == "us" else (1.0, "°C")
    lines = [f"{place}: mean error in {sign}, of the outlook / of the air staying as it is; 80 % band held."]
    for skill in skills:
        warm, stays = skill.air_temperature_error * factor, skill.air_temperature_persistence * factor
        spread, spread_stays = skill.spread_error * factor, skill.spread_persistence * factor
        lines.append(
            f"{skill.hours:>2} h ahead: air {warm:.2f} / {stays:.2f}, air over dew point {spread:.2f} / "
            f"{spread_stays:.2f}; {percent(skill.air_temperature_coverage)}, {skill.cases:,} cases"
        )
    return lines
