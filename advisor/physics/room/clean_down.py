"""How fast a room gets clean: the decay of logged particle counts, and when they are down to a level.

counts = background + height e^(-rate t). The rate times 3,600 is what air changes an hour would do alone; it holds the
filter, the fan and what settles. It says how soon the dust is down, never that the air is fit to breathe.
"""

import math
from dataclasses import dataclass

import numpy as np

from advisor.errors import OutOfRange
from advisor.physics.basics import Array, Estimate, record, settled

LEAST_READINGS = 8
TOO_FEW, NOT_FALLING, ONLY_NOISE = "too few readings", "the counts do not fall", "a fall no larger than the noise"
TOO_FAST, TOO_SHORT = "a fall faster than the readings follow", "too short a record to tell the fall from its end"
_RATES = 60  # tried first, evenly spread in logarithm
_FINER = 17
_ROUNDS = 25
_SETTLED = 1e-6  # relative change of the rate between two rounds
_BEND = 1.345  # Huber's: a distance in standard deviations from which a reading counts less
_EXACT = 1e-6  # of the curve: nearer than this no reading is doubted, so that figures without noise fit too
_COUNTING, _RELATIVE = 1.0, 2.0  # power of the count that its variance goes with: counting noise, a relative error
_FALL_BEYOND_NOISE = 8.0  # F of the curve against a level; noise alone passes it once in thousands of records
_RATE_BEYOND_NOISE = 3.0  # the rate in standard errors


@dataclass(frozen=True)
class CleanDown:
    """A decay of counts.

    start [s], the first time of the record; height [1/m3], count over the background then; rate and its uncertainty
    [1/s]; background and its uncertainty [1/m3], 0 where it was given; standard_error: of one count, as a fraction of
    the curve there; covariance of (height, rate, background). Uncertainties are one standard deviation for readings
    that err each by itself.
    """

    start: float
    height: float
    rate: float
    rate_uncertainty: float
    background: float
    background_uncertainty: float
    standard_error: float
    covariance: tuple[tuple[float, float, float], ...]

    def count(self, seconds: float) -> float:
        """The curve [1/m3] at a time [s] from `start` on."""
        if not seconds >= self.start:
            raise OutOfRange(f"{seconds:g} s", f"{self.start:g} s or later", "the fall begins with the record")
        return self.background + self.height * math.exp(-self.rate * (seconds - self.start))


@dataclass(frozen=True)
class NoCleanDown:
    """Why counts show no decay: one of the words of this file."""

    why: str


def fit_clean_down(times: Array, counts: Array, background: float | None = None) -> CleanDown | NoCleanDown:
    """The decay that logged counts follow from the end of the dust-making on.

    times [s] rising; counts [1/m3] of one size, 0 or more, of the same length; background [1/m3], 0 or more, where the
    room's clean count is known: else it is fitted too, which asks for a record of some decay times.

    Least squares on the counts, each weighted by its own scatter, which is read from the record (from counting noise,
    variance as the count, to a relative error, variance as its square); far readings count less (Huber 1964). Standard
    errors by the sandwich of White (1980), right for either kind of scatter. Both from memory. A counter
    whose clean air is less than a particle a reading gives a rate up to a tenth too fast.
    """
    t, c = record(times, counts)
    if not bool(np.all((c >= 0.0) & (c < np.inf))):
        raise OutOfRange("a count of the record", "0 or more", "leave missing counts out")
    if background is not None and not 0.0 <= background < math.inf:
        raise OutOfRange(f"background {background:g} 1/m3", "0 or more", "leave it out where it is not known")
    if len(t) < LEAST_READINGS:
        return NoCleanDown(TOO_FEW)
    if not c.max() > 0.0:
        return NoCleanDown(NOT_FALLING)
    start, t = float(t[0]), t - t[0]
    # down to 1/e in a reading, or by little till the end; without its background a fall of under half a decay time
    # cannot be told from a straight line
    fastest, slowest = 2.0 / float(t[2]), (0.5 if background is None else 0.02) / float(t[-1])
    curve = _fit(t, c, background, np.geomspace(slowest, max(fastest, 2.0 * slowest), _RATES))
    if not curve.gain > _FALL_BEYOND_NOISE:
        third = len(c) // 3
        return NoCleanDown(ONLY_NOISE if np.median(c[-third:]) < np.median(c[:third]) else NOT_FALLING)
    if curve.rate >= fastest * 0.99:
        return NoCleanDown(TOO_FAST)
    covariance = _covariance(t, curve, background is None)
    error = math.sqrt(covariance[1, 1])
    if curve.rate <= slowest * 1.01 or not curve.rate > _RATE_BEYOND_NOISE * error:
        return NoCleanDown(TOO_SHORT)
    return CleanDown(
        start=start,
        height=curve.height,
        rate=curve.rate,
        rate_uncertainty=error,
        background=curve.background,
        background_uncertainty=math.sqrt(covariance[2, 2]),
        standard_error=_spread(curve.rest / curve.level),
        covariance=tuple((float(row[0]), float(row[1]), float(row[2])) for row in covariance),
    )


