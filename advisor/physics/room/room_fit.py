"""What a fan-on trial tells about a room: how fast its air changes, and how warmly the walls hold on to it.

Fan and opening on, readings each minute for ten. Humidity falls or rises to the outdoor air's with the air change;
temperature stops where draught and walls hold each other, which gives the walls' conductance once the air change is
known. Each is one shape times one size: the shape's number is searched, the size solved for.
"""

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial

import numpy as np

from advisor.errors import OutOfRange
from advisor.physics.air.compressed_air import SEA_LEVEL
from advisor.physics.air.moist_air import saturation_pressure
from advisor.physics.basics import Array, Estimate, all_inside, record, settled
from advisor.physics.room.room import (
    HUMIDITY_RATIO_RANGE,
    TEMPERATURE_RANGE,
    VOLUME_RANGE,
    Room,
    RoomStart,
    Segment,
    room_course,
)

FEWEST_READINGS = 6
CLEAREST_NEEDED = 0.3  # largest standard uncertainty, as a share of the figure, that still counts as told
SIZE_NEEDED = 5.0  # the difference to outdoors over its own standard uncertainty
_SMALLEST = 1e-12  # share of the size taken as noise in a record without any: no figure divides by 0
AIR_CHANGE_SEARCHED = (1e-4, 5e-2)  # [1/s], 0.4 to 180 an hour
CONDUCTANCE_SEARCHED = (0.1, 300.0)  # as a multiple of volume^(2/3) [W/(m2 K)]; the default is 45
_GRID = 40
_ZOOMS = 4
_STEP = 0.01  # of the logarithm, for slopes
_ROUNDS = 5  # of noise and offset, each of which hangs on the other
_FIRM = 1e12  # holds an offset that is known at nothing
_ALIKE = 1e-9  # as a share: a shape and an offset are not told apart under this

Shapes = Callable[[Array], Array]  # numbers (K,) to shapes (K, N)


@dataclass(frozen=True)
class TrialFit:
    """What a trial told: air_change [1/s], flow [m3/s] that it means for the room's volume, film_conductance [W/K].

    film_conductance None: the temperatures could not tell, and `unclear` says why.
    """

    air_change: Estimate
    flow: Estimate
    film_conductance: Estimate | None
    unclear: str | None


def fit_trial(
    seconds: Array,
    air_temperature: Array,
    humidity_ratio: Array,
    outdoor_temperature: float,
    outdoor_humidity_ratio: float,
    volume: float,
    outdoor_temperature_uncertainty: float,
    outdoor_humidity_ratio_uncertainty: float,
    pressure: float = SEA_LEVEL,
) -> TrialFit:
    """Air change and wall conductance from readings at seconds (N,) after the fan started, the first at 0 or later.

    air_temperature [°C], humidity_ratio [kg/kg] (N,); outdoor values steady, with their standard uncertainties; volume
    [m3]. Noise is taken from the readings' scatter about the fit. An offset that indoor and outdoor sensors share
    does no harm; one they do not share belongs into the outdoor uncertainty. Walls are taken as warm as the first air.
    Raises OutOfRange where the readings are unfit or the humidity cannot tell: without it nothing can be told.
    """
    time, indoors, ratio = record(
        *all_inside(
            ("time", seconds, (0.0, 1e6), "s"),
            ("air temperature", air_temperature, TEMPERATURE_RANGE, "°C"),
            ("humidity ratio", humidity_ratio, HUMIDITY_RATIO_RANGE, "kg/kg"),
        )
    )
    if time.size < FEWEST_READINGS:
        raise OutOfRange(f"{time.size} readings", f"{FEWEST_READINGS} or more", "read each minute for ten")
    given = all_inside(
        ("room volume", volume, VOLUME_RANGE, "m3"),
        ("outdoor temperature", outdoor_temperature, TEMPERATURE_RANGE, "°C"),
        ("outdoor humidity ratio", outdoor_humidity_ratio, HUMIDITY_RATIO_RANGE, "kg/kg"),
        ("outdoor temperature uncertainty", outdoor_temperature_uncertainty, (0.0, 10.0), "K"),
        ("outdoor humidity uncertainty", outdoor_humidity_ratio_uncertainty, (0.0, 0.05), "kg/kg"),
    )
    room_volume, outdoors, damp, off, wet = (float(value) for value in given)

    # a humidity sensor errs in relative humidity: the warmer the air, the more that is in humidity ratio
    weight = float(saturation_pressure(indoors[0])) / np.asarray(saturation_pressure(indoors))

    def decays(rates: Array) -> Array:
        return np.asarray(np.exp(-rates[:, None] * (time - time[0])))

    change = _told(decays, AIR_CHANGE_SEARCHED, ratio - damp, wet, weight)
    if change is None:
        raise OutOfRange(
            f"humidity of {ratio[0]:.5f} kg/kg indoors and {damp:.5f} outdoors over {time[-1] - time[0]:g} s",
            "a difference well over the readings' noise, that shrinks",
            "try again on a day when outdoors is drier or damper than the room, or for longer",
        )

    def coolings(flow: float, conductances: Array) -> Array:
        room = Room(room_volume, film_conductance=conductances, pressure=pressure)
        start = RoomStart(indoors[0], ratio[0])
        segment = Segment(time[-1] - time[0], start.air_temperature - 1.0, damp, exhaust=flow)
        return room_course(room, start, [segment], time - time[0]).air_temperature - segment.outdoor_temperature

    flow = change.value * room_volume
    scale = room_volume ** (2.0 / 3.0)
    searched = (CONDUCTANCE_SEARCHED[0] * scale, CONDUCTANCE_SEARCHED[1] * scale)
    even = np.ones_like(time)
    film = _told(partial(coolings, flow), searched, indoors - outdoors, off, even)
    unclear = None
    if film is not None:
        spread = min(change.uncertainty * room_volume, 0.5 * flow)
        ridge = _ridge(_noise(partial(coolings, flow), searched, indoors - outdoors, off, even), off)
        high, low = (
            _best(partial(coolings, flow + way), searched, indoors - outdoors, even, ridge) for way in (spread, -spread)
        )
        film = Estimate(film.value, float(np.hypot(film.uncertainty, 0.5 * (high - low))))
    if film is None or not film.uncertainty <= CLEAREST_NEEDED * film.value:
        film = None
        unclear = (
            f"air of {indoors[0]:.1f} °C indoors and {outdoors:.1f} °C outdoors does not tell how much the walls hold"
        )
    return TrialFit(change, Estimate(flow, change.uncertainty * room_volume), film, unclear)


