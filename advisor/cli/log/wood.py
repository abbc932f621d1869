"""`advisor wood`: what the wood in the shop settles at."""

from datetime import UTC, datetime, timedelta
from typing import Annotated

import typer

from advisor.cli.options import ConfigOption, CsvOption, JsonOption, ZoneOption
from advisor.cli.paper import print_answer
from advisor.desk.typed import typed_temperature
from advisor.errors import UsageError, refuse, shown
from advisor.judge.verdict import EXIT_CANNOT_TELL, EXIT_GO
from advisor.physics.air.wood import HUMIDITY_RANGE, MOST_DAYS
from advisor.room.wood_moisture import wood_of_air, wood_of_log
from advisor.say.room_words import wood_record, wood_told
from advisor.shop.find import shop_from
from advisor.sources.air_source import shop_in_zone, zone_of
from advisor.sources.log_air import opened
from advisor.units import parse_relative_humidity

_AIR = (-1.0, 60.0)  # [°C], where the equation and a room meet
_PAIRED = 15 * 60.0  # [s] between two temperatures


def run_wood(
    config: ConfigOption = None,
    csv: CsvOption = None,
    place: Annotated[str | None, typer.Option("--place", help="Where the wood stands: whose readings count.")] = None,
    zone: ZoneOption = None,
    air: Annotated[str | None, typer.Option("--air", help="Instead of a log: usual air, with --rh: 21C.")] = None,
    rh: Annotated[str | None, typer.Option("--rh", help="Its relative humidity: 50%.")] = None,
    as_json: JsonOption = False,
) -> int:
    """Say what moisture the wood in the shop settles at, from weeks of log. Advice only.

    Exit code: 0, 2 an error in what was given, 3 cannot tell.
    """
    now = datetime.now(UTC)
    shop, readings = shop_in_zone(shop_from(config), zone), {}
    if air is None and rh is None:
        with opened(csv, shop, zone_of(shop.zone)) as source:
            room = source.track(place, timedelta(days=MOST_DAYS), _PAIRED, now)
        place, wood = room.place, wood_of_log(room)
        readings = {} if source.counts is None else {"readings": source.counts}
    else:
        if air is None or rh is None:
            raise UsageError("--air or --rh without the other", "--air 21C --rh 50%", "give both")
        either = "one or the other", "leave one out"
        refuse(
            (csv is not None, "--csv beside --air and --rh", *either),
            (place is not None, "--place beside --air and --rh", *either),
        )
        humidity = parse_relative_humidity(rh)
        if not HUMIDITY_RANGE[0] <= humidity <= HUMIDITY_RANGE[1]:
            raise UsageError(f"--rh {shown(rh)}", "5 to 95 %, where the table of wood reaches", "read again")
        wood = wood_of_air(typed_temperature(air, "--air", shop, _AIR), humidity)
    record = {**wood_record(wood, place, shop, now), **readings}
    print_answer(record if as_json else wood_told(wood, place or "shop", shop))
    return EXIT_CANNOT_TELL if wood.moisture is None else EXIT_GO
