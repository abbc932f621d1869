"""`advisor outlook`: the next 24 h of air, and windows with a chance; or how good it would have been."""

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np

from advisor.advice.conditions import outdoor_names
from advisor.advice.foretold import Foretold, Wanted, with_windows
from advisor.advice.outlook import LeadSkill, Outlook, backtest, outlook
from advisor.advice.outlook_words import outlook_record, skill_record, skill_told, told
from advisor.advice.trace import AIR, DEW, NOTHING, Trace
from advisor.advice.verdict import EXIT_CANNOT_TELL
from advisor.catalog.coatings import Coating
from advisor.cli.paper import print_wrapped
from advisor.cli.session_asked import plan_from
from advisor.errors import OutOfRange, UsageError, did_you_mean, shown
from advisor.logbook.store import logbook_path
from advisor.readings.forecast_file import read_forecast
from advisor.readings.reading import Reading, Series
from advisor.shop.find import shop_from
from advisor.shop.shop import Shop
from advisor.sources.air_source import MEMORY, zone_of
from advisor.sources.counting import OF_THE_OUTLOOK, traces
from advisor.sources.log_air import opened
from advisor.sources.past_air import past_air, places_of_air
from advisor.times import EPOCH, milliseconds, moment_of

LEADS = (1, 3, 6, 12, 24)
_BACKTEST = timedelta(days=400)  # of the logbook
_NO_MOISTURE = "No place has both air temperature and humidity (or dew point) in these readings."


@dataclass(frozen=True)
class AskedOutlook:
    """The command line of `advisor outlook`."""

    config: Path | None = None
    csv: Path | None = None
    at: str | None = None
    zone: str | None = None
    place: str | None = None
    coating: str | None = None
    coats: int | None = None
    spray: str | None = None
    earliest: str | None = None
    latest: str | None = None
    forecast: Path | None = None
    backtest: bool = False
    as_json: bool = False


@dataclass(frozen=True)
class _Past:
    """What the readings hold up to a moment."""

    curves: Mapping[Series, Trace]
    as_of: datetime
    forecast: tuple[Reading, ...] = ()


def run_outlook(asked: AskedOutlook) -> int:
    """Compute, print, and give the exit code: 0, or 3 where it cannot tell."""
    computed_at = datetime.now(UTC)
    shop = shop_from(asked.config)
    zone = _refuse_unfit(asked, shop)
    seen = shop if shop.zone or zone is None else replace(shop, zone=zone.key)
    coating = None if asked.coating is None else shop.coating(asked.coating)
    hours = _hours(asked)
    wanted = None if coating is None else Wanted(coating, plan_from(asked.coats, asked.spray, coating, shop), hours)
    given = (
        None
        if asked.forecast is None
        else _given(read_forecast(asked.forecast, shop.csv, zone), str(asked.forecast), shop)
    )
    past = _past(asked, shop, zone, computed_at)
    if given is None and past.forecast and not asked.backtest:
        given = _given(past.forecast, "the forecast in the logbook", shop)
    place, outdoor_place = _places(past.curves, asked.place, shop)
    if asked.backtest:
        return _print_backtest(past, place, seen, asked.as_json)
    foretold = _foretold(past, place, outdoor_place, seen, coating, wanted, given)
    if asked.as_json:
        print(json.dumps(outlook_record(foretold, computed_at), ensure_ascii=False, allow_nan=False))
    else:
        not_now = computed_at - past.as_of > timedelta(seconds=shop.limit("fresh_for").value)
        print_wrapped(told(foretold, seen, not_now))
    return EXIT_CANNOT_TELL if foretold.room is None else 0


def _foretold(
    past: _Past, place: str, outdoor_place: str, shop: Shop, coating: Coating | None, wanted: Wanted | None,
    given: Trace | None,
) -> Foretold:  # fmt: skip
    """The day ahead at the place and outdoors, and its windows."""
    blank = Foretold(past.as_of, place, outdoor_place, coating)
    if not place:
        return replace(blank, reason=_NO_MOISTURE)
    room, reason = _ahead(past, place)
    if room is None:
        return replace(blank, reason=reason)
    outdoors = _ahead(past, outdoor_place)[0] if outdoor_place else None
    return with_windows(blank, room, outdoors, given, wanted, place in outdoor_names(shop), shop)


def _ahead(past: _Past, place: str) -> tuple[Outlook | None, str]:
    """The outlook of a place; None with the reason where its log does not tell."""
    log = past_air(past.curves, place)
    try:
        return outlook(log, past.as_of.timestamp()), ""
    except OutOfRange as error:
        return None, f"{error.got}; it takes {error.allowed}: {error.do}."


