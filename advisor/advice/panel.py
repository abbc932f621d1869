"""Test panels of the day: what was sprayed to see how it comes out, in which air, and how it did come out."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from advisor.shop.shop import Shop
from advisor.times import local_day

_ROUNDING = 1e-9  # the tenths of a reading are not exact in binary


@dataclass(frozen=True)
class Panel:
    """A test panel that was looked at. at: when it was sprayed [UTC].

    defect: the id of what was wrong, empty where nobody said. air_temperature [°C], relative_humidity [fraction]: of
    the air it was sprayed in, None where that was not logged. thinner, retarder [fraction]: None where nobody said.
    """

    coating: str
    at: datetime
    good: bool
    air_temperature: float | None
    relative_humidity: float | None
    defect: str = ""
    thinner: str | None = None
    retarder: float | None = None


def panels_of_the_day(
    panels: Sequence[Panel], coating: str, thinner: str | None, retarder: float | None, now: datetime, zone: str | None
) -> tuple[Panel, ...]:
    """The panels of a coating sprayed today by the shop's own day, of another mix than is named now left out."""
    today = local_day(now, zone)
    return tuple(
        panel
        for panel in panels
        if panel.coating == coating
        and panel.at <= now
        and local_day(panel.at, zone) == today
        and _may_be(panel.thinner, thinner)
        and _may_be(panel.retarder, retarder)
    )


def panel_that_counts(
    panels: Sequence[Panel], air_temperature: float, relative_humidity: float, shop: Shop
) -> Panel | None:
    """The newest panel that says something of this air [°C, fraction]; None where none does.

    A panel counts in air as near to its own as the limits say. In which air a bad one was sprayed need not be known:
    it counts all day, and a good one then does not count at all.
    """
    counting = [panel for panel in panels if _is_near(panel, air_temperature, relative_humidity, shop)]
    return max(counting, key=lambda panel: panel.at, default=None)


def _is_near(panel: Panel, air_temperature: float, relative_humidity: float, shop: Shop) -> bool:
    if panel.air_temperature is None or panel.relative_humidity is None:
        return not panel.good
    warmer, damper = air_temperature - panel.air_temperature, relative_humidity - panel.relative_humidity
    return (
        abs(warmer) <= shop.limit("panel_air_temperature").value + _ROUNDING
        and abs(damper) <= shop.limit("panel_relative_humidity").value + _ROUNDING
    )


def _may_be(of_panel: str | float | None, named: str | float | None) -> bool:
    """Whether both can be the same mix: nobody said, or both say the same."""
    return of_panel is None or named is None or of_panel == named
