"""`advisor trial`: how to do the fan-on trial, and what it told. `advisor wood`: what the wood here settles at."""

from datetime import datetime
from typing import Annotated, Any

import typer

from advisor.cli.options import CsvOption, JsonOption, ZoneOption
from advisor.cli.paper import Answer, Said
from advisor.desk.room import fan_trial, wood_here
from advisor.desk.typed import typed_moment, typed_outdoors, typed_temperature
from advisor.errors import UsageError, refuse, shown
from advisor.judge.verdict import EXIT_CANNOT_TELL, EXIT_GO
from advisor.physics.air.wood import HUMIDITY_RANGE
from advisor.room.wood_moisture import wood_of_air
from advisor.say import room_words
from advisor.say.as_json import headed
from advisor.shop.shop import Shop
from advisor.sources.air_source import shop_in_zone
from advisor.units import parse_relative_humidity

_MINUTES = (5, 60)
_AIR = (-1.0, 60.0)  # [°C], where the equation of wood and a room meet


def run_trial(
    shop: Shop,
    now: datetime,
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
) -> Answer:
    """Find the shop's own air change and wall warmth from ten minutes of door and fan; alone: how to do it.

    Exit code: 0, 2 an error in what was given, 3 cannot tell.
    """
    shop = shop_in_zone(shop, zone)
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
        return headed(now, {"steps": list(room_words.STEPS)}) if as_json else room_words.STEPS, EXIT_GO
    begun = None if started is None else typed_moment(started, "--started", shop, now)
    tried = fan_trial(begun, minutes, shop, now, csv=csv, place=place, outdoors=typed)
    if as_json:
        record = room_words.trial_record(tried.trial, tried.place, tried.shop, now, tried.found)
        said: Said = {**record, **_read(tried.counts)}
    elif tried.trial is None:
        said = [room_words.none_found(tried.days, tried.found or 0)]
    else:
        said = room_words.trial_told(tried.trial, tried.place, tried.shop, tried.found)
    return said, EXIT_CANNOT_TELL if tried.trial is None or tried.trial.fit is None else EXIT_GO


def run_wood(
    shop: Shop,
    now: datetime,
    csv: CsvOption = None,
    place: Annotated[str | None, typer.Option("--place", help="Where the wood stands: whose readings count.")] = None,
    zone: ZoneOption = None,
    air: Annotated[str | None, typer.Option("--air", help="Instead of a log: usual air, with --rh: 21C.")] = None,
    rh: Annotated[str | None, typer.Option("--rh", help="Its relative humidity: 50%.")] = None,
    as_json: JsonOption = False,
) -> Answer:
    """Say what moisture the wood in the shop settles at, from weeks of log. Advice only.

    Exit code: 0, 2 an error in what was given, 3 cannot tell.
    """
    shop, counts = shop_in_zone(shop, zone), None
    if air is None and rh is None:
        wood, place, counts = wood_here(shop, now, csv, place)
    else:
        if air is None or rh is None:
            raise UsageError("--air or --rh without the other", "--air 21C --rh 50%", "give both")
        either = "one or the other", "leave one out"
        refuse(
            (csv is not None, "--csv beside --air and --rh", *either),
            (place is not None, "--place beside --air and --rh", *either),
        )
        humidity = parse_relative_humidity(rh)
        refuse((
            not HUMIDITY_RANGE[0] <= humidity <= HUMIDITY_RANGE[1],
            f"--rh {shown(rh)}", "5 to 95 %, where the table of wood reaches", "read again",
        ))  # fmt: skip
        wood = wood_of_air(typed_temperature(air, "--air", shop, _AIR), humidity)
    record = {**room_words.wood_record(wood, place, shop, now), **_read(counts)}
    exit_code = EXIT_CANNOT_TELL if wood.moisture is None else EXIT_GO
    return record if as_json else room_words.wood_told(wood, place or "shop", shop), exit_code


def _read(counts: dict[str, Any] | None) -> dict[str, Any]:
    """What became of a file's readings, for a record; nothing of a logbook."""
    return {} if counts is None else {"readings": counts}
