"""Read off a film's history: when it set, how cold it got, and how much water it held then."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from advisor.errors import OutOfRange
from advisor.physics.basics import Array
from advisor.physics.film.film import History
from advisor.physics.film.film_step import Films
from advisor.physics.film.mixture import activity_per_mass

_HALVINGS = 26  # of the bracket the dissolved water is sought in: to 2e-8 of it
_NO_SLOW_SOLVENT = 1e-3  # of the organic liquid left: less than this is none
ARRIVAL = 3.0  # [s]: the step of a cold droplet meeting the piece is not the film's temperature


def time_to_solids(history: History, solids: float) -> Array:
    """Seconds (N,) until each film first holds this share of solids by volume; NaN where it does not in time."""
    return _crossing(history, solids)[0]


def at_solids(history: History, solids: float) -> tuple[Array, Array]:
    """Temperature (N,) [°C] and masses (N, S) [kg/m2] at that moment; at the end where it never comes."""
    _, (first, second, part) = _crossing(history, solids)
    cases = np.arange(history.solids.shape[1])
    temperature = history.temperature[first, cases] * (1 - part) + history.temperature[second, cases] * part
    masses = history.masses[first, cases] * (1 - part[:, None]) + history.masses[second, cases] * part[:, None]
    return temperature, masses


def lowest_temperature(history: History, until: Array | float = np.inf) -> Array:
    """The film's lowest temperature (N,) [°C] after the first 3 s and up to a moment (N,) [s]."""
    after = history.moments >= ARRIVAL
    if not after.any():
        raise OutOfRange("a history of under 3 s", "3 s or more", "dry it for longer")
    moments = history.moments[after]
    starts = np.concatenate([moments[:1], moments[:-1]])[:, None]  # of the step that led to each moment
    counted = starts < np.maximum(until, 2.0 * ARRIVAL)
    return np.asarray(np.where(counted, history.temperature[after], np.inf).min(axis=0))


def seconds_below(history: History, dew_point: Array, until: Array | float = np.inf) -> Array:
    """How long (N,) [s] the film was below the dew point (N,) [°C], after 3 s and in steps begun before `until`."""
    after = history.moments >= ARRIVAL
    moments, below = history.moments[after], history.temperature[after] - dew_point
    first, second = below[:-1], below[1:]
    span = np.maximum(np.abs(first) + np.abs(second), 1e-300)
    crossing = -np.minimum(first, second) / span  # the share of a step that a straight line spends below
    share = np.where((first < 0) != (second < 0), crossing, (first < 0) & (second < 0))
    gaps = np.diff(moments)[:, None] * (moments[:-1, None] < until)
    return np.asarray((gaps * share).sum(axis=0))


def water_condensed(history: History, dew_point: Array, water: int, until: Array | float = np.inf) -> Array:
    """Water (N,) [kg/m2] taken from the air while the film was below the dew point, counted as by `seconds_below`."""
    after = history.moments >= ARRIVAL
    masses, cold = history.masses[after][:, :, water], history.temperature[after] < dew_point
    counted = cold[1:] & (history.moments[after][:-1, None] < until)
    return np.asarray(np.where(counted, np.maximum(np.diff(masses, axis=0), 0.0), 0.0).sum(axis=0))


@dataclass(frozen=True)
class WaterHeld:
    """Water in the film as the resin sets, against the slow solvent left (N,), and the most that stays dissolved.

    slow_share (N,): the slow solvent in all organic liquid left.
    """

    to_slow_solvent: Array
    dissolved_at_most: Array
    slow_share: Array


def water_held(history: History, films: Films, solids: float, keeps_water: NDArray[np.bool_]) -> WaterHeld:
    """The blush measure at the moment the film holds `solids` by volume.

    keeps_water (S,): the liquids counted as slow solvent: true and latent solvents of the resin, not diluents. What is
    left of the fast ones by then is next to nothing. Where all that is left is diluent, it counts as the slow solvent:
    it is what the film has. dissolved_at_most: where the water's activity reaches 1 in the
    film's own make-up, so that any more would lie in it as drops.
    """
    water = films.liquids.water
    if water is None:
        raise OutOfRange("a film without water in its list", "water among the liquids", "add it with no mass")
    _, masses = at_solids(history, solids)
    organic = np.maximum(masses.sum(axis=1) - masses[:, water], 1e-12)
    kept = masses @ keeps_water.astype(np.float64)
    slow = np.where(kept > _NO_SLOW_SOLVENT * organic, kept, organic)
    low, high = np.zeros(len(masses)), np.full(len(masses), 10.0) * masses.sum(axis=1) + films.resin_volume * 1e3
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        trial = masses.copy()
        trial[:, water] = middle
        activity = activity_per_mass(trial, films.resin_volume, films.liquids, films.resin)[:, water] * middle
        dissolved = activity < 1.0 - 1e-9
        low, high = np.where(dissolved, middle, low), np.where(dissolved, high, middle)
    return WaterHeld(masses[:, water] / slow, low / slow, kept / organic)


def _crossing(history: History, solids: float) -> tuple[Array, tuple[NDArray[np.intp], NDArray[np.intp], Array]]:
    if not 0.0 < solids < 1.0:
        raise OutOfRange(f"solids of {solids:g}", "over 0 and under 1", "a share of the film's volume")
    reached = history.solids >= solids
    cases = np.arange(reached.shape[1])
    ever = reached.any(axis=0)
    second = np.where(ever, reached.argmax(axis=0), len(history.moments) - 1)
    first = np.maximum(second - 1, 0)
    before, after = history.solids[first, cases], history.solids[second, cases]
    gap = np.where(after > before, after - before, 1.0)
    part = np.where(ever, np.clip((solids - before) / gap, 0.0, 1.0), 1.0)
    part = np.where(second == first, 1.0, part)
    moments = history.moments[first] * (1 - part) + history.moments[second] * part
    return np.where(ever, moments, np.nan), (first, second, part)
