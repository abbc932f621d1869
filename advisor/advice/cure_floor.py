"""The floors of cure: how warm a coat must be kept until it is through, in the night and while the fan still runs."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from advisor.advice.finding import Finding, Level, Remedy, Side
from advisor.catalog.coatings import Coating
from advisor.physics.moist_air import Values

_THROUGH_BY = {"acid": "never_fully_hard_hours", "coalescence": "handle_high"}
_LATER = "sand_high"
_STALLS = "oxidation"  # it goes on when it is warm again; the others do not catch up


@dataclass(frozen=True)
class Floors:
    """A coating's floors [°C]: under `go` it may stay soft or stall, under `lost` it does not catch up (-inf: it does).

    keep: what the room is kept at or over. through [s]: a coat of that age is lost no more; safe_when_through: nor does
    it ask for heat any longer.
    """

    go: float
    lost: float
    keep: float
    through: float
    safe_when_through: bool
    source: str


def floors_of(coating: Coating) -> Floors | None:
    """The floors; None for a coating that only gives its solvent off."""
    hard, cure, hours = (
        coating.numbers.get(key) for key in ("never_fully_hard_below", "no_cure_below", "never_fully_hard_hours")
    )
    known = [number for number in (hard, cure) if number is not None]
    if not known:
        return None
    go, least = max(number.value for number in known), coating.air_temperature.wait_below
    lost = go if hours is not None else -np.inf
    if hours is None and cure is not None and coating.hardens_by != _STALLS:
        lost = cure.value
    return Floors(
        go, lost, go if least is None else max(go, least.value),
        coating.numbers[_THROUGH_BY.get(coating.hardens_by, _LATER)].value, hours is not None, known[0].source,
    )  # fmt: skip


def against_floors(rule: str, celsius: float, after: float | None, held: bool, coating: Coating) -> Finding:
    """What a temperature [°C] does to a coat of such an age [s]; after None: at once, as far as anybody knows.

    A stop where it would not catch up: an acid-cured coat under its floor, any but an oil under the floor of all cure,
    before it is through. A change where the room is kept heated (held), where it only stalls, or may stay soft.
    """
    floors = floors_of(coating)
    if floors is None:
        return Finding(rule, Level.OK, unit="°C", deciding=False)
    hours = coating.numbers.get("never_fully_hard_hours")
    under, lost = under_floors(celsius, -np.inf if after is None else after, floors)
    finding = Finding(
        rule, Level.OK, measured=celsius, limit=floors.go, go_limit=floors.go, unit="°C", margin=celsius - floors.go,
        deciding=False, source=floors.source,
    )  # fmt: skip
    if not under:
        return finding
    stop = bool(lost) and not held
    return replace(
        finding, level=Level.STOP if stop else Level.CHANGE, limit=floors.lost if stop else floors.go, side=Side.LOW,
        figures=() if hours is None else (("hours", hours.value),), remedies=(Remedy("hold_room", floors.keep),),
        reason="stalls" if coating.hardens_by == _STALLS else "",
    )  # fmt: skip


def under_floors(celsius: Values, after: Values, floors: Floors) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """Whether a coat of such an age [s] is under its floor in so much warmth [°C], and whether it is lost for it."""
    through = np.asarray(after) >= floors.through
    warmth = np.asarray(celsius)
    under = ~(warmth >= floors.go) & ~(through & floors.safe_when_through)
    return under, under & ~(warmth >= floors.lost) & ~through
