"""`advisor trial`: how to do the fan-on trial, and what it told."""

from datetime import UTC, datetime, timedelta
from typing import Annotated

import typer

from advisor.advice import trial_words
from advisor.advice.openings import LOOKED_BACK, best_opening
from advisor.advice.record import SCHEMA, utc
from advisor.advice.trial import OutdoorAir, outdoors_during, read_trial
from advisor.advice.verdict import EXIT_CANNOT_TELL, EXIT_GO
from advisor.cli.logged_air import AskedAir, logged_air, shop_in_zone
from advisor.cli.options import ConfigOption, CsvOption, JsonOption, ZoneOption
from advisor.cli.paper import print_answer
from advisor.cli.recorded import zone_of
from advisor.desk.typed import typed_moment, typed_outdoors
from advisor.errors import refuse
from advisor.shop.find import shop_from
from advisor.shop.shop import Shop

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
        steps = trial_words.STEPS
        print_answer({"schema": SCHEMA, "computed_at": utc(now), "steps": list(steps)} if as_json else steps)
        return EXIT_GO
    if started is None:
        air = logged_air(AskedAir(csv, place, zone_of(shop.zone), timedelta(seconds=LOOKED_BACK), _PAIRED), shop, now)
        trial, found = best_opening(air.indoors, air.outdoors, minutes * 60.0, air.shop)
    else:
        begun, found = typed_moment(started, "--started", shop, now), None
        ended, fresh = begun + timedelta(minutes=minutes), timedelta(seconds=shop.limit("outdoors_fresh_for").value)
        asked = AskedAir(csv, place, zone_of(shop.zone), fresh, _PAIRED, begun - fresh, min(ended + fresh, now))
        air = logged_air(asked, shop, now)
        span = (begun.timestamp(), ended.timestamp())
        beside = _typed(*typed, shop) if typed else outdoors_during(air.outdoors, *span, air.shop)
        trial = read_trial(air.indoors, beside, *span, air.shop)
    if as_json:
        counts = {} if air.counts is None else {"readings": air.counts}
        print_answer({**trial_words.trial_record(trial, air.place, air.shop, now, found), **counts})
    elif trial is None:
        read = air.indoors.seconds
        days = float(read[-1] - read[0]) / 86_400.0 if read.size else 0.0
        print_answer([trial_words.none_found(days, found or 0)])
    else:
        print_answer(trial_words.told(trial, air.place, air.shop, found))
    return EXIT_CANNOT_TELL if trial is None or trial.fit is None else EXIT_GO


def _typed(temperature: float, humidity: float, shop: Shop) -> OutdoorAir:
    """The air outdoors as typed, as sure as a sensor nobody described."""
    accuracy = (shop.accuracy(None, quantity) for quantity in ("air_temperature", "relative_humidity"))
    return OutdoorAir(temperature, max(humidity, 0.01), *accuracy)
