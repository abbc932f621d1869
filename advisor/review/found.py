"""One exposure as it was found: a number, its window, and how much of that was read."""

from dataclasses import dataclass

from advisor.advice.trace import Window


@dataclass(frozen=True)
class Exposure:
    """A number in `unit` [SI], None where there is none; uncertainty: standard, of its logarithm where as_logarithm.

    window: None for what is no stretch of time, such as a film's thickness; covered: the share of it that was read;
    gaps: what was not. reason: why it does not tell, or not surely; empty where it does. limit: where the exposure
    brings its own. figures: further numbers that explain it [SI].
    """

    name: str
    measured: float | None
    unit: str
    uncertainty: float = 0.0
    as_logarithm: bool = False
    window: Window | None = None
    covered: float | None = None
    gaps: tuple[Window, ...] = ()
    reason: str = ""
    limit: float | None = None
    figures: tuple[tuple[str, float], ...] = ()

    def figure(self, name: str) -> float | None:
        """One of the explaining numbers, or None."""
        return dict(self.figures).get(name)