def clean_at(fit: CleanDown, level: float) -> Estimate | None:
    """When [s] the counts are down to a level [1/m3], on the record's own clock; None: the fall ends over it.

    level over 0, of the same counter and size: the shop's own clean count with something on top, since a fall never
    quite ends. The start of the record where the counts were down already. The uncertainty is to first order, from
    that of the fit alone: beyond a third of the wait take it for "not known".
    """
    if not 0.0 < level < math.inf:
        raise OutOfRange(f"level {level:g} 1/m3", "over 0", "the shop's clean count, and something over it")
    above = level - fit.background
    if not above > 0.0:
        return None
    wait = math.log(fit.height / above) / fit.rate if fit.height > above else 0.0
    slope = np.array([1.0 / fit.height, -wait, 1.0 / above]) / fit.rate
    return Estimate(fit.start + wait, math.sqrt(float(slope @ np.array(fit.covariance) @ slope)))


@dataclass(frozen=True)
class _Curve:
    """A fit under way: its parameters, what it gives, and how far each count stands from it.

    level: what it gives, never under the counter's own step; weights: 1 / variance of each count, but for a common
    factor; gain: F of the curve against a steady level.
    """

    height: float
    rate: float
    background: float
    level: Array
    rest: Array
    weights: Array
    share: Array  # Huber's, 1 near the curve
    gain: float


def _fit(t: Array, c: Array, background: float | None, rates: Array) -> _Curve:
    floor = float(c[c > 0.0].min())  # a counter's step: under it neither curve nor scatter is known
    # weighed at first by medians of five neighbours, which no single puff moves
    neighbours = np.lib.stride_tricks.sliding_window_view(np.pad(c, 2, mode="edge"), 5)
    level = np.maximum(np.median(neighbours, axis=1), floor)
    power, share, rate = 1.0, np.ones_like(c), math.nan
    for _ in range(_ROUNDS):
        weights = level**-power
        before, rate = rate, _best_rate(t, c, weights * share, background, rates)
        height, base, _ = (float(one[0]) for one in _lines(t, c, weights * share, background, np.array([rate])))
        curve = base + height * np.exp(-rate * t)
        level, rest = np.maximum(curve, floor), c - curve
        power = _scatter_power(rest, level)
        share = _huber(rest, level, power)
        if abs(rate - before) <= _SETTLED * rate:
            break
    weights = level**-power
    flat = float(np.average(c, weights=weights * share)) if background is None else background
    spread = max(_spread(rest * np.sqrt(weights)), _EXACT * float(np.median(level * np.sqrt(weights))))
    size, bend = np.abs([c - flat, rest]) * np.sqrt(weights), _BEND * spread
    steady, falling = np.where(size <= bend, size**2, 2.0 * bend * size - bend**2).sum(axis=1)  # Huber's loss
    gain = float(steady - falling) / 2.0 / max(float(falling) / (len(c) - 3), spread**2 * 1e-3)
    return _Curve(height, rate, base, level, rest, weights, share, gain)


