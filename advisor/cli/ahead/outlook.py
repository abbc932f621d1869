"""`advisor outlook`: the next 24 h of air, and windows with a chance; or how good it would have been."""

import contextlib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from pathlib import Path
from typing import Annotated
from zoneinfo import ZoneInfo

import numpy as np
import typer

from advisor.catalog.coatings import Coating
from advisor.cli.options import CsvOption, JsonOption, ZoneOption
from advisor.cli.paper import Answer
from advisor.desk.typed import coats_and_spray, refuse_empty
from advisor.errors import OutOfRange, UsageError, did_you_mean, refuse, shown
from advisor.judge.conditions import outdoor_names
from advisor.judge.plan import plan_for
from advisor.judge.verdict import EXIT_CANNOT_TELL
from advisor.logbook.store import logbook_path
from advisor.outlook.day_ahead import Foretold, Wanted, with_windows
from advisor.outlook.outlook import LeadSkill, Outlook, hindcast_skill, outlook
from advisor.readings.reading import Reading, Series
from advisor.readings.recorded import read_forecast
from advisor.say.outlook_words import outlook_record, skill_record, skill_told, told
from advisor.series.trace import AIR, DEW, NOTHING, Trace
from advisor.shop.shop import Shop
from advisor.sources.air_source import MEMORY, zone_of
from advisor.sources.counting import OF_THE_OUTLOOK, past_air, places_of_air, traces
from advisor.sources.log_air import opened
from advisor.times import EPOCH, milliseconds, moment_of

LEADS = (1, 3, 6, 12, 24)
_BACKTEST = timedelta(days=400)  # of the logbook
_TOO_SHORT = "Cannot tell: a log of more than two days is needed. "
_NO_MOISTURE = "No place has both air temperature and humidity (or dew point) in these readings."


@dataclass(frozen=True)
class _Past:
    """What the readings hold up to a moment."""

    curves: Mapping[Series, Trace]
    as_of: datetime
    forecast: tuple[Reading, ...] = ()


def run_outlook(
    shop: Shop,
    now: datetime,
    csv: CsvOption = None,
    coating: Annotated[str | None, typer.Option("--coating", help="Coating id: windows for it.")] = None,
    coats: Annotated[int | None, typer.Option("--coats", help="Coats in the session, else one.")] = None,
    spray: Annotated[str | None, typer.Option("--spray", help="How long one coat is sprayed: 5min.")] = None,
    earliest: Annotated[
        str | None, typer.Option("--from", help="Only starts from this local time of day on: 08:00.")
    ] = None,
    latest: Annotated[str | None, typer.Option("--until", help="Only starts before this local time of day.")] = None,
    forecast: Annotated[
        Path | None,
        typer.Option("--forecast", help="A forecast of the air outdoors, CSV or JSON, in place of its own."),
    ] = None,
    backtest: Annotated[
        bool, typer.Option("--backtest", help="Instead: how far off it would have been over the whole log.")
    ] = False,
    at: Annotated[
        str | None, typer.Option("--at", help="As of: now, last (reading; as a CSV is taken), or an ISO time.")
    ] = None,
    zone: ZoneOption = None,
    place: Annotated[str | None, typer.Option("--place", help="Which place's readings count.")] = None,
    as_json: JsonOption = False,
) -> Answer:
    """Say what air the next 24 h bring, and when a session would likely meet no stop. Never a GO.

    Exit code: 0, 2 an error in what was given, 3 cannot tell.
    """
    refuse_empty("a word", zone=zone, place=place, coating=coating, at=at, spray=spray)
    nothing, meant = coating is None, ("one coating", "name what is to be sprayed")
    refuse(
        (nothing and coats is not None, "--coats without --coating", *meant),
        (nothing and spray is not None, "--spray without --coating", *meant),
        (backtest and forecast is not None, "--backtest with --forecast", "one of the two", "leave one out"),
    )
    where = zone_of(zone or shop.zone)
    seen = shop if shop.zone or where is None else replace(shop, zone=where.key)
    own = None if coating is None else shop.coating(coating)
    hours = _hours(earliest, latest)
    wanted = None if own is None else Wanted(own, plan_for(own, shop, *coats_and_spray(coats, spray, shop)), hours)
    given = None if forecast is None else _given(read_forecast(forecast, shop.csv, where), str(forecast), shop)
    past = _past(csv, at, backtest, shop, where, now)
    if given is None and past.forecast and not backtest:
        given = _given(past.forecast, "the forecast in the logbook", shop)
    inside, outside = _places(past.curves, place, shop)
    if backtest:
        skills = _skills(past, inside)
        told_of = skill_told(skills, inside, seen) if skills else [_TOO_SHORT + ("" if inside else _NO_MOISTURE)]
        return skill_record(skills, LEADS) if as_json else told_of, 0 if skills else EXIT_CANNOT_TELL
    foretold = _foretold(past, inside, outside, seen, own, wanted, given)
    not_now = now - past.as_of > timedelta(seconds=shop.limit("fresh_for").value)
    exit_code = EXIT_CANNOT_TELL if foretold.room is None else 0
    return outlook_record(foretold, now) if as_json else told(foretold, seen, not_now), exit_code


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


