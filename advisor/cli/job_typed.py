"""What is typed about a job: texts, times, and every field of a coat, for `job coat` and `job edit` alike."""

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta

from advisor.advice.job import Value
from advisor.catalog.coatings import Coating
from advisor.catalog.schedules import STEPS
from advisor.catalog.units import NUMBER, parse_quantity
from advisor.cli.pot import pot_from
from advisor.cli.recorded import zone_of
from advisor.cli.typed import typed_seconds, typed_temperature, typed_thinning, typed_within
from advisor.errors import UsageError, did_you_mean, shown
from advisor.physics.cups import find_cup
from advisor.readings.csv_file import parse_time
from advisor.shop.shop import Shop
from advisor.times import local_day

LONGEST_TEXT = 80  # characters
_CLOCK = re.compile(r"[0-9]{1,2}:[0-9]{2}")
_DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
_MATERIAL, _SURFACE = (0.0, 45.0), (-20.0, 60.0)  # [°C]
_HARDENER, _NEEDLE, _PRESSURE, _WET_FILM = (1e-7, 0.1), (1e-4, 5e-3), (2e4, 1e6), (5e-6, 1e-3)  # [m3], [m], [Pa], [m]
_SPRAYING = (1.0, 8 * 3600.0)  # [s] that one coat takes
_GRITS = (40, 5000)


@dataclass(frozen=True)
class Typing:
    """What a typed field is read with; prefix: how the fields are called, `--` for options, nothing for `job edit`."""

    shop: Shop
    now: datetime
    prefix: str


def typed_text(text: str, name: str) -> str:
    """A text of the user: printable, 1 to 80 characters. Raises UsageError."""
    cleaned = text.strip()
    if not (cleaned and cleaned.isprintable() and len(cleaned) <= LONGEST_TEXT):
        raise UsageError(f"{name} {shown(text)}", f"1 to {LONGEST_TEXT} printable characters", "correct it")
    return cleaned


def typed_moment(text: str, name: str, shop: Shop, now: datetime, day_alone: bool = False) -> datetime:
    """A moment up to now: `14:05` today in the shop's zone, or an ISO time; with day_alone a day's first minute.

    Raises UsageError for what is no time, and for what lies further ahead than clocks may differ.
    """
    cleaned = text.strip()
    if _CLOCK.fullmatch(cleaned):
        full = f"{local_day(now, shop.zone)}T{cleaned.zfill(5)}"
    else:
        full = f"{cleaned}T00:00" if day_alone and _DAY.fullmatch(cleaned) else cleaned
    moment = parse_time(full, zone_of(shop.zone or "UTC"))
    if moment is None:
        raise UsageError(f"{name} {shown(text)} is no time", "14:05, or like 2026-11-25T14:05Z", "correct it")
    if moment > now + timedelta(seconds=shop.limit("clock_tolerance").value):
        raise UsageError(f"{name} {shown(text)} lies in the future", "a time up to now", "yesterday's needs its date")
    return moment


def typed_coat(texts: Mapping[str, str], typing: Typing) -> dict[str, Value]:
    """The columns of a coat from its typed fields. Raises UsageError with the nearest field for an unknown one.

    `minutes` comes back as `minutes` [s]: when a coat ended depends on when it began.
    """
    found: dict[str, Value] = {}
    for name, text in texts.items():
        if name not in FIELDS:
            raise UsageError(f"no field {shown(name)}", "", did_you_mean(name, FIELDS))
        column, read = FIELDS[name]
        emptied = not text.strip() and name in _MAY_BE_EMPTY and not typing.prefix
        found[column] = ("" if name == "note" else None) if emptied else read(text, f"{typing.prefix}{name}", typing)
    return found


def check_coat(coat: Mapping[str, Value], coating: Coating) -> None:
    """Refuse what does not fit together. Raises UsageError."""
    end, mixed = coat.get("ended_at"), coat.get("mixed_at")
    if isinstance(mixed, datetime) and isinstance(end, datetime) and mixed > end:
        raise UsageError("mixed after the coat was sprayed", "a time before it", "correct one of them")
    thinner, speeds = coat.get("thinner"), coating.thinner_speeds
    if isinstance(thinner, str) and thinner not in speeds:
        raise UsageError(f"thinner {shown(thinner)} for {coating.id}", ", ".join(speeds) or "none", "its own only")
    if (coat.get("cup") is None) != (coat.get("cup_seconds") is None):
        raise UsageError("cup or seconds without the other", 'cup "DIN 4" with 22 seconds', "give both or none")