def _best_rate(t: Array, c: Array, weights: Array, background: float | None, rates: Array) -> float:
    """The rate of least weighted squares: the best of those tried, then the best of ever narrower ones around it."""
    while True:
        best = int(np.argmin(_lines(t, c, weights, background, rates)[2]))
        low, high = rates[max(best - 1, 0)], rates[min(best + 1, len(rates) - 1)]
        if high - low <= _SETTLED / 10.0 * low:
            return float(rates[best])
        rates = np.linspace(low, high, _FINER)


def _lines(t: Array, c: Array, weights: Array, background: float | None, rates: Array) -> tuple[Array, Array, Array]:
    """Height, background, both 0 or more, and weighted squares left, at each rate."""
    falls = np.exp(-rates[:, None] * t)
    whole, total, mean_fall = weights.sum(), weights @ c, falls @ weights
    square, product = falls**2 @ weights, falls @ (weights * c)
    if background is None:
        determinant = np.maximum(whole * square - mean_fall**2, 1e-12 * whole * square)
        height = (whole * product - mean_fall * total) / determinant
        base = (total - height * mean_fall) / whole
        height = np.where(base < 0.0, product / square, np.maximum(height, 0.0))
        base = np.where(base < 0.0, 0.0, np.where(height > 0.0, base, total / whole))
    else:
        height = np.maximum((product - background * mean_fall) / square, 0.0)
        base = np.full(len(rates), background)
    rest = c - base[:, None] - height[:, None] * falls
    return height, base, rest**2 @ weights


def _spread(values: Array) -> float:
    """Standard deviation of what is normal, by the median of distances (few or many outliers do not count)."""
    return float(np.median(np.abs(values))) * 1.4826


def _scatter_power(rest: Array, level: Array) -> float:
    """The power of the level that the variance goes with: a line through the logarithms of what is left and level."""
    size = np.abs(rest)
    typical = float(np.median(size))
    along = np.log(level) - np.log(level).mean()
    if not (typical > 0.0 and along @ along > 0.0):
        return _COUNTING
    slope = float(along @ np.log(np.maximum(size, typical * 1e-2)) / (along @ along))
    return min(max(2.0 * slope, _COUNTING), _RELATIVE)


def _huber(rest: Array, level: Array, power: float) -> Array:
    """Shares by which readings count: 1 near the curve, less beyond."""
    distance = np.abs(rest) * level ** (-power / 2.0)
    bend = np.maximum(_BEND * _spread(distance), _EXACT * level ** (1.0 - power / 2.0))
    return np.asarray(np.where(distance <= bend, 1.0, bend / np.maximum(distance, 1e-300)))


def _covariance(t: Array, curve: _Curve, with_background: bool) -> Array:
    """Covariance of (height, rate, background) [their units]; zero where it is known.

    A background held at 0 counts as free: that it might be more is what makes the end of the fall uncertain.
    """
    free = [True, True, with_background]
    fall = np.exp(-curve.rate * t)
    slopes = np.column_stack((fall, -curve.height * t * fall, np.ones_like(t)))[:, free]
    size = np.sqrt((slopes**2).sum(axis=0))  # so that no unit spoils the inverse
    slopes = slopes / size
    near = curve.share >= 1.0
    bread = settled(np.linalg.pinv((slopes * (curve.weights * near)[:, None]).T @ slopes))
    leverage = ((slopes @ bread) * slopes).sum(axis=1) * curve.weights
    stiffened = np.maximum(1.0 - leverage, 0.1)  # a reading that pulls the curve to itself is further off than it looks
    push = slopes * (curve.weights * curve.share * curve.rest / stiffened)[:, None]
    covariance = np.zeros((3, 3))
    covariance[np.ix_(free, free)] = bread @ (push.T @ push) @ bread / np.outer(size, size)
    return covariance
