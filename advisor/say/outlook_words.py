"""What is said of the day ahead: ten lines of 80 columns at most, and its record for JSON.

Never a GO: that comes from the room's air of the last minutes alone.
"""

from collections.abc import Sequence
from datetime import datetime
from math import floor
from typing import Any

import numpy as np

from advisor.outlook.day_ahead import GIVEN, GIVEN_EXACT, KEPT_WARM, ROOM_AS_IT_IS, Foretold
from advisor.outlook.many_sessions import relative_humidity
from advisor.outlook.outlook import LeadSkill, Outlook
from advisor.outlook.windows import Window
from advisor.say.as_json import SCHEMA, Form, Forms, keyed
from advisor.say.fitting import Paragraph, fitted, paragraph
from advisor.say.numbers import clock, moment, percent, temperature, temperatures, trimmed
from advisor.say.phrases import cautions_of, short_caution
from advisor.series.trace import HOUR
from advisor.shop.shop import Shop
from advisor.times import local_day, moment_at

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
    known = foretold.room.days_known
    days = trimmed(floor(known * 10) / 10, 1) if known < 3 else str(floor(known))
    head = f"{name}: outlook as of {when}, from {days} days of log."
    room, outdoors = foretold.room, foretold.outdoors
    airs = [  # outdoors gives way before the room
        Paragraph(_air(place, each, shop), ((short, _extremes(place, each, shop)), (gone, "")))
        for place, each, short, gone in ((foretold.place, room, 3, 1), (foretold.outdoor_place, outdoors, 4, 2))
        if each is not None
    ]
    kept = temperature(shop.limit("outlook_room_kept").value, shop.units)
    assumed = foretold.assumed if foretold.coating else ()
    return fitted(
        [
            paragraph(head),
            *airs,
            paragraph(_windows(foretold, shop)),
            *(paragraph(ASSUMED_WORDS[key].format(kept=kept), 2 if n else 1) for n, key in enumerate(assumed)),
            paragraph(NO_GO),
            paragraph(short_caution(foretold.coating) if foretold.coating else ""),
        ],
        _MOST_LINES,
    )


def _air(place: str, outlook: Outlook, shop: Shop) -> str:
    air, dew = outlook.air_temperature, outlook.dew_point
    soon = int(np.argmin(np.abs(outlook.times - outlook.times[0] - _NEXT * HOUR)))
    band = temperatures(outlook.low.air_temperature[soon], outlook.high.air_temperature[soon], shop.units)
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
        best, likeliest = int(np.nanargmax(no_stop)), float(np.nanmax(no_stop))
        at = _clock(float(foretold.room.times[best]), shop, day=True)
        told = f"; likeliest {at}, {in_ten(likeliest)}" if in_ten(likeliest) != in_ten(0.0) else ""
        return f"No start in the next 24 h has an even chance to pass without a stop{told}."
    ranked = sorted(foretold.windows, key=lambda each: (-each.best_chance, each.start))[:_MOST_WINDOWS]
    shown = [_window(each, shop) for each in sorted(ranked, key=lambda each: each.start)]
    more = f" And {len(foretold.windows) - len(ranked)} less likely." if len(foretold.windows) > len(ranked) else ""
    return f"Begun in these, it likely meets no stop: {'; '.join(shown)}.{more}"


def _window(window: Window, shop: Shop) -> str:
    """The best part first; the whole of it behind, where its worst start is less likely."""
    best, worst = in_ten(window.best_chance), in_ten(window.chance)
    return f"{_span(window.start, window.until, shop)}, {worst}" if best == worst else (
        f"{_span(window.best_from, window.best_until, shop)}, {best}"
        f" ({_span(window.start, window.until, shop, day=False)}, {worst})"
    )  # fmt: skip


def in_ten(chance: float) -> str:
    """`8 in 10`, rounded down."""
    return f"{floor(chance * 10 + 1e-9)} in 10"


def _span(start: float, until: float, shop: Shop, day: bool = True) -> str:
    first, last = (local_day(moment_at(each), shop.zone) for each in (start, until))
    return f"{_clock(start, shop, day)}-{_clock(until, shop, day=first != last)}"


def _clock(seconds: float, shop: Shop, day: bool = False) -> str:
    return clock(moment_at(seconds), shop.zone or "UTC", "%a %H:%M" if day else "%H:%M")


_OUTLOOK = (
    "schema as_of=told.as_of computed_at coating=told.coating.id cannot_tell reason?=told.reason"
    " days_known=told.room.days_known places"
)
_CHANCES = (
    "outdoors! assumed=told.assumed members=told.chances.members chances=told.chances.no_stop"
    " chances_without_changes=told.chances.no_change windows cautions"
)
_ERRORS = "mae=skill.NAME_error persistence=skill.NAME_persistence"
_SKILL: Form = (
    "hours",
    {
        "air_temperature": lambda asked: keyed(_ERRORS.replace("NAME", "air_temperature"), asked),
        "spread": lambda asked: keyed(_ERRORS.replace("NAME", "spread"), asked),
    },
    "coverage=skill.air_temperature_coverage dew_point_coverage=skill.dew_point_coverage"
    " spread_coverage=skill.spread_coverage",
    {"cases": lambda asked: 0 if asked["skill"] is None else asked["skill"].cases},
)
_FORMS = Forms(
    {
        Window: (
            "from@=start until@ chance",
            {"members": lambda window, members: members},
            "best_from@ best_until@ best_chance",
        ),
        Outlook: (
            {"times": lambda outlook, *_: [moment_at(each) for each in outlook.times.tolist()]},
            "air_temperature dew_point low high",
        ),
    }
)


def outlook_record(foretold: Foretold, computed_at: datetime) -> dict[str, Any]:
    """The answer as JSON: °C, K, fractions, times UTC; null where it cannot be told."""
    coating, room = foretold.coating, foretold.room
    asked = {
        "schema": SCHEMA,
        "computed_at": computed_at,
        "told": foretold,
        "cannot_tell": room is None,
        "places": [place for place in (foretold.place, foretold.outdoor_place) if place],
        "outdoors": None if foretold.outdoors is None else _course(foretold.outdoor_place, foretold.outdoors),
        "windows": None if room is None else foretold.windows,
        "cautions": [] if coating is None else cautions_of(coating),
    }
    members = None if foretold.chances is None else foretold.chances.members
    head, chances = (_FORMS.keyed(form, asked, members) for form in (_OUTLOOK, _CHANCES))
    return {**head, **_course(foretold.place, room), **chances}


def _course(place: str, outlook: Outlook | None) -> dict[str, Any]:
    unknown = dict.fromkeys(("times", "air_temperature", "dew_point", "low", "high"))
    return {**unknown, "place": place or None} if outlook is None else {"place": place, **_FORMS(outlook)}


def skill_record(skills: Sequence[LeadSkill], leads: Sequence[int]) -> dict[str, Any]:
    """How far off it was, for each lead asked for; null where the log has no such case."""
    known = {skill.hours: skill for skill in skills}
    return {"leads": [keyed(_SKILL, {"hours": lead, "skill": known.get(lead)}) for lead in leads]}


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
