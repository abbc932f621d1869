"""The test panels of a day, how they came out, and the air they were sprayed in."""

from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta

from advisor.advice.conditions import Conditions, Panel, air_at_work
from advisor.logbook.job_log import JobLog
from advisor.sources.log_air import LogAir
from advisor.times import local_day

_LONGEST_DAY = timedelta(hours=25)


@dataclass
class Panels:
    """Reads panels beside the air; the air of a panel is looked up once."""

    air: LogAir
    _airs: dict[tuple[int, datetime, str], tuple[float, float]] = field(default_factory=dict)  # [°C, fraction]

    def of_the_day(self, now: datetime, place: str) -> tuple[Panel, ...]:
        """The panels sprayed today, by the shop's own day, that were looked at by `now`; what was seen last counts.

        place: where a panel was sprayed of which that was not said.
        """
        found, zone = {}, self.air.shop.zone
        for coat, seen in JobLog(self.air.air_log.connection).panels_seen(now - _LONGEST_DAY, now):
            if local_day(coat.started_at, zone) == local_day(now, zone):
                warm, damp = self._air(coat.id, coat.started_at, coat.place or place)
                found[coat.id] = Panel(
                    coat.coating, coat.started_at, seen.good, warm, damp, seen.defect or "", coat.thinner, coat.retarder
                )
        return tuple(found.values())

    def _air(self, coat: int, at: datetime, place: str) -> tuple[float, float] | tuple[None, None]:
        key = (coat, at, place)
        known = self._airs.get(key) or air_at_work(self.air.conditions(at, place, past=True), self.air.shop)
        if known is None:
            return None, None
        self._airs[key] = known
        return known


def present(air: LogAir, now: datetime, place: str, doubt: str | None) -> Conditions:
    """The present as the daemon judges it, with the panels of the day; doubt: the daemon's, which counts here too.

    Two words on one air must not contradict each other.
    """
    conditions = air.conditions(now, place)
    return replace(conditions, panels=Panels(air).of_the_day(now, place), doubt=doubt or conditions.doubt)