def _print_backtest(past: _Past, place: str, shop: Shop, as_json: bool) -> int:
    skills: tuple[LeadSkill, ...] = ()
    for number in range(len(LEADS) if place else 0, 0, -1):
        try:
            skills = backtest(past_air(past.curves, place), LEADS[:number])
            break
        except OutOfRange:
            continue  # the log is too short for the longest of these leads
    if as_json:
        print(json.dumps(skill_record(skills, LEADS), ensure_ascii=False, allow_nan=False))
    elif skills:
        print_wrapped(skill_told(skills, place, shop))
    else:
        print_wrapped(["Cannot tell: a log of more than two days is needed. " + ("" if place else _NO_MOISTURE)])
    return 0 if skills else EXIT_CANNOT_TELL


def _past(asked: AskedOutlook, shop: Shop, zone: ZoneInfo | None, now: datetime) -> _Past:
    """A CSV file as of its last reading where nobody says otherwise, or the logbook, beside a daemon or without one."""
    if asked.csv is None and not shop.coatings and not logbook_path(shop.logbook).exists():
        raise UsageError("nothing to learn from", "--csv FILE, or a logbook", "give one of them")
    with opened(asked.csv, shop, zone) as air:
        as_of = air.as_of(asked.at or ("now" if asked.csv is None else "last"), zone, now, None, OF_THE_OUTLOOK)
        newest = air.newest(milliseconds(now), None, OF_THE_OUTLOOK)
        start = min(as_of, as_of if newest is None else moment_of(newest))
        if asked.backtest:
            start = EPOCH if asked.csv is not None else start - _BACKTEST
        else:
            start -= MEMORY
        curves = air.curves(start, as_of)
        return _Past(curves, as_of, air.forecast(as_of))


def _places(curves: Mapping[Series, Trace], asked: str | None, shop: Shop) -> tuple[str, str]:
    """Where one sprays, or the only place there is, and the place outdoors beside it; empty where there is none."""
    places = places_of_air(curves)
    if asked is not None and asked not in places:
        known = did_you_mean(asked, [shown(place).strip("'") for place in places[:8]]) if places else ""
        raise UsageError(f"no readings of the air at place {shown(asked)}", "", known)
    outdoors = [place for place in places if place in outdoor_names(shop)]
    indoors = [place for place in places if place not in outdoors]
    beside = outdoors[0] if outdoors else ""
    if asked is not None:
        return asked, "" if asked in outdoors else beside
    for usual in (shop.spray_place, "booth", "shop"):
        if usual in indoors:
            return usual, beside
    if len(indoors) > 1:
        raise UsageError(f"several places: {', '.join(shown(place) for place in indoors[:8])}", "", "add --place")
    return (indoors[0], beside) if indoors else (beside, "")


def _given(readings: Iterable[Reading], where: str, shop: Shop) -> Trace:
    """A forecast as a curve of air and dew point. Raises UsageError."""
    curves = traces(readings, None, OF_THE_OUTLOOK, shop)
    places = places_of_air(curves)
    rows = past_air(curves, places[0]).table(AIR, DEW) if places else NOTHING
    if np.sum(rows.known) < 2:
        raise UsageError(
            f"--forecast {shown(where)} holds no hours", "time, air_temperature_c, and dew_point_c or "
            "relative_humidity_pct, two times or more", "look into the file",
        )  # fmt: skip
    return replace(rows, times=rows.times[rows.known], values=rows.values[rows.known])


def _refuse_unfit(asked: AskedOutlook, shop: Shop) -> ZoneInfo | None:
    """The zone of times without offset. Raises UsageError for what does not fit together."""
    for name in ("zone", "place", "coating", "at", "spray"):
        if getattr(asked, name) == "":
            raise UsageError(f"--{name} is empty", "a word", "leave it out or name one")
    wanting = [name for name in ("coats", "spray") if getattr(asked, name) is not None and asked.coating is None]
    if wanting:
        raise UsageError(f"--{wanting[0]} without --coating", "one coating", "name what is to be sprayed")
    if asked.backtest and asked.forecast is not None:
        raise UsageError("--backtest with --forecast", "one of the two", "leave one out")
    return zone_of(asked.zone or shop.zone)


def _hours(asked: AskedOutlook) -> tuple[int, int] | None:
    """--from and --until as minutes of the local day; a missing one is midnight."""
    if asked.earliest is None and asked.latest is None:
        return None
    return _minutes("--from", asked.earliest or "00:00"), _minutes("--until", asked.latest or "24:00")


def _minutes(name: str, text: str) -> int:
    hours, colon, minutes = text.partition(":")
    fits = colon and len(text) == len("08:00") and text.isascii() and hours.isdigit() and minutes.isdigit()
    total = int(hours) * 60 + int(minutes) if fits else -1
    if not (0 <= total <= 24 * 60 and int(minutes) < 60):
        raise UsageError(f"{name} {shown(text)} is no time of day", "like 08:00", "correct it")
    return total
