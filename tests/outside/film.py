"""The film equations against handbooks, a textbook, reference libraries and a stiff solver."""

from collections.abc import Iterator

import numpy as np

from tests.outside.row import Row
from tests.physics.film import film_reference
from tests.physics.film.film_reference import Comparison


def rows() -> Iterator[Row]:
    """Every check of the film."""
    wet = film_reference.water_wet_bulbs()
    worst = max(wet, key=lambda each: abs(each.error))
    yield Row(
        f"wet bulb of a deep film of water, {len(wet)} states of 5-35 °C, 20-90 %", worst.source, "within 0.5 K",
        f"worst at {worst.quantity.split(', ')[1]}: {worst.computed:.2f} against {worst.published:.2f} °C",
        f"{worst.error:+.2f} K",
    )  # fmt: skip
    yield _row(film_reference.toluene_textbook(), 1)
    for each in film_reference.dry_air_wet_bulbs():
        yield _row(each, 1)
    rates = film_reference.evaporation_rates()
    for each in rates:
        yield Row(
            each.quantity,
            each.source,
            f"{each.low:g} to {each.high:g}",
            f"{each.computed:.3g}",
            f"{each.ratio:.2f} times",
        )
    yield _rates(rates)


def _row(each: Comparison, digits: int) -> Row:
    return Row(
        each.quantity, each.source, f"{each.published:.{digits}f} {each.unit}",
        f"{each.computed:.{digits}f} {each.unit}",
        f"{each.error:+.{digits}f} K",
    )  # fmt: skip


def _rates(rates: list[Comparison]) -> Row:
    published, computed = ([getattr(each, name) for each in rates] for name in ("published", "computed"))
    ranks = [np.argsort(np.argsort(values)) for values in (published, computed)]
    correlation = float(np.corrcoef(*ranks)[0, 1])
    off = [max(each.ratio, 1 / each.ratio) for each in rates]
    return Row(
        f"evaporation rates of {len(rates)} solvents together", "as above", "rank 0.95, 2 times, median 30 %",
        f"rank correlation {correlation:.3f}, at most {max(off):.2f} times, median {np.median(off) - 1:.0%}", "",
    )  # fmt: skip
