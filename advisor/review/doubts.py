"""What a log says that cannot have been the air: seen in hindsight, from its own values and from what else is known.

A review knows what came after. All figures are common practice, no source, where none stands beside them.
"""

from functools import reduce
from math import log

import numpy as np

from advisor.errors import OutOfRange
from advisor.physics.air import moist_air
from advisor.physics.basics import Array
from advisor.readings.reading import OUT_OF_RANGE, PINNED, STEP, STUCK, WRONG_UNIT
from advisor.review.coat import SprayedCoat
from advisor.series.trace import NOTHING, Mask, Trace, Window, runs

ALONE, CONTRADICTED = "warmed-alone", "contradicted"
_STILL_FOR, _RUN_OF = 6 * 3600.0, 12  # [s], readings: a value that stood still so long, while the other one
_AIR_SWINGS, _DAMP_SWINGS = 2.0, 0.10  # [K], [fraction] swung by so much, is a sensor that is stuck
_SATURATED, _SATURATED_FOR, _SATURATED_WARMS = 0.97, 12 * 3600.0, 1.5  # [fraction], [s], [K]
_STANDS_FOR = 2700.0  # [s] to the last digit
_CHANCE, _CHANCE_BEFORE_A_LEAP = 1e-4, 1e-2  # that a sensor that moves as this one does stands still for so long
_UNKNOWN_STILL = 0.98  # of steps without a move, where a log shows no other
_LEAPS = 3.0  # times the sensor's own largest usual step
_LEAP, _LEAP_WITHIN, _AIR_STILL, _BACK = 0.20, 150.0, 0.5, 0.07  # [fraction], [s], [K], [fraction]
_DAMPEST = 30.0  # [°C] dew point that no shop's air has: the record outdoors is 35 (from memory)
_SUN_RISE, _SUN_WITHIN, _SUN_OVER, _SUN_LASTS = 4.0, 1800.0, 1.5, 1800.0  # [K], [s], [K] back to where it began, [s]
_FOLLOWS = 0.2  # of the air's rise: a piece of 45 mm has followed half of it in half an hour
_APART, _AS_ONE, _DAMP_APART = 4.0, 3.0, 0.15  # [K], [K], [fraction] between two good instruments, and more
_COOLEST_FAHRENHEIT, _WARMEST = 32.0, 40.0  # [°F], [°C] of a shop's air


def believed(air: Trace, damp: Trace, piece: Trace = NOTHING) -> tuple[Trace, Trace]:
    """Temperature and humidity of one place without what cannot have been its air. piece: what was read on it."""
    damp = _saturated(damp, air)
    air, damp = _moved_alone(air, damp, _DAMP_SWINGS), _moved_alone(damp, air, _AIR_SWINGS)
    air = _not_a_shops(air, damp)
    damp = _leapt(damp, air)
    for sunny in _warmed_alone(air, piece):
        air, damp = (trace.without_window(sunny, ALONE) for trace in (air, damp))
    return air, damp


def _saturated(damp: Trace, air: Trace) -> Trace:
    """Humidity without the runs in which it stood near saturation for half a day while the air warmed.

    A room that warms by so much dries, unless water runs down its walls: that is a sensor that has drifted to its end.
    """
    for first, last in runs(damp.values >= _SATURATED):
        window = Window(float(damp.times[first]), float(damp.times[last]))
        beside = air.within(window)
        if window.end - window.start < _SATURATED_FOR or not len(beside):
            continue
        if float(np.max(beside - np.minimum.accumulate(beside))) >= _SATURATED_WARMS:
            return _saturated(damp.without_window(window, PINNED), air)
    return damp


def _moved_alone(trace: Trace, other: Trace, swing: float) -> Trace:
    """A trace without the hours in which it stood still to the last digit while the other one swung.

    Temperature and humidity of one air move together: a room cooling by 2 K gains some 7 % with the same moisture.
    """
    doubted = np.zeros(len(trace.times), dtype=np.bool_)
    for first, step in runs(np.diff(trace.values) == 0.0):
        last = step + 1
        if last - first < _RUN_OF - 1 or trace.times[last] - trace.times[first] < _STILL_FOR:
            continue
        beside = other.within(Window(float(trace.times[first]), float(trace.times[last])))
        if len(beside) and np.quantile(beside, 0.95) - np.quantile(beside, 0.05) >= swing:
            doubted[first : last + 1] = True
    return trace.without(doubted, STUCK)


def frozen(*traces: Trace) -> tuple[Trace, ...]:
    """Traces of one sensor without the runs in which all stood still to the last digit for longer than it ever would.

    By the share of its own steps without a move outside of such runs: a coarse sensor in a steady room stands honestly.
    """
    times = reduce(np.intersect1d, (trace.times for trace in traces), traces[0].times)
    if len(times) < _RUN_OF:
        return traces
    steps = [np.diff(trace.values[np.searchsorted(trace.times, times)]) for trace in traces]
    still = np.all([step == 0.0 for step in steps], axis=0)
    long = [
        (first, last + 1) for first, last in runs(still)
        if last - first >= _RUN_OF - 3 and times[last + 1] - times[first] >= _STANDS_FOR
    ]  # fmt: skip
    apart = np.ones(len(still), dtype=np.bool_)
    for first, end in long:
        apart[first : end + 1] = False  # the leap at its end is not usual either
    usual = still[apart]
    moves = float(np.mean(usual)) if len(usual) >= _RUN_OF else _UNKNOWN_STILL
    chance = log(min(max(moves, 0.01), 0.999))
    out = np.zeros(len(times), dtype=np.bool_)
    for first, end in long:
        leaps = any(_leaps(step, apart, end) for step in steps)
        if (end - first) * chance < log(_CHANCE_BEFORE_A_LEAP if leaps else _CHANCE):
            out[first : end + 1] = True
    return tuple(trace.without(np.isin(trace.times, times[out]), STUCK) for trace in traces)