def _skills(past: _Past, place: str) -> tuple[LeadSkill, ...]:
    """How far off it would have been, for the leads that the log is long enough for."""
    for number in range(len(LEADS) if place else 0, 0, -1):
        with contextlib.suppress(OutOfRange):  # the log is too short for the longest of these leads
            return hindcast_skill(past_air(past.curves, place), LEADS[:number])
    return ()


def _past(csv: Path | None, at: str | None, whole: bool, shop: Shop, zone: ZoneInfo | None, now: datetime) -> _Past:
    """A CSV file as of its last reading where nobody says otherwise, or the logbook; whole: for a backtest."""
    refuse((
        csv is None and not shop.coatings and not logbook_path(shop.logbook).exists(),
        "nothing to learn from", "--csv FILE, or a logbook", "give one of them",
    ))  # fmt: skip
    with opened(csv, shop, zone) as air:
        as_of = air.as_of(at or ("now" if csv is None else "last"), zone, now, None, OF_THE_OUTLOOK)
        newest = air.newest(milliseconds(now), None, OF_THE_OUTLOOK)
        start = min(as_of, as_of if newest is None else moment_of(newest))
        start = EPOCH if whole and csv is not None else start - (_BACKTEST if whole else MEMORY)
        return _Past(air.curves(start, as_of), as_of, air.forecast(as_of))


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
    refuse((len(indoors) > 1, f"several places: {', '.join(shown(place) for place in indoors[:8])}", "", "add --place"))
    return (indoors[0], beside) if indoors else (beside, "")


def _given(readings: Iterable[Reading], where: str, shop: Shop) -> Trace:
    """A forecast as a curve of air and dew point. Raises UsageError."""
    curves = traces(readings, None, OF_THE_OUTLOOK, shop)
    places = places_of_air(curves)
    rows = past_air(curves, places[0]).table(AIR, DEW) if places else NOTHING
    refuse((
        np.sum(rows.known) < 2,
        f"--forecast {shown(where)} holds no hours", "time, air_temperature_c, and dew_point_c or "
        "relative_humidity_pct, two times or more", "look into the file",
    ))  # fmt: skip
    return replace(rows, times=rows.times[rows.known], values=rows.values[rows.known])


def _hours(earliest: str | None, latest: str | None) -> tuple[int, int] | None:
    """--from and --until as minutes of the local day; a missing one is midnight."""
    if earliest is None and latest is None:
        return None
    return _minutes("--from", earliest or "00:00"), _minutes("--until", latest or "24:00")


def _minutes(name: str, text: str) -> int:
    hours, colon, minutes = text.partition(":")
    fits = colon and len(text) == len("08:00") and text.isascii() and hours.isdigit() and minutes.isdigit()
    total = int(hours) * 60 + int(minutes) if fits else -1
    if not (0 <= total <= 24 * 60 and int(minutes) < 60):
        raise UsageError(f"{name} {shown(text)} is no time of day", "like 08:00", "correct it")
    return total
