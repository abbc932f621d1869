"""What a person types, read: in the site's own unit where its configuration names one, and within what can be.

name: how the field is called where it was typed, like `--air`; UsageError for what is none, or out of range.
"""

import re
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from advisor.catalog.coatings import THINNER_SPEEDS
from advisor.catalog.limits import quality_limits
from advisor.catalog.materials import find_substrate
from advisor.catalog.mechanisms import GUNS
from advisor.errors import UsageError, did_you_mean, refuse, shown
from advisor.judge.film_rules import Pot
from advisor.readings.csv_file import parse_time
from advisor.say.numbers import temperature, temperatures
from advisor.shop.shop import US, Shop
from advisor.times import local_day
from advisor.units import NUMBER, parse_quantity, parse_relative_humidity

LONGEST_TEXT = 80  # characters
_MOST_COATS = 10
_SPRAY = (10.0, 7200.0)  # [s]
_AMOUNT = (1e-5, 0.05)  # [m3]
_CLOCK = re.compile(r"[0-9]{1,2}:[0-9]{2}")
_DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")


def typed_temperature(text: str, name: str, shop: Shop, allowed: tuple[float, float]) -> float:
    """A temperature [°C]. Raises UsageError outside `allowed` [°C], or for what is no temperature."""
    site = None if not shop.units_stated else "F" if shop.units == US else "C"
    value = parse_quantity(text, "temperature", name, default_unit=site)
    refuse((
        not allowed[0] <= value <= allowed[1],
        f"{name} {shown(text)} is {temperature(value, shop.units)}", temperatures(*allowed, shop.units),
        "wrong unit? Type it like 24C or 75F",
    ))  # fmt: skip
    return value


def refuse_empty(allowed: str, **texts: str | None) -> None:
    """Raises UsageError for an option that was given and is empty."""
    refuse(*((text == "", f"--{name} is empty", allowed, "leave it out or name one") for name, text in texts.items()))


def typed_outdoors(air: str | None, humidity: str | None, shop: Shop) -> tuple[float, float] | None:
    """The air outdoors [°C, fraction]; None where nothing was typed. Raises UsageError for one without the other."""
    low, high = (quality_limits()["air_temperature", edge].value for edge in ("range_low", "range_high"))
    names, example = ("--outdoors", "--outdoors-rh"), "--outdoors 8C --outdoors-rh 85%"
    return typed_air(air, humidity, shop, (low, high), example, names, "give both")


def typed_air(
    air: str | None, humidity: str | None, shop: Shop, allowed: tuple[float, float], example: str,
    names: tuple[str, str] = ("--air", "--rh"), to_do: str = "give both or none",
) -> tuple[float, float] | None:  # fmt: skip
    """The air [°C, fraction]; None where nothing was typed. Raises UsageError for one without the other."""
    if air is None and humidity is None:
        return None
    if air is None or humidity is None:
        raise UsageError(f"{' or '.join(names)} without the other", example, to_do)
    return typed_temperature(air, names[0], shop, allowed), parse_relative_humidity(humidity, names[1])


def typed_within(
    text: str, dimension: str, name: str, allowed: tuple[float, float], words: str, unit: str | None = None,
    to_do: str = "check the unit",
) -> float:  # fmt: skip
    """A quantity, not negative [SI]. Raises UsageError outside `allowed`, which `words` says in usual units.

    unit: of a bare number.
    """
    value = parse_quantity(text, dimension, name, default_unit=unit)
    if not allowed[0] * (1.0 - 1e-9) <= value <= allowed[1] * (1.0 + 1e-9):  # 1000 l is not quite 1 m3
        raise UsageError(f"{name} {shown(text)}", words, to_do)
    return value


def typed_seconds(text: str, name: str) -> float:
    """Cup seconds [s]: a bare number, or with `s`. Raises UsageError."""
    return typed_within(text, "time", name, (1e-9, 600.0), "over 0 and up to 600 s", "s", "read the cup again")


