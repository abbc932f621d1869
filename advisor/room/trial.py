"""The fan-on trial: the shop's own air change and the warmth of its walls, from ten minutes of door and fan.

Pure: gets the air as it was read, indoors and outdoors, and says what it tells or why it cannot tell.

Doors that were opened: stretches of a log in which the air's moisture ran towards outdoors, and the best of them.
"""

from dataclasses import dataclass, replace
from math import hypot, isnan

import numpy as np

from advisor.errors import OutOfRange
from advisor.judge.plan import fan_flow
from advisor.physics.air.moist_air import humidity_ratio, pressure_at_altitude
from advisor.physics.basics import Array
from advisor.physics.room.room_fit import FEWEST_READINGS, SIZE_NEEDED, TrialFit, fit_trial
from advisor.series.air_track import AirTrack
from advisor.series.trace import AIR, HUMIDITY, Trace
from advisor.shop.shop import Shop

FEW, NO_OUTDOORS, ALIKE, UNSTEADY = "few_readings", "no_outdoor_air", "alike", "unsteady"
_STEP = 0.01  # [fraction] of humidity, for a slope


@dataclass(frozen=True)
class OutdoorAir:
    """Air outdoors during a trial [°C, fraction] with standard uncertainties [K, fraction]."""

    air_temperature: float
    relative_humidity: float
    temperature_accuracy: float
    humidity_accuracy: float


@dataclass(frozen=True)
class Trial:
    """What a trial told. start, end [s since 1970]: the stretch meant; readings: how many of it counted.

    before: air at the first of them [°C, fraction]. fit None: `unclear` says why. counted: flow that counts without it
    [m3/s], half a name plate unless it was measured; name_plate:
    whether it is that half.
    """

    start: float
    end: float
    readings: int
    outdoors: OutdoorAir | None
    before: tuple[float, float] | None
    fit: TrialFit | None
    unclear: str
    counted: float
    name_plate: bool

    @property
    def share_of_counted(self) -> float | None:
        """The flow found over what counts without it."""
        return None if self.fit is None else self.fit.flow.value / self.counted


def outdoors_during(outdoors: AirTrack, start: float, end: float, shop: Shop) -> OutdoorAir | None:
    """The air outdoors in the middle of a stretch [s since 1970]; None where no reading is near enough."""
    moment = np.array([0.5 * (start + end)])
    air, damp = outdoors.trace(AIR), outdoors.trace(HUMIDITY)
    warm, humidity = (float(each.near(moment, shop.limit("outdoors_fresh_for").value)[0]) for each in (air, damp))
    return None if isnan(warm) else OutdoorAir(warm, humidity, air.uncertainty, damp.uncertainty)


def ratios(track: AirTrack, shop: Shop) -> Trace:
    """The humidity ratio [kg/kg] of a track whose temperature and humidity are of the same moments."""
    air, damp = track.trace(AIR), track.trace(HUMIDITY)
    pressure = float(pressure_at_altitude(shop.altitude))
    return Trace(damp.times, np.asarray(humidity_ratio(air.values, damp.values, pressure)))


def read_trial(indoors: AirTrack, outdoors: OutdoorAir | None, start: float, end: float, shop: Shop) -> Trial:
    """Read a trial from `start` to `end` [s since 1970] back; indoors may hold more than that stretch."""
    stretch = indoors.during(start, end)
    air, humidity = stretch.trace(AIR), stretch.trace(HUMIDITY)
    count = len(air.times)
    before = (float(air.values[0]), float(humidity.values[0])) if count else None
    counted = fan_flow(shop)
    trial = Trial(start, end, count, outdoors, before, None, FEW, counted, not shop.fan_flow_measured)
    if count < FEWEST_READINGS:
        return trial
    if outdoors is None:
        return replace(trial, unclear=NO_OUTDOORS)
    pressure = float(pressure_at_altitude(shop.altitude))
    ratio = ratios(stretch, shop).values
    damp = float(humidity_ratio(outdoors.air_temperature, outdoors.relative_humidity, pressure))
    # what the two sensors may be apart; the one indoors as it stands at the end, where it has come near outdoors
    slopes = (
        _slope(float(air.values[-1]), float(humidity.values[-1]), pressure),
        _slope(outdoors.air_temperature, outdoors.relative_humidity, pressure),
    )
    wet = hypot(slopes[0] * humidity.uncertainty, slopes[1] * outdoors.humidity_accuracy)
    off = hypot(air.uncertainty, outdoors.temperature_accuracy)
    try:
        fit = fit_trial(
            air.times - start, air.values, ratio, outdoors.air_temperature, damp, shop.room_volume, off, wet,
            pressure,
        )  # fmt: skip
    except OutOfRange:
        alike = not abs(ratio[0] - damp) > SIZE_NEEDED * wet
        return replace(trial, unclear=ALIKE if alike else UNSTEADY)
    return replace(trial, fit=fit, unclear="")


def _slope(celsius: float, humidity: float, pressure: float) -> float:
    """Humidity ratio over humidity [kg/kg]."""
    high, low = min(humidity + _STEP, 1.0), max(humidity - _STEP, _STEP)
    both = np.asarray(humidity_ratio(np.array([celsius, celsius]), np.array([high, low]), pressure))
    return float(both[0] - both[1]) / (high - low)


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
    trials = [
        read_trial(indoors, outdoors_during(outdoors, start, start + length, shop), start, start + length, shop)
        for start in found[:_MOST_FITTED]
    ]
    told = [(each.fit.flow.uncertainty / each.fit.flow.value, each) for each in trials if each.fit is not None]
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