def _told(shapes: Shapes, searched: tuple[float, float], above: Array, offset: float, weight: Array) -> Estimate | None:
    """The number whose shape times a size meets readings above outdoors best; None where they cannot tell.

    offset: standard uncertainty of what they stand above; weight (N,): one over how noisy each is. What they stand
    above is fitted too, held by that uncertainty: readings that run until they lie still tell it themselves.
    First-order propagation (JCGM 100:2008).
    """
    noise = _noise(shapes, searched, above, offset, weight)
    ridge = _ridge(noise, offset)
    value = _best(shapes, searched, above, weight, ridge)
    if not searched[0] * 1.05 < value < searched[1] / 1.05:
        return None
    near, below, over = shapes(value * np.exp(np.array([0.0, -_STEP, _STEP]))) * weight
    size, _ = _fitted(near, above * weight, weight, ridge)
    slopes = [size * (over - below) / (2.0 * _STEP), near, *([weight] if offset > 0.0 else [])]
    normal = np.stack(slopes) @ np.stack(slopes, 1) / noise
    if offset > 0.0:
        normal[2, 2] += offset**-2.0
    covariance = settled(np.linalg.pinv(normal, hermitian=True))
    if not abs(size) > SIZE_NEEDED * np.sqrt(covariance[1, 1]):
        return None
    estimate = Estimate(value, float(value * np.sqrt(covariance[0, 0])))
    return estimate if estimate.uncertainty <= CLEAREST_NEEDED * value else None


def _noise(shapes: Shapes, searched: tuple[float, float], above: Array, offset: float, weight: Array) -> float:
    """Variance of the readings about the fit, widened as so few of them ask for (the spread of Student's t).

    How firmly the offset is held depends on it: begun with an offset of nothing, which takes the noise for larger.
    """
    fitted = 2 if offset == 0.0 else 3
    noise, size = np.inf, 0.0
    for _ in range(1 if offset == 0.0 else _ROUNDS):
        ridge = _ridge(noise, offset)
        (near,) = shapes(np.array([_best(shapes, searched, above, weight, ridge)])) * weight
        size, shift = _fitted(near, above * weight, weight, ridge)
        scatter = above * weight - size * near - shift * weight
        noise = float(scatter @ scatter) / (above.size - fitted - 2)
    return max(noise, (_SMALLEST * size) ** 2, np.finfo(float).tiny)


def _ridge(noise: float, offset: float) -> float:
    """How firmly the offset is held at nothing, in the least squares."""
    return noise / offset**2 if offset > 0.0 and np.isfinite(noise) else _FIRM


def _fitted(shape: Array, above: Array, weight: Array, ridge: float) -> tuple[float, float]:
    """Size of a shape (N,), and the offset beside it, both weighted already."""
    normal = np.array([[shape @ shape, shape @ weight], [shape @ weight, weight @ weight + ridge]])
    size, shift = settled(np.linalg.solve(normal, [shape @ above, weight @ above]))
    return float(size), float(shift)


def _best(shapes: Shapes, searched: tuple[float, float], above: Array, weight: Array, ridge: float) -> float:
    """The number that leaves the least scatter, on a logarithmic grid made finer about the best three times."""
    low, high = np.log(searched[0]), np.log(searched[1])
    level = above * weight
    held, along = weight @ weight + ridge, weight @ level
    for _ in range(_ZOOMS):
        grid = np.linspace(low, high, _GRID)
        trial = shapes(np.exp(grid)) * weight
        own, shared, to_shape = np.einsum("kn,kn->k", trial, trial), trial @ weight, trial @ level
        # a shape that hardly moves is like the offset itself: what tells them apart must not be rounding
        apart = np.maximum(own * held - shared**2, _ALIKE * own * held)
        fitted = (to_shape**2 * held - 2.0 * to_shape * along * shared + along**2 * own) / apart
        best = int(np.argmax(fitted))
        low, high = grid[max(best - 1, 0)], grid[min(best + 1, _GRID - 1)]
    return float(np.exp(0.5 * (low + high)))
