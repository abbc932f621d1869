"""What a test panel of the day does to a verdict: a good one outranks the film model, a bad one is a WAIT.

It outranks no reading, no surface, no night, and no WAIT of an air band: those were not on trial.
"""

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime

from advisor.advice.conditions import Conditions, air_at_work
from advisor.advice.film_view import UNKNOWN_POT, Pot
from advisor.advice.finding import Finding, Level, Remedy
from advisor.advice.panel import Panel, panel_that_counts, panels_of_the_day
from advisor.catalog.coatings import Coating
from advisor.shop.shop import Shop

PANEL = "panel"  # the name of its finding, and the reason of what it has settled
_OF_THE_MODEL = ("blush", "film_forming", "closing")
_ASKING = ("panel_first", "slower_thinner_or_retarder")  # remedies that end in a test panel


def with_panels_of_the_day(
    conditions: Conditions, coating: Coating, shop: Shop, now: datetime, pot: Pot = UNKNOWN_POT
) -> Conditions:
    """The conditions with the panels alone that say something of this coating, pot and day."""
    if not conditions.panels:
        return conditions
    retarder = None if pot == UNKNOWN_POT else pot.retarder
    kept = panels_of_the_day(conditions.panels, coating.id, pot.thinner, retarder, now, shop.zone)
    return replace(conditions, panels=kept)


def settled_by_panel(finding: Finding, conditions: Conditions, shop: Shop) -> Finding:
    """A finding of the film model, or one that asks for a panel first, as a good panel in such air leaves it: ok."""
    if not conditions.panels or finding.level not in (Level.CHANGE, Level.STOP):
        return finding
    asks = finding.level is Level.CHANGE and any(remedy.kind in _ASKING for remedy in finding.remedies)
    if finding.rule not in _OF_THE_MODEL and not (finding.rule == "relative_humidity" and asks):
        return finding
    panel = _counting_here(conditions, shop)
    if panel is None or not panel.good:
        return finding
    return replace(finding, level=Level.OK, remedies=(), reason=PANEL)


def panel_findings(conditions: Conditions, shop: Shop, along: Sequence[tuple[float, float]] = ()) -> list[Finding]:
    """What the panels say of the air as it is, and of the air along a session [°C, fraction]; empty where nothing.

    A bad panel in any of these airs is a stop.
    """
    if not conditions.panels:
        return []
    found = [_counting_here(conditions, shop), *(panel_that_counts(conditions.panels, *air, shop) for air in along)]
    counting = [panel for panel in found if panel is not None]
    if not counting:
        return []
    panel = min(counting, key=lambda each: (each.good, -each.at.timestamp()))
    finding = Finding(
        PANEL, Level.OK, source=shop.limit("panel_relative_humidity").source,
        figures=_figures(panel),
    )  # fmt: skip
    if panel.good:
        return [finding]
    return [replace(finding, level=Level.STOP, reason=panel.defect, remedies=(Remedy("another_panel"),))]


def _figures(panel: Panel) -> tuple[tuple[str, float], ...]:
    air = (("air_temperature", panel.air_temperature), ("relative_humidity", panel.relative_humidity))
    known = tuple((name, value) for name, value in air if value is not None)
    return (("sprayed_at", panel.at.timestamp()), *known)


def _counting_here(conditions: Conditions, shop: Shop) -> Panel | None:
    """The panel that counts in the air as it is; None where that is not known."""
    air = air_at_work(conditions, shop)
    return None if air is None else panel_that_counts(conditions.panels, *air, shop)
