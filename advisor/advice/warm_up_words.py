"""How long a cold piece takes, as a sentence."""

from math import ceil

from advisor.advice.finding import Finding
from advisor.advice.measures import difference, span, temperature
from advisor.advice.warm_up import AT_LOW, DEW_MARGIN, LOW, OVER_DEW
from advisor.physics.piece import STACKED
from advisor.shop.shop import Shop

THEN_DRY = "Then see that it is dry."


def warm_up_words(finding: Finding, shop: Shop) -> str:
    """`Free-standing it is over the dew point's 3.3 °C in about 12 min, at 18 °C in 30 min (stacked: 2 h). ...`

    Empty where no such time is known: then only the temperature to reach is said.
    """
    over, margin, at, low = (finding.figure(name) for name in (OVER_DEW, DEW_MARGIN, AT_LOW, LOW))
    if over is None or margin is None or low is None:
        return ""
    warm = temperature(low, shop.units)
    if over == 0.0:
        return "" if at is None else f"Free-standing it is at {warm} in about {_time(at)} ({_stacked(at)})."
    said = f"Free-standing it is over the dew point's {difference(margin, shop.units)} in about {_time(over)}"
    if at is not None and at > over:
        said += f", at {warm} in {_time(at)}"
    return f"{said} ({_stacked(max(over, at or 0.0))}). {THEN_DRY}"


def _stacked(seconds: float) -> str:
    return f"stacked: {_time(STACKED * seconds)}"


def _time(seconds: float) -> str:
    """Rounded up: a minute to the quarter hour, five after it."""
    step = 60.0 if seconds <= 900.0 else 300.0
    return span(max(step, ceil(seconds / step - 1e-9) * step))
