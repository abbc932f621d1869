"""One check against the outside."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Row:
    """A quantity, where its published value comes from, that value, ours, and how far apart they are, as shown."""

    quantity: str
    source: str
    published: str
    computed: str
    error: str


def signed(value: float, digits: int) -> str:
    """A difference with its sign; what rounds to nothing has none, so that no machine's last bit shows."""
    text = f"{value:+.{digits}f}"
    return text if float(text) else f"{0.0:.{digits}f}"


def against(quantity: str, source: str, published: float, computed: float, unit: str, digits: int = 2) -> Row:
    """A row of two numbers and their difference."""
    gap = computed - published
    return Row(
        quantity,
        source,
        f"{published:.{digits}f} {unit}",
        f"{computed:.{digits}f} {unit}",
        f"{signed(gap, digits)} {unit}",
    )


def relative(quantity: str, source: str, published: float, computed: float, unit: str, digits: int = 3) -> Row:
    """A row of two numbers and their ratio's distance from 1."""
    return Row(
        quantity, source, f"{published:.{digits}g} {unit}".strip(), f"{computed:.{digits}g} {unit}".strip(),
        f"{signed((computed / published - 1) * 100, 1)} %",
    )  # fmt: skip


def within(quantity: str, source: str, low: float, high: float, computed: float, unit: str, digits: int = 2) -> Row:
    """A row of a published range and our number."""
    gap = min(computed - low, 0.0) + max(computed - high, 0.0)
    return Row(
        quantity, source, f"{low:.{digits}f} to {high:.{digits}f} {unit}".strip(),
        f"{computed:.{digits}f} {unit}".strip(), "inside" if gap == 0.0 else f"{signed(gap, digits)} {unit}".strip(),
    )  # fmt: skip
