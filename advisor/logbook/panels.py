"""The test panels of a day, how they came out, and the air they were sprayed in."""

from dataclasses import dataclass, field
from datetime import datetime, timedelta

from advisor.advice.conditions import Panel, air_at_work
from advisor.advice.measures import local_day
from advisor.logbook.air_log import AirLog
from advisor.logbook.conditions import milliseconds, moment_of
from advisor.logbook.present import conditions_at
from advisor.shop.shop import Shop

_Air = tuple[float | None, float | None]  # [°C, fraction]
_LONGEST_DAY = timedelta(hours=25)
# good of one defect says nothing of the others: that is no good panel, nor a bad one
_LOOKED_AT = """
    SELECT coat.id, coat.coating, coat.started_at, coat.place, coat.thinner, coat.retarder, seen.good, seen.defect
    FROM coat JOIN job ON job.id = coat.job JOIN observation AS seen ON seen.coat = coat.id
    WHERE coat.started_at BETWEEN ? AND ? AND coat.panel = 1 AND coat.undone_at IS NULL AND job.undone_at IS NULL
        AND seen.undone_at IS NULL AND seen.at <= ? AND (seen.good = 0 OR seen.defect IS NULL)
    ORDER BY seen.at, seen.id
"""


@dataclass
class Panels:
    """Reads panels beside the air log, over its connection; the air of a panel is looked up once."""

    air_log: AirLog
    shop: Shop
    _airs: dict[tuple[int, int, str], _Air] = field(default_factory=dict)

    def of_the_day(self, now: datetime, place: str) -> tuple[Panel, ...]:
        """The panels sprayed today, by the shop's own day, that were looked at by `now`; what was seen last counts.

        place: where a panel was sprayed of which that was not said.
        """
        end = milliseconds(now)
        rows = self.air_log.connection.execute(_LOOKED_AT, (milliseconds(now - _LONGEST_DAY), end, end)).fetchall()
        found: dict[int, Panel] = {}
        for coat, coating, started_at, where, thinner, retarder, good, defect in rows:
            at = moment_of(started_at)
            if local_day(at, self.shop.zone) == local_day(now, self.shop.zone):
                air = self._air(coat, started_at, where or place)
                found[coat] = Panel(coating, at, bool(good), *air, defect or "", thinner, retarder)
        return tuple(found.values())

    def _air(self, coat: int, started_at: int, place: str) -> _Air:
        key = (coat, started_at, place)
        known = self._airs.get(key)
        if known is None:
            there = conditions_at(self.air_log, moment_of(started_at), place, self.shop, past=True)
            air = air_at_work(there, self.shop)
            if air is None:
                return None, None
            known = self._airs[key] = air
        return known