def typed_thinning(text: str, name: str = "--thinned") -> float:
    """Thinner by volume of the paint [fraction]. Raises UsageError."""
    return typed_within(text, "fraction", name, (0.0, 2.0), "0 to 200 % of the paint")


def past_moment(
    name: str, text: str, zone: ZoneInfo | None, latest: datetime, form: str = "like 2025-10-14T14:05Z",
    to_do: str = "correct it", whole: str = "",
) -> datetime:  # fmt: skip
    """A moment gone by. Raises UsageError for what is no time, or lies after `latest`.

    form: how times are typed there; to_do: what helps one that lies ahead. whole: the text with its day and time.
    """
    moment = parse_time(whole or text, zone)
    if moment is None:
        raise UsageError(f"{name} {shown(text)} is no time", form, "correct it")
    refuse((moment > latest, f"{name} {shown(text)} lies in the future", "a time up to now", to_do))
    return moment


def pot_from(thinner: str | None, retarder: str | None, gun: str | None, substrate: str = "wood") -> Pot:
    """The pot as typed. Raises UsageError for what is none of the choices."""
    for name, text, choices in (("--thinner", thinner, THINNER_SPEEDS), ("--gun", gun, GUNS)):
        if text is not None and text not in choices:
            raise UsageError(f"{name} {shown(text)}", ", ".join(choices), did_you_mean(text, choices))
    return Pot(thinner, 0.0 if retarder is None else _retarder_share(retarder), gun, find_substrate(substrate).id)


def _retarder_share(text: str) -> float:
    """`0.1` or `10%` as a share of all solvent; a bare number over 1 is refused, it could be either."""
    cleaned = text.strip()
    bare, given = NUMBER.fullmatch(cleaned), f"--retarder {shown(text)}"
    share = float(cleaned) if bare else parse_quantity(cleaned, "fraction", "--retarder")
    refuse(
        (bare and share > 1.0, f"{given} is unclear", "0.1 or 10%", "add the % sign"),
        (not 0.0 <= share < 1.0, given, "from 0 to under 100 % of all solvent", "correct it"),
    )
    return share


def typed_text(text: str, name: str) -> str:
    """A text of the user: printable, 1 to 80 characters. Raises UsageError."""
    cleaned = text.strip()
    refuse((
        not (cleaned and cleaned.isprintable() and len(cleaned) <= LONGEST_TEXT),
        f"{name} {shown(text)}", f"1 to {LONGEST_TEXT} printable characters", "correct it",
    ))  # fmt: skip
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
    latest, form = now + timedelta(seconds=shop.limit("clock_tolerance").value), "14:05, or like 2026-11-25T14:05Z"
    return past_moment(name, text, ZoneInfo(shop.zone or "UTC"), latest, form, "yesterday's needs its date", full)


def typed_coats(coats: int | None) -> int | None:
    """Coats in one session; None where nobody said. Raises UsageError."""
    refuse((
        coats is not None and not 1 <= coats <= _MOST_COATS,
        f"--coats {coats}", f"1 to {_MOST_COATS}", "coats in one session",
    ))  # fmt: skip
    return coats


def typed_spray(spray: str | None) -> float | None:
    """Seconds of spraying one coat; None where nobody said. Raises UsageError."""
    return None if spray is None else typed_within(
        spray, "time", "--spray", _SPRAY, "10 s to 2 h", to_do="how long one coat takes to spray"
    )  # fmt: skip


def typed_amount(amount: str | None) -> float | None:
    """Ready mix for all coats together [m3]; None where nobody said. Raises UsageError."""
    return None if amount is None else typed_within(
        amount, "volume", "--amount", _AMOUNT, "10 ml to 50 l", to_do="ready mix for all coats together"
    )  # fmt: skip


def coats_and_spray(coats: int | None, spray: str | None, shop: Shop) -> tuple[int, float]:
    """Coats and seconds of spraying one; the shop's usual ones where nothing was typed. Raises UsageError."""
    many, seconds = typed_coats(coats), typed_spray(spray)
    return (
        round(shop.limit("session_coats").value) if many is None else many,
        shop.limit("session_spray").value if seconds is None else seconds,
    )
