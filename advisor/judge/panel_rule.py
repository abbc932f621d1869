"""What a test panel of the day does to a verdict: a good one outranks the film model, a bad one is a WAIT.

It outranks no reading, no surface, no night, and no WAIT of an air band: those were not on trial.
"""

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime

import numpy as np
from numpy.typing import NDArray

from advisor.catalog.coatings import Coating
from advisor.judge.conditions import Conditions, Panel, air_at_work, humidity_capped
from advisor.judge.film_rules import UNKNOWN_POT, Pot
from advisor.judge.finding import CHANGE, Finding, Level, Remedy, Side
from advisor.judge.rules import band_limits, technique
from advisor.physics.basics import Array
from advisor.shop.shop import Shop
from advisor.times import local_day

PANEL = "panel"  # the name of its finding, and the reason of what it has settled
_OF_THE_MODEL = ("blush", "film_forming", "closing")
_ASKING = ("panel_first", "slower_thinner_or_retarder")  # remedies that end in a test panel
_ROUNDING = 1e-9  # the tenths of a reading are not exact in binary


def with_panels_of_the_day(
    conditions: Conditions, coating: Coating, shop: Shop, now: datetime, pot: Pot = UNKNOWN_POT
) -> Conditions:
    """The conditions with the panels alone that say something of this coating, pot and day.

    Those sprayed today by the shop's own day; of another mix than is named now left out.
    """
    today, retarder = local_day(now, shop.zone), None if pot == UNKNOWN_POT else pot.retarder
    kept = tuple(
        panel
        for panel in conditions.panels
        if panel.coating == coating.id
        and panel.at <= now
        and local_day(panel.at, shop.zone) == today
        and _may_be(panel.thinner, pot.thinner)
        and _may_be(panel.retarder, retarder)
    )
    return replace(conditions, panels=kept) if conditions.panels else conditions


def panel_that_counts(
    panels: Sequence[Panel], air_temperature: float, relative_humidity: float, shop: Shop
) -> Panel | None:
    """The newest panel that says something of this air [°C, fraction]; None where none does.

    A panel counts in air as near to its own as the limits say. In which air a bad one was sprayed need not be known:
    it counts all day, and a good one then does not count at all.
    """
    counting = [panel for panel in panels if _is_near(panel, air_temperature, relative_humidity, shop)]
    return max(counting, key=lambda panel: panel.at, default=None)


def settled_by_panel(finding: Finding, conditions: Conditions, shop: Shop) -> Finding:
    """A finding of the film model, or one that asks for a panel first, as a good panel in such air leaves it: ok."""
    asks = finding.level is Level.CHANGE and any(remedy.kind in _ASKING for remedy in finding.remedies)
    of_the_model = finding.level in (Level.CHANGE, Level.STOP) and finding.rule in _OF_THE_MODEL
    on_trial = of_the_model or (asks and finding.rule == "relative_humidity")
    panel = _counting_here(conditions, shop) if on_trial else None
    if panel is None or not panel.good:
        return finding
    return replace(finding, level=Level.OK, remedies=(), reason=PANEL)


def settled_minutes(
    air: Array, humidity: Array, conditions: Conditions, coating: Coating, shop: Shop
) -> NDArray[np.bool_]:
    """Where `relative_humidity` asks for a panel first, and one was good in such air [°C, fraction]."""
    asks = np.zeros(air.shape, dtype=bool)
    if technique("relative_humidity", Side.HIGH, coating) in _ASKING:
        damp = band_limits(coating.relative_humidity)
        asks = (damp.levels(humidity) == CHANGE) & (humidity > damp.high)
    for place in np.argwhere(asks):
        at = tuple(place)
        panel = panel_that_counts(conditions.panels, float(air[at]), humidity_capped(float(humidity[at])), shop)
        asks[at] = panel is not None and panel.good
    return asks


def panel_findings(conditions: Conditions, shop: Shop, along: Sequence[tuple[float, float]] = ()) -> list[Finding]:
    """What the panels say of the air as it is, and of the air along a session [°C, fraction]; empty where nothing.

    A bad panel in any of these airs is a stop.
    """
    found = [_counting_here(conditions, shop), *(panel_that_counts(conditions.panels, *air, shop) for air in along)]
    counting = [panel for panel in found if panel is not None]
    if not counting:
        return []
    panel = min(counting, key=lambda each: (each.good, -each.at.timestamp()))
    figures = (
        ("sprayed_at", panel.at.timestamp()), ("air_temperature", panel.air_temperature),
        ("relative_humidity", panel.relative_humidity),
    )  # fmt: skip
    finding = Finding(
        PANEL, Level.OK, source=shop.limit("panel_relative_humidity").source,
        figures=tuple((name, value) for name, value in figures if value is not None),
    )  # fmt: skip
    if panel.good:
        return [finding]
    return [replace(finding, level=Level.STOP, reason=panel.defect, remedies=(Remedy("another_panel"),))]


def _counting_here(conditions: Conditions, shop: Shop) -> Panel | None:
    """The panel that counts in the air as it is; None where that is not known."""
    air = air_at_work(conditions, shop)
    return None if air is None else panel_that_counts(conditions.panels, *air, shop)


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
