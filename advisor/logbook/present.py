"""The present conditions from the logbook: what `watch` judges every minute and `check` beside it."""

from dataclasses import replace
from datetime import datetime, timedelta

from advisor.advice.conditions import Conditions
from advisor.logbook.air_log import AirLog
from advisor.logbook.conditions import conditions_as_of, milliseconds
from advisor.logbook.verdict_log import CLOCK_SET, kept_value
from advisor.readings.reading import BAD, CONFLICT, FUTURE, Series
from advisor.shop.shop import Shop

LOOK_BACK = timedelta(hours=4)  # what the piece's temperature follows from
_LOOKED_BACK_ON = "air_temperature"
_AHEAD = 86_400_000  # [ms] a clock in another zone is ahead by less; further on a stamp tells nothing of the sensor


def conditions_at(air_log: AirLog, now: datetime, place: str, shop: Shop, past: bool = False) -> Conditions:
    """Conditions as of `now`; readings stamped a little ahead of it count as of now, later ones do not.

    What was stamped before the machine's clock was last set counts as unknown until its sensor has spoken again.

    past: `now` is a moment gone by, of which later readings are known: none ahead of it counts.

    Of most series the newest reading is enough; of the air at the place, the last hours.
    """
    tolerance = timedelta(0) if past else timedelta(seconds=shop.limit("clock_tolerance").value)
    until = milliseconds(now + tolerance)
    later = [] if past else air_log.after(until)
    ahead = [each for each in later if each.reason in (FUTURE, CONFLICT) or each.value is None]
    readings = air_log.newest(until)
    followed = [
        reading.series
        for reading in readings
        if reading.series.place == place and reading.series.quantity == _LOOKED_BACK_ON
    ]
    readings += [
        reading
        for reading in air_log.between(milliseconds(now - LOOK_BACK), until, followed)
        if reading.reason != FUTURE  # stamped by a clock that was wrong
    ]
    readings += [replace(each, level=BAD, reason=FUTURE) for each in ahead if each.at <= until + _AHEAD]
    readings.sort(key=lambda reading: reading.at)
    clock_set = int(kept_value(air_log.connection, CLOCK_SET) or 0)
    conditions = conditions_as_of(readings, now, place, shop, clock_set=clock_set)
    if len(later) > len(ahead):
        # the log knows a later moment than this clock: it was set back, and ages mean nothing
        return replace(conditions, doubt="clock-set")
    return conditions


def place_to_spray(shop: Shop, series: list[Series]) -> str:
    """Whose readings decide: the shop's choice, else booth, shop, or the first indoor place that was read."""
    if shop.spray_place is not None:
        return shop.spray_place
    indoors = [one.place for one in series if shop.places.get(one.place) != "outdoors" and one.place != "outdoors"]
    return next((usual for usual in ("booth", "shop") if usual in indoors), indoors[0] if indoors else "shop")
