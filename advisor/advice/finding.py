"""What one rule found: numbers only; the sentences are made in words.py."""

from dataclasses import dataclass
from enum import StrEnum


class Level(StrEnum):
    """How a rule judges. Unknown is never ok."""

    OK = "ok"
    CHANGE = "change"
    STOP = "stop"
    UNKNOWN = "unknown"


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
