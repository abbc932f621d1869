"""What a rule found, and the one place where a value is held against limits. Numbers only; words.py speaks."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from enum import StrEnum
from math import inf

import numpy as np
from numpy.typing import NDArray

from advisor.physics.moist_air import Values

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
