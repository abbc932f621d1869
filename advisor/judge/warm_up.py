"""How long a cold piece takes to be fit in the present air: over the dew point first, then as warm as the coating asks.

Boards free-standing, both faces in the air; stacked ones take `piece.STACKED` times as long.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import isfinite

from advisor.catalog.coatings import Coating
from advisor.catalog.materials import find_substrate
from advisor.judge.conditions import MEASURED, Conditions, air_at_work, surface_of_piece
from advisor.judge.finding import Finding, Level, Side
from advisor.physics.air import moist_air
from advisor.physics.room.piece import PIECE_RANGE, STACKED, THICKNESS_RANGE, Piece, warm_up_time
from advisor.shop.shop import Shop

OVER_DEW, DEW_MARGIN, AT_LOW, LOW = "warm_up_over_dew", "warm_up_dew_margin", "warm_up_at_low", "warm_up_low"
_RULES = ("surface", "piece_temperature")


@dataclass(frozen=True)
class WarmUp:
    """Seconds free-standing; None: the present air never brings the piece there. 0: it is there.

    over_dew: until it is `margin` [K] over the dew point; at_low: until it is at `low` [°C], the coating's own lower
    limit.
    """

    over_dew: float | None
    margin: float
    at_low: float | None
    low: float

    @property
    def stacked(self) -> tuple[float | None, float | None]:
        """Both for boards on each other without sticks."""
        over, at = (None if each is None else STACKED * each for each in (self.over_dew, self.at_low))
        return over, at


def warm_up(
    conditions: Conditions, coating: Coating, shop: Shop, margin: float, substrate: str = "wood"
) -> WarmUp | None:
    """For a measured piece; None where it or the air is not known, or lies where no piece is.

    margin [K] over the dew point; substrate: an id of the substrate table.
    """
    known_air, piece = air_at_work(conditions, shop), surface_of_piece(conditions, shop)
    if piece is None or piece.basis != MEASURED or known_air is None:
        return None
    air, dew = known_air[0], float(moist_air.dew_point(*known_air))
    low, slab = coating.air_temperature.go_low.value, find_substrate(substrate)
    known = (air, piece.value, dew + margin, low)
    if not all(PIECE_RANGE[0] <= each <= PIECE_RANGE[1] for each in known):
        return None
    thickness = min(max(slab.thickness, THICKNESS_RANGE[0]), THICKNESS_RANGE[1])
    board = Piece(thickness, slab.density, slab.heat_capacity, piece.value)
    over, at = (
        0.0 if piece.value >= target else float(warm_up_time(board, air, target)) for target in (dew + margin, low)
    )
    return WarmUp(over if isfinite(over) else None, margin, at if isfinite(at) else None, low)


def warm_up_of(
    findings: Sequence[Finding], conditions: Conditions, coating: Coating, shop: Shop, substrate: str
) -> WarmUp | None:
    """For a piece that a rule found too cold; None where none did."""
    if not any(_too_cold(finding) for finding in findings):
        return None
    needed = (finding.go_limit for finding in findings if finding.rule == "surface" and finding.unit == "K")
    margin = next((limit for limit in needed if limit is not None), shop.limit("surface_margin").value)
    return warm_up(conditions, coating, shop, margin, substrate)


def with_warm_up(findings: Sequence[Finding], warm: WarmUp | None) -> tuple[Finding, ...]:
    """The findings, those of a cold piece with its times beside their numbers."""
    if warm is None:
        return tuple(findings)
    times = ((OVER_DEW, warm.over_dew), (DEW_MARGIN, warm.margin), (AT_LOW, warm.at_low), (LOW, warm.low))
    figures = tuple((name, value) for name, value in times if value is not None)
    return tuple(
        replace(finding, figures=(*finding.figures, *figures)) if _too_cold(finding) else finding
        for finding in findings
    )


def _too_cold(finding: Finding) -> bool:
    """Whether a measured piece is what a finding is about, and too cold."""
    return (
        finding.rule in _RULES
        and finding.level in (Level.CHANGE, Level.STOP)
        and finding.side is Side.LOW
        and not finding.reason
    )
