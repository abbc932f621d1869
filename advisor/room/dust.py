"""Dust before the booth is opened: an index against the shop's own clean air. Advice only, it decides nothing.

Small counters see under 10 µm and nibs are over 20 to 30; overspray and mist count as dust. So the shop's own clean
count is the measure, and readings during spraying tell nothing.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt

import numpy as np

from advisor.catalog.quantities import PARTICLES, size_of
from advisor.physics.basics import Array
from advisor.physics.room.clean_down import CleanDown, clean_at, fit_clean_down
from advisor.physics.room.particles import count_at, dust_index
from advisor.shop.shop import Shop

CLEANEST = 0.1  # share of the readings that are the shop's clean ones
_LARGE = 5e-6  # [m], the size that floor and ceiling are told for
_FEWEST = 30  # readings before there is a clean level to speak of
_NEWEST = 5  # readings whose middle is "now"
_LOOKED_BACK = 3600.0  # [s] for the fall
_SURE = 1.0 / 3.0  # of the wait: beyond, the moment is not known


def clean_dust(levels: Sequence[float] | Array, kind: str, limit: float, shop: Shop) -> float | None:
    """The clean level that dust is held against, in SI; None before there are enough readings.

    The shop's own, but none so high that what is over the ceiling were within the limit [ratio]: a shop that is dusty
    all day has no clean level. kind: `particles_5um`, `pm10`.
    """
    if len(levels) < _FEWEST:
        return None
    return min(float(np.quantile(levels, CLEANEST)), dust_limit("ceiling", kind, shop) / limit)


def counting_uncertainty(count: float, kind: str, shop: Shop) -> float:
    """Relative standard uncertainty of a count [1/m3] by the few particles that were counted (Poisson); 0 of a mass."""
    counted = count * shop.limit("dust_counted_in").value * _NEWEST
    return 1.0 / sqrt(max(counted, 1.0)) if kind.startswith(PARTICLES) else 0.0


def dust_limit(end: str, kind: str, shop: Shop) -> float:
    """Floor or ceiling in SI, told for counts of 5 µm and over and for PM10, as another size of either has it.

    Under the floor no dust is spoken of: a clean shop's counts double by a footstep.
    """
    if kind.startswith(PARTICLES):
        return count_at(shop.limit(f"dust_{end}").value, _LARGE, size_of(kind))
    return shop.limit(f"dust_mass_{end}").value


@dataclass(frozen=True)
class DustView:
    """Counts now and when clean [1/m3], their ratio, and when the fall comes down to the limit [s from now].

    limit: the index up to which the shop counts as clean. clean_in: 0 where it is clean now; None where the counts do
    not fall, or not surely.
    """

    count: float
    clean: float
    index: float
    limit: float
    clean_in: float | None

    @property
    def dusty(self) -> bool:
        """Whether it is worth waiting."""
        return self.clean_in != 0.0


def dust_view(
    seconds: Sequence[float] | Array, counts: Sequence[float] | Array, kind: str, now: float, strict: bool, shop: Shop
) -> DustView | None:
    """The dust from a log of one counter, times rising; None for too short a log or a stale one.

    kind: what it counts, `particles_5um`.

    strict: a matt finish cannot be rubbed out, and black shows everything.
    """
    times, levels = np.asarray(seconds, dtype=np.float64), np.asarray(counts, dtype=np.float64)
    known = np.isfinite(levels) & (levels >= 0.0) & (times <= now)
    times, levels = times[known], levels[known]
    limit = shop.limit("dust_index_strict" if strict else "dust_index").value
    clean = clean_dust(levels, kind, limit, shop)
    if not clean or not now - times[-1] <= shop.limit("fresh_for").value:
        return None
    count = float(np.median(levels[-_NEWEST:]))
    index = dust_index(count, clean)
    if index * (1.0 - counting_uncertainty(count, kind, shop)) <= limit:
        return DustView(count, clean, index, limit, 0.0)
    recent = times >= max(
        now - _LOOKED_BACK, times[int(np.argmax(np.where(times >= now - _LOOKED_BACK, levels, -1.0)))]
    )
    return DustView(count, clean, index, limit, _down_in(times[recent], levels[recent], clean, limit, now))


def _down_in(times: Array, levels: Array, clean: float, limit: float, now: float) -> float | None:
    fit = fit_clean_down(times, levels, clean)
    if not isinstance(fit, CleanDown):
        return None
    at = clean_at(fit, limit * clean)
    if at is None or not at.uncertainty <= max(60.0, _SURE * (at.value - times[0])):
        return None
    return max(0.0, at.value - now)
