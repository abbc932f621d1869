"""`advisor wood`: what the wood in the shop settles at."""

import json
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

from advisor.advice.room_words import wood_record, wood_told
from advisor.advice.verdict import EXIT_CANNOT_TELL, EXIT_GO
from advisor.advice.wood_moisture import WoodMoisture, wood_of_air, wood_of_log
from advisor.catalog.units import parse_relative_humidity
from advisor.cli.logged_air import AskedAir, logged_air, shop_in_zone
from advisor.cli.paper import print_wrapped
from advisor.cli.recorded import zone_of
from advisor.cli.typed import typed_temperature
from advisor.errors import UsageError, shown
from advisor.physics.wood import HUMIDITY_RANGE, MOST_DAYS
from advisor.shop.find import shop_from
from advisor.shop.shop import Shop

_AIR = (-1.0, 60.0)  # [°C], where the equation and a room meet
_PAIRED = 15 * 60.0  # [s] between two temperatures


@dataclass(frozen=True)
class AskedWood:
    """The command line of `advisor wood`."""

    config: Path | None = None
    csv: Path | None = None
    place: str | None = None
    zone: str | None = None
    air: str | None = None
    rh: str | None = None
    as_json: bool = False


def run_wood(asked: AskedWood) -> int:
    """Compute and print; exit code 0, or 3 where too little was logged."""
    now = datetime.now(UTC)
    shop = shop_in_zone(shop_from(asked.config), asked.zone)
    place, counts = asked.place, None
    if asked.air is not None or asked.rh is not None:
        wood = _typed(asked, shop)
    else:
        wanted = AskedAir(asked.csv, asked.place, zone_of(shop.zone), timedelta(days=MOST_DAYS), _PAIRED)
        air = logged_air(wanted, shop, now)
        place, counts, wood = air.place, air.counts, wood_of_log(air.indoors)
    if asked.as_json:
        record = wood_record(wood, place, shop, now)
        record |= {} if counts is None else {"readings": counts}
        print(json.dumps(record, ensure_ascii=False, allow_nan=False))
    else:
        print_wrapped(wood_told(wood, place or "shop", shop))
    return EXIT_CANNOT_TELL if wood.moisture is None else EXIT_GO


def _typed(asked: AskedWood, shop: Shop) -> WoodMoisture:
    if asked.air is None or asked.rh is None:
        raise UsageError("--air or --rh without the other", "--air 21C --rh 50%", "give both")
    for name in ("csv", "place"):
        if getattr(asked, name) is not None:
            raise UsageError(f"--{name} beside --air and --rh", "one or the other", "leave one out")
    humidity = parse_relative_humidity(asked.rh)
    if not HUMIDITY_RANGE[0] <= humidity <= HUMIDITY_RANGE[1]:
        raise UsageError(f"--rh {shown(asked.rh)}", "5 to 95 %, where the table of wood reaches", "read again")
    return wood_of_air(typed_temperature(asked.air, "--air", shop, _AIR), humidity)
