"""Particle counts of a place out of marked readings: of one counter, the largest size it tells."""

from collections.abc import Iterable

from advisor.catalog.quantities import PARTICLES, size_of
from advisor.readings.reading import GOOD, Reading, Series


def counts_at(readings: Iterable[Reading], place: str) -> tuple[list[float], list[float], str]:
    """Times [s since 1970] and counts [1/m3] of the counter that said most, in the order of their time, and what of."""
    by_series: dict[Series, list[tuple[float, float]]] = {}
    for reading in readings:
        series = reading.series
        here = series.place == place and series.quantity.startswith(PARTICLES)
        if here and reading.level == GOOD and reading.value is not None:
            by_series.setdefault(series, []).append((reading.at / 1000.0, reading.value))
    if not by_series:
        return [], [], ""
    largest = max(by_series, key=lambda series: (len(by_series[series]) > 1, size_of(series.quantity), series.sensor))
    words = sorted(by_series[largest])
    return [at for at, _ in words], [count for _, count in words], largest.quantity
