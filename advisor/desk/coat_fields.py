"""What is typed of a coat: each of its fields, for a new one and for a correction alike."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime

from advisor.catalog.coatings import Coating
from advisor.catalog.schedules import STEPS
from advisor.desk.typed import (
    pot_from,
    typed_moment,
    typed_seconds,
    typed_temperature,
    typed_text,
    typed_thinning,
    typed_within,
)  # fmt: skip
from advisor.errors import did_you_mean, refuse, shown
from advisor.jobs.job import Value
from advisor.physics.paint.cups import find_cup
from advisor.shop.shop import Shop
from advisor.units import NUMBER

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


def typed_coat(texts: Mapping[str, str], typing: Typing) -> dict[str, Value]:
    """The columns of a coat from its typed fields. Raises UsageError with the nearest field for an unknown one.

    `minutes` comes back as `minutes` [s]: when a coat ended depends on when it began.
    """
    found: dict[str, Value] = {}
    for name, text in texts.items():
        refuse((name not in FIELDS, f"no field {shown(name)}", "", did_you_mean(name, FIELDS)))
        column, read = FIELDS[name]
        emptied = not text.strip() and name in _MAY_BE_EMPTY and not typing.prefix
        found[column] = ("" if name == "note" else None) if emptied else read(text, f"{typing.prefix}{name}", typing)
    return found


def check_coat(coat: Mapping[str, Value], coating: Coating) -> None:
    """Refuse what does not fit together. Raises UsageError."""
    end, mixed = coat.get("ended_at"), coat.get("mixed_at")
    refuse((
        isinstance(mixed, datetime) and isinstance(end, datetime) and mixed > end,
        "mixed after the coat was sprayed", "a time before it", "correct one of them",
    ))  # fmt: skip
    thinner, speeds = coat.get("thinner"), coating.thinner_speeds
    refuse(
        (
            isinstance(thinner, str) and thinner not in speeds,
            f"thinner {shown(str(thinner))} for {coating.id}", ", ".join(speeds) or "none", "its own only",
        ),
        (
            (coat.get("cup") is None) != (coat.get("cup_seconds") is None),
            "cup or seconds without the other", 'cup "DIN 4" with 22 seconds', "give both or none",
        ),
    )  # fmt: skip


def _coating(text: str, name: str, typing: Typing) -> Value:
    refuse((not text.strip(), f"{name} is empty", "a coating's id", "see `advisor coatings`"))
    return typing.shop.coating(text.strip()).id


def _minutes(text: str, name: str) -> Value:
    """Seconds that a coat took; a bare number is minutes."""
    return typed_within(text, "time", name, _SPRAYING, "1 s to 8 h", "min", "correct it")


def _step(text: str, name: str) -> Value:
    refuse((text.strip() not in STEPS, f"{name} {shown(text)}", ", ".join(STEPS), did_you_mean(text.strip(), STEPS)))
    return text.strip()


def _sanded(text: str, name: str) -> Value:
    cleaned = text.strip()
    if cleaned == "no":
        return 0
    refuse((
        not (NUMBER.fullmatch(cleaned) and cleaned.isdigit() and _GRITS[0] <= int(cleaned) <= _GRITS[1]),
        f"{name} {shown(text)}", f"a grit, {_GRITS[0]} to {_GRITS[1]}, or no", "correct it",
    ))  # fmt: skip
    return int(cleaned)


def _yes(text: str, name: str) -> Value:
    refuse((text.strip() not in ("yes", "no"), f"{name} {shown(text)}", "yes or no", "correct it"))
    return text.strip() == "yes"


Reader = Callable[[str, str, Typing], Value]


def _alone(read: Callable[[str, str], Value]) -> Reader:
    """A reader that needs no shop."""
    return lambda text, name, _: read(text, name)


def _moment(day_alone: bool) -> Reader:
    return lambda text, name, typing: typed_moment(text, name, typing.shop, typing.now, day_alone)


def _degrees(allowed: tuple[float, float]) -> Reader:
    return lambda text, name, typing: typed_temperature(text, name, typing.shop, allowed)


def _within(dimension: str, allowed: tuple[float, float], words: str) -> Reader:
    return lambda text, name, _: typed_within(text, dimension, name, allowed, words)


# Each field as it is typed: its column, and how it is read
FIELDS: Mapping[str, tuple[str, Reader]] = {
    "coating": ("coating", _coating),
    "step": ("step", _alone(_step)),
    "start": ("started_at", _moment(day_alone=False)),
    "minutes": ("minutes", _alone(_minutes)),
    "thinner": ("thinner", _alone(lambda text, _: pot_from(text.strip(), None, None).thinner)),
    "thinned": ("thinning", _alone(typed_thinning)),
    "retarder": ("retarder", _alone(lambda text, _: pot_from(None, text, None).retarder)),
    "hardener": ("hardener", _within("volume", _HARDENER, "0.1 ml to 100 l")),
    "mixed": ("mixed_at", _moment(day_alone=True)),
    "cup": ("cup", _alone(lambda text, _: find_cup(text).id)),
    "seconds": ("cup_seconds", _alone(typed_seconds)),
    "material": ("material", _degrees(_MATERIAL)),
    "surface": ("surface", _degrees(_SURFACE)),
    "needle": ("needle", _within("length", _NEEDLE, "0.1 to 5 mm")),
    "pressure": ("gun_pressure", _within("pressure", _PRESSURE, "0.2 to 10 bar")),
    "wet-film": ("wet_film", _within("length", _WET_FILM, "5 to 1000 um")),
    "sanded": ("sanded", _alone(_sanded)),
    "panel": ("panel", _alone(_yes)),
    "place": ("place", _alone(typed_text)),
    "note": ("note", _alone(typed_text)),
}
_MAY_BE_EMPTY = FIELDS.keys() - {"coating", "start", "minutes", "panel"}