def _leaps(steps: Array, apart: Mask, end: int) -> bool:
    """Whether a run that stood still ends in a step larger than those that the sensor makes."""
    usual = np.abs(steps[apart])
    return end < len(steps) and len(usual) > 0 and abs(steps[end]) > _LEAPS * float(np.quantile(usual, 0.99)) > 0.0


def _not_a_shops(air: Trace, damp: Trace) -> Trace:
    """Air without the readings that with their humidity would hold more water than any shop's air."""
    out = np.zeros(len(air.times), dtype=np.bool_)
    for index in np.flatnonzero(air.values > _DAMPEST):
        humidity = damp.at(float(air.times[index]))
        try:
            out[index] = humidity is not None and moist_air.dew_point(air.values[index], max(humidity, 0.01)) > _DAMPEST
        except OutOfRange:
            out[index] = True
    return air.without(out, WRONG_UNIT) if out.any() else air


def _leapt(damp: Trace, air: Trace) -> Trace:
    """Humidity without what follows a leap in a minute while the temperature stood: until it is back where it was.

    Air that changes so in a minute is other air, and that is never of just the same warmth.
    """
    out = np.zeros(len(damp.times), dtype=np.bool_)
    for index in np.flatnonzero(np.abs(np.diff(damp.values)) >= _LEAP):
        before, after = float(damp.times[index]), float(damp.times[index + 1])
        near = air.within(Window(before - _LEAP_WITHIN, after + _LEAP_WITHIN))
        if out[index] or after - before > _LEAP_WITHIN or not len(near) or np.ptp(near) > _AIR_STILL:
            continue
        back = np.flatnonzero(np.abs(damp.values[index + 1 :] - damp.values[index]) <= _BACK)
        out[index + 1 : index + 1 + (int(back[0]) if len(back) else len(damp.values))] = True
    return damp.without(out, STEP)


def _warmed_alone(air: Trace, piece: Trace) -> list[Window]:
    """Stretches in which the air's sensor rose within half an hour and the piece did not follow: sun, or a heater."""
    found: list[Window] = []
    if not len(piece.times):
        return found
    for rise in _rises(air):
        began, beside = air.at(rise.start), piece.at(rise.start)
        later = piece.within(Window(rise.start + _SUN_WITHIN, rise.end))
        warmed = air.within(Window(rise.start + _SUN_WITHIN, rise.end))
        if began is None or beside is None or not len(later) or not len(warmed):
            continue
        if np.median(later) - beside < _FOLLOWS * (np.median(warmed) - began):
            found.append(rise)
    return found


def _rises(air: Trace) -> list[Window]:
    """Stretches over which a trace stands over where it was before a steep rise."""
    found: list[Window] = []
    starts = np.searchsorted(air.times, air.times - _SUN_WITHIN)
    lowest = air.values[np.minimum(starts, np.arange(len(air.times)))]
    for index in np.flatnonzero(air.values - lowest >= _SUN_RISE):
        first = int(starts[index])
        if found and air.times[index] <= found[-1].end:
            continue
        over = air.values[index:] - air.values[first]
        back = np.flatnonzero(over <= _SUN_OVER)
        end = float(air.times[index + int(back[0])]) if len(back) else float(air.times[-1])
        if end - air.times[index] >= _SUN_LASTS:
            found.append(Window(float(air.times[first]) + 1.0, end))
    return found


def contradicted(coat: SprayedCoat, air: Trace, damp: Trace) -> tuple[Trace, Trace]:
    """Temperature and humidity without what was read otherwise by hand at the gun, on piece, paint or instruments."""
    at = coat.sprayed.timestamp()
    every = Window(-np.inf, np.inf)
    warm, humidity = air.at(at), damp.at(at)
    if humidity is not None and coat.humidity is not None and abs(humidity - coat.humidity) > _DAMP_APART:
        damp = damp.without_window(every, CONTRADICTED)
    facts = [value for value in (coat.air, coat.surface, coat.material) if value is not None]
    if warm is None or not facts or abs(warm - min(facts, key=lambda fact: abs(fact - warm))) <= _APART:
        return air, damp  # one of them agrees
    turned = (warm - 32.0) / 1.8
    if warm > _COOLEST_FAHRENHEIT and all(abs(turned - fact) <= _AS_ONE for fact in facts):
        return air.without_window(every, WRONG_UNIT), damp
    as_one = max(facts) - min(facts) <= _AS_ONE
    risen = next((rise for rise in _rises(air) if rise.start <= at <= rise.end), None)
    before = None if risen is None else air.at(risen.start)
    if risen is not None and before is not None and as_one and len(facts) > 1 and abs(before - facts[0]) <= _AS_ONE:
        return air.without_window(risen, ALONE), damp.without_window(risen, ALONE)
    if coat.air is not None or (as_one and len(facts) > 2):
        return air.without_window(every, CONTRADICTED), damp.without_window(every, CONTRADICTED)
    return air, damp


def fahrenheit(reason: str, value: float) -> float | None:
    """What a doubted temperature [°C as logged] is if it was Fahrenheit [°C]; None where that is no shop's air."""
    turned = (value - 32.0) / 1.8
    return turned if reason in (WRONG_UNIT, OUT_OF_RANGE) and 0.0 <= turned <= _WARMEST else None


def in_the_plume(damp: Trace, spraying: Window) -> bool:
    """Whether the humidity leapt as the gun was used: the sensor stood in the spray, and tells nothing till aired."""
    near = Window(spraying.start - 60.0, spraying.end + 300.0)
    return any(reason == STEP and near.start <= at <= near.end for at, reason, _ in damp.faults)
