"""Dust before the booth is opened: an index against the shop's own clean air. Advice only, it decides nothing.

Small counters see under 10 µm and nibs are over 20 to 30; overspray and mist count as dust. So the shop's own clean
count is the measure, and readings during spraying tell nothing.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from advisor.advice.measures import span, trimmed
from advisor.advice.record import number
from advisor.physics.clean_down import CleanDown, clean_at, fit_clean_down
from advisor.physics.particles import dust_index
from advisor.shop.shop import Shop

_CLEANEST = 0.1  # share of the readings that are the shop's clean ones
_FEWEST = 30  # readings before there is a clean level to speak of
_NEWEST = 5  # readings whose middle is "now"
_LOOKED_BACK = 3600.0  # [s] for the fall
_SURE = 1.0 / 3.0  # of the wait: beyond, the moment is not known


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
        return not self.index <= self.limit


def dust_view(
    seconds: Sequence[float], counts: Sequence[float], now: float, strict: bool, shop: Shop
) -> DustView | None:
    """The dust from a log of one counter, times rising; None for too short a log or a stale one.

    strict: a matt finish cannot be rubbed out, and black shows everything.
    """
    times, levels = np.asarray(seconds, dtype=np.float64), np.asarray(counts, dtype=np.float64)
    known = np.isfinite(levels) & (levels >= 0.0) & (times <= now)
    times, levels = times[known], levels[known]
    if len(times) < _FEWEST or not now - times[-1] <= shop.limit("fresh_for").value:
        return None
    clean = float(np.quantile(levels, _CLEANEST))
    limit = shop.limit("dust_index_strict" if strict else "dust_index").value
    if not clean > 0.0:
        return None
    count = float(np.median(levels[-_NEWEST:]))
    index = dust_index(count, clean)
    if index <= limit:
        return DustView(count, clean, index, limit, 0.0)
    recent = times >= max(
        now - _LOOKED_BACK, times[int(np.argmax(np.where(times >= now - _LOOKED_BACK, levels, -1.0)))]
    )
    return DustView(count, clean, index, limit, _down_in(times[recent], levels[recent], clean, limit, now))


def _down_in(
    times: np.ndarray[tuple[int], np.dtype[np.float64]],
    levels: np.ndarray[tuple[int], np.dtype[np.float64]],
    clean: float,
    limit: float,
    now: float,
) -> float | None:
    fit = fit_clean_down(times, levels, clean)
    if not isinstance(fit, CleanDown):
        return None
    at = clean_at(fit, limit * clean)
    if at is None or not at.uncertainty <= max(60.0, _SURE * (at.seconds - times[0])):
        return None
    return max(0.0, at.seconds - now)


def dust_words(view: DustView | None, since_sanding: float | None, strict: bool, shop: Shop) -> str:
    """One line before the booth is opened; empty where there is nothing to say."""
    rest = span(shop.limit("dust_settles").value)
    if view is not None:
        if not view.dusty:
            return ""
        often = f"Dust {trimmed(view.index, 1)} times your clean shop"
        if view.clean_in is None:
            return f"{often}, not falling: find where it comes from; cleaner on, then off and {rest} of rest."
        return f"{often}: cleaner {span(max(60.0, view.clean_in))} more, then off, {rest} of rest."
    if since_sanding is None:
        return ""
    needed = shop.limit("strict_after_sanding").value if strict else (
        shop.limit("cleaner_runs").value + shop.limit("dust_settles").value
    )  # fmt: skip
    if since_sanding >= needed:
        return ""
    runs = span(shop.limit("cleaner_runs").value)
    return f"Sanded {span(since_sanding)} ago: cleaner {runs}, off, {rest} of rest; blow off, wet the floor, tack."


def dust_record(view: DustView | None) -> dict[str, Any] | None:
    """The view for JSON: 1/m3, ratios, s."""
    if view is None:
        return None
    return {
        "count": number(view.count),
        "clean": number(view.clean),
        "index": number(view.index),
        "limit": number(view.limit),
        "clean_in": number(view.clean_in),
    }
