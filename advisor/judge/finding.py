"""What a rule found, and the one place where a value is held against limits. Numbers only; words.py speaks.

The floors of cure: how warm a coat must be kept until it is through, in the night and while the fan still runs.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from enum import StrEnum
from math import inf

import numpy as np
from numpy.typing import NDArray

from advisor.catalog.coatings import Coating
from advisor.physics.air.moist_air import Values

OK, CHANGE, STOP = 0, 1, 2  # levels in arrays: the worse, the higher
Levels = NDArray[np.int8]


class Level(StrEnum):
    """How a rule judges. Unknown is never ok."""

    OK = "ok"
    CHANGE = "change"
    STOP = "stop"
    UNKNOWN = "unknown"


LEVELS = (Level.OK, Level.CHANGE, Level.STOP)  # by their numbers in arrays


class Side(StrEnum):
    """On which side of a band a value lies."""

    WITHIN = "within"
    LOW = "low"
    HIGH = "high"


@dataclass(frozen=True)
class Remedy:
    """A way to a GO: what to do, the value to reach [SI], and the humidity [fraction] the air would have then.

    Of a number that was proved: state, the verdict that it comes to; measure: it holds for a piece measured then;
    together: only with the other remedies so marked.
    """

    kind: str
    target: float | None = None
    relative_humidity: float | None = None
    state: str = ""
    measure: bool = False
    together: bool = False


@dataclass(frozen=True)
class Finding:
    """A rule's result in SI.

    measured, limit, go_limit, uncertainty in `unit`; limit is the one that was crossed (or the nearest one), go_limit
    where it would be ok; margin is how far inside the GO range (negative: outside). reason says why the rule cannot
    tell, or what kind of fault it is. deciding: an unknown here makes the verdict a WAIT. figures: the two or three
    further numbers [SI] that explain it, by name.
    """

    rule: str
    level: Level
    measured: float | None = None
    limit: float | None = None
    go_limit: float | None = None
    unit: str = ""
    margin: float | None = None
    uncertainty: float | None = None
    side: Side = Side.WITHIN
    quantity: str = ""
    reason: str = ""
    deciding: bool = True
    remedies: tuple[Remedy, ...] = ()
    source: str = ""
    figures: tuple[tuple[str, float], ...] = ()

    def figure(self, name: str) -> float | None:
        """One of the explaining numbers, or None."""
        return dict(self.figures).get(name)


@dataclass(frozen=True, eq=False)
class Limits:
    """Three steps, floats or arrays: GO within low..high, a change outside, a stop outside below..above.

    below, above: None where that side alone is never a stop; a stop lies outside the band as well.
    """

    low: Values = -inf
    high: Values = inf
    below: Values | None = None
    above: Values | None = None

    def levels(self, values: Values, spare: float = 0.0, past: float = 0.0) -> Levels:
        """OK, CHANGE or STOP of each value; what is no number is not within.

        spare: by how much a value must be outside the band before it counts; past: outside its limit, for a stop.
        """
        within = (self.low - spare <= np.asarray(values)) & (values <= self.high + spare)
        levels = np.where(within, OK, CHANGE)
        if self.below is not None:
            levels = np.where(values >= np.minimum(self.below, self.low) - past, levels, STOP)
        if self.above is not None:
            levels = np.where(values <= np.maximum(self.above, self.high) + past, levels, STOP)
        return levels.astype(np.int8)

    def held_against(self, finding: Finding, value: float) -> Finding:
        """The finding with one value held against these limits, which are floats then."""
        low, high = float(self.low), float(self.high)
        level = LEVELS[int(self.levels(value))]
        cold = not value > high if level is not Level.OK else value - low < high - value
        side = Side.WITHIN if level is Level.OK else Side.LOW if cold else Side.HIGH
        crossed, go_limit = (self.below, low) if cold else (self.above, high)
        return replace(
            finding, level=level, measured=value, side=side, go_limit=go_limit,
            limit=float(crossed) if level is Level.STOP and crossed is not None else go_limit,
            margin=min(value - low, high - value),
        )  # fmt: skip


def worst_of(findings: Iterable[Finding]) -> Level:
    """The worst level that counts: a stop, then an unknown that decides, then a change."""
    levels = {each.level for each in findings if each.deciding or each.level is not Level.UNKNOWN}
    return next((level for level in (Level.STOP, Level.UNKNOWN, Level.CHANGE) if level in levels), Level.OK)


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
