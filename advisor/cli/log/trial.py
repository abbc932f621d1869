"""`advisor trial`: how to do the fan-on trial, and what it told."""

from datetime import UTC, datetime, timedelta
from typing import Annotated

import typer

from advisor.cli.options import ConfigOption, CsvOption, JsonOption, ZoneOption
from advisor.cli.paper import print_answer
from advisor.desk.typed import typed_moment, typed_outdoors
from advisor.errors import refuse
from advisor.judge.verdict import EXIT_CANNOT_TELL, EXIT_GO
from advisor.room.trial import LOOKED_BACK, OutdoorAir, best_opening, outdoors_during, read_trial
from advisor.say import room_words
from advisor.say.as_json import SCHEMA, utc
from advisor.series.air_track import AirTrack
from advisor.series.trace import HUMIDITY
from advisor.shop.find import shop_from
from advisor.shop.shop import Shop
from advisor.sources.air_source import shop_in_zone, zone_of
from advisor.sources.log_air import opened

_MINUTES = (5, 60)
_PAIRED = 180.0  # [s] between two temperatures at the work


def run_trial(
    config: ConfigOption = None,
    csv: CsvOption = None,
    started: Annotated[
        str | None, typer.Option("--started", help="When door and fan went on: 14:05 today, or an ISO time.")
    ] = None,
    minutes: Annotated[int, typer.Option("--minutes", help="How long they were on.")] = 10,
    outdoors: Annotated[
        str | None, typer.Option("--outdoors", help="Air outdoors, with --outdoors-rh; else the sensor's: 8C.")
    ] = None,
    outdoors_rh: Annotated[str | None, typer.Option("--outdoors-rh", help="Its relative humidity: 85%.")] = None,
    find: Annotated[
        bool, typer.Option("--find", help="Look for door openings in the last 30 days instead, and take the best.")
    ] = False,
    zone: ZoneOption = None,
    place: Annotated[str | None, typer.Option("--place", help="Where the sensor stands: at the work.")] = None,
    as_json: JsonOption = False,
) -> int:
    """Find the shop's own air change and wall warmth from ten minutes of door and fan; alone: how to do it.

    Exit code: 0, 2 an error in what was given, 3 cannot tell.
    """
    now = datetime.now(UTC)
    shop = shop_in_zone(shop_from(config), zone)
    low, high = _MINUTES
    beside_find = {"started": started, "outdoors": outdoors, "outdoors-rh": outdoors_rh}
    alone = "--find alone", "leave one of them out"
    begun_when = "--started 14:05, or --find", "say when door and fan went on"
    refuse(
        (not low <= minutes <= high, f"--minutes {minutes}", f"{low} to {high}", "10 will do"),
        *((find and text is not None, f"--find with --{name}", *alone) for name, text in beside_find.items()),
        (
            not find and started is None and any((csv, outdoors, outdoors_rh, place)),
            "--started is missing", *begun_when,
        ),
    )  # fmt: skip
    typed = typed_outdoors(outdoors, outdoors_rh, shop)
    if started is None and not find:
        steps = room_words.STEPS
        print_answer({"schema": SCHEMA, "computed_at": utc(now), "steps": list(steps)} if as_json else steps)
        return EXIT_GO
    with opened(csv, shop, zone_of(shop.zone)) as air:
        if started is None:
            room = air.track(place, timedelta(seconds=LOOKED_BACK), _PAIRED, now)
        else:
            begun = typed_moment(started, "--started", shop, now)
            ended, fresh = begun + timedelta(minutes=minutes), timedelta(seconds=shop.limit("outdoors_fresh_for").value)
            room = air.track(place, fresh, _PAIRED, now, begun - fresh, min(ended + fresh, now))
    around, found = room.outdoors or AirTrack(), None
    if started is None:
        trial, found = best_opening(room, around, minutes * 60.0, air.shop)
    else:
        span = (begun.timestamp(), ended.timestamp())
        beside = _typed(*typed, shop) if typed else outdoors_during(around, *span, air.shop)
        trial = read_trial(room, beside, *span, air.shop)
    if as_json:
        counts = {} if air.counts is None else {"readings": air.counts}
        print_answer({**room_words.trial_record(trial, room.place, air.shop, now, found), **counts})
    elif trial is None:
        read = room.trace(HUMIDITY).times
        days = float(read[-1] - read[0]) / 86_400.0 if read.size else 0.0
        print_answer([room_words.none_found(days, found or 0)])
    else:
        print_answer(room_words.trial_told(trial, room.place, air.shop, found))
    return EXIT_CANNOT_TELL if trial is None or trial.fit is None else EXIT_GO


def _typed(temperature: float, humidity: float, shop: Shop) -> OutdoorAir:
    """The air outdoors as typed, as sure as a sensor nobody described."""
    accuracy = (shop.accuracy(None, quantity) for quantity in ("air_temperature", "relative_humidity"))
    return OutdoorAir(temperature, max(humidity, 0.01), *accuracy)
