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


def against(quantity: str, source: str, published: float, computed: float, unit: str, digits: int = 2) -> Row:
    """A row of two numbers and their difference."""
    gap = computed - published
    return Row(
        quantity, source, f"{published:.{digits}f} {unit}", f"{computed:.{digits}f} {unit}", f"{gap:+.{digits}f} {unit}"
    )


def relative(quantity: str, source: str, published: float, computed: float, unit: str, digits: int = 3) -> Row:
    """A row of two numbers and their ratio's distance from 1."""
    return Row(
        quantity, source, f"{published:.{digits}g} {unit}".strip(), f"{computed:.{digits}g} {unit}".strip(),
        f"{(computed / published - 1) * 100:+.1f} %",
    )  # fmt: skip


def within(quantity: str, source: str, low: float, high: float, computed: float, unit: str, digits: int = 2) -> Row:
    """A row of a published range and our number."""
    gap = min(computed - low, 0.0) + max(computed - high, 0.0)
    return Row(
        quantity, source, f"{low:.{digits}f} to {high:.{digits}f} {unit}".strip(),
        f"{computed:.{digits}f} {unit}".strip(), "inside" if gap == 0.0 else f"{gap:+.{digits}f} {unit}".strip(),
    )  # fmt: skip