def _coating(text: str, name: str, typing: Typing) -> Value:
    if not text.strip():
        raise UsageError(f"{name} is empty", "a coating's id", "see `advisor coatings`")
    return typing.shop.coating(text.strip()).id


def _step(text: str, name: str, typing: Typing) -> Value:
    if text.strip() not in STEPS:
        raise UsageError(f"{name} {shown(text)}", ", ".join(STEPS), did_you_mean(text.strip(), STEPS))
    return text.strip()


def _moment(text: str, name: str, typing: Typing) -> Value:
    return typed_moment(text, name, typing.shop, typing.now)


def _mixed(text: str, name: str, typing: Typing) -> Value:
    return typed_moment(text, name, typing.shop, typing.now, day_alone=True)


def _minutes(text: str, name: str, typing: Typing) -> Value:
    """Seconds that a coat took; a bare number is minutes."""
    cleaned = text.strip()
    seconds = parse_quantity(cleaned, "time", name, default_unit="min")
    if not _SPRAYING[0] <= seconds <= _SPRAYING[1]:
        raise UsageError(f"{name} {shown(text)}", "1 s to 8 h", "correct it")
    return seconds


def _thinner(text: str, name: str, typing: Typing) -> Value:
    return pot_from(text.strip(), None, None).thinner


def _retarder(text: str, name: str, typing: Typing) -> Value:
    return pot_from(None, text, None).retarder


def _seconds(text: str, name: str, typing: Typing) -> Value:
    return typed_seconds(text, name)


def _thinning(text: str, name: str, typing: Typing) -> Value:
    return typed_thinning(text, name)


def _cup(text: str, name: str, typing: Typing) -> Value:
    return find_cup(text).id


def _sanded(text: str, name: str, typing: Typing) -> Value:
    cleaned = text.strip()
    if cleaned == "no":
        return 0
    if not (NUMBER.fullmatch(cleaned) and cleaned.isdigit() and _GRITS[0] <= int(cleaned) <= _GRITS[1]):
        raise UsageError(f"{name} {shown(text)}", f"a grit, {_GRITS[0]} to {_GRITS[1]}, or no", "correct it")
    return int(cleaned)


def _yes(text: str, name: str, typing: Typing) -> Value:
    if text.strip() not in ("yes", "no"):
        raise UsageError(f"{name} {shown(text)}", "yes or no", "correct it")
    return text.strip() == "yes"


def _text(text: str, name: str, typing: Typing) -> Value:
    return typed_text(text, name)


def _degrees(allowed: tuple[float, float]) -> "Reader":
    return lambda text, name, typing: typed_temperature(text, name, typing.shop, allowed)


def _within(dimension: str, allowed: tuple[float, float], words: str) -> "Reader":
    return lambda text, name, typing: typed_within(text, dimension, name, allowed, words)


Reader = Callable[[str, str, Typing], Value]
# Each field as it is typed: its column, and how it is read
FIELDS: Mapping[str, tuple[str, Reader]] = {
    "coating": ("coating", _coating),
    "step": ("step", _step),
    "start": ("started_at", _moment),
    "minutes": ("minutes", _minutes),
    "thinner": ("thinner", _thinner),
    "thinned": ("thinning", _thinning),
    "retarder": ("retarder", _retarder),
    "hardener": ("hardener", _within("volume", _HARDENER, "0.1 ml to 100 l")),
    "mixed": ("mixed_at", _mixed),
    "cup": ("cup", _cup),
    "seconds": ("cup_seconds", _seconds),
    "material": ("material", _degrees(_MATERIAL)),
    "surface": ("surface", _degrees(_SURFACE)),
    "needle": ("needle", _within("length", _NEEDLE, "0.1 to 5 mm")),
    "pressure": ("gun_pressure", _within("pressure", _PRESSURE, "0.2 to 10 bar")),
    "wet-film": ("wet_film", _within("length", _WET_FILM, "5 to 1000 um")),
    "sanded": ("sanded", _sanded),
    "panel": ("panel", _yes),
    "place": ("place", _text),
    "note": ("note", _text),
}
_MAY_BE_EMPTY = FIELDS.keys() - {"coating", "start", "minutes", "panel"}
