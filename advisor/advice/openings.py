"""Doors that were opened: stretches of a log in which the air's moisture ran towards outdoors, and the best of them."""

import numpy as np

from advisor.advice.air_track import AirTrack
from advisor.advice.trial import Trial, outdoors_during, ratios, read_trial
from advisor.physics.liquids import Array
from advisor.physics.room_fit import FEWEST_READINGS
from advisor.shop.shop import Shop

LOOKED_BACK = 30 * 86_400.0  # [s]
_STEADY_FOR = 300.0  # [s] before it
_STEADY = 0.15  # share of the difference to outdoors that it may have moved in that time
_RAN = (0.4, 1.3)  # share of the difference that is gone by the end; over 3 air changes an hour
_LEAST = 0.0008  # [kg/kg] of difference to outdoors, some 5 % RH at 20 °C
_MOST_FITTED = 12


def openings(indoors: AirTrack, outdoors: AirTrack, length: float, shop: Shop) -> list[float]:
    """When they began [s since 1970], those that ran furthest first; length [s]: how long each is followed."""
    room, outside = ratios(indoors, shop), ratios(outdoors, shop)
    times, inside = room.times, room.values
    if times.size < FEWEST_READINGS or outside.times.size == 0:
        return []
    near = outside.near(times, shop.limit("outdoors_fresh_for").value)
    apart = inside - np.interp(times, outside.times, outside.values)
    ran = _ran(times, inside, apart, np.isfinite(near), length)
    begun = np.flatnonzero(np.isfinite(ran))
    if begun.size == 0:
        return []
    groups = np.split(begun, np.flatnonzero(np.diff(times[begun]) > length) + 1)
    best = [int(group[np.argmax(ran[group])]) for group in groups]
    return [float(times[n]) for n in sorted(best, key=lambda n: -ran[n])]


def best_opening(indoors: AirTrack, outdoors: AirTrack, length: float, shop: Shop) -> tuple[Trial | None, int]:
    """The opening that tells the flow most surely, read as a trial, and how many were found; None: none tells it."""
    found = openings(indoors, outdoors, length, shop)
    told: list[tuple[float, Trial]] = []
    for start in found[:_MOST_FITTED]:
        trial = read_trial(indoors, outdoors_during(outdoors, start, start + length, shop), start, start + length, shop)
        if trial.fit is not None:
            told.append((trial.fit.flow.uncertainty / trial.fit.flow.value, trial))
    return min(told, key=lambda each: each[0], default=(0.0, None))[1], len(found)


def _ran(times: Array, inside: Array, apart: Array, known: Array, length: float) -> Array:
    """Share of the difference to outdoors gone after `length` [s] from each moment; NaN where no door opened then."""
    index = np.arange(times.size)
    last = np.searchsorted(times, times + length, side="right") - 1
    first = np.searchsorted(times, times - _STEADY_FOR)
    enough = (last - index + 1 >= FEWEST_READINGS) & (times[last] - times >= 0.5 * length) & (first < index)
    with np.errstate(divide="ignore", invalid="ignore"):
        gone = 1.0 - apart[last] / apart
        moved = (inside - inside[last]) / apart  # the room did it, not the weather
    steady = np.abs(apart - apart[first]) <= _STEADY * np.abs(apart)
    far = (np.abs(apart) >= _LEAST) & (gone >= _RAN[0]) & (gone <= _RAN[1]) & (moved >= _RAN[0])
    opened = enough & steady & far & (known > 0.0)
    return np.where(opened, gone, np.nan)
