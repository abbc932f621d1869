"""Readings to Conditions: the newest word of each sensor, as of one moment."""

from collections.abc import Iterable, Mapping, Sequence
from contextlib import suppress
from dataclasses import replace
from datetime import datetime
from math import exp, hypot

from advisor.catalog.limits import quality_limits
from advisor.errors import OutOfRange
from advisor.judge.conditions import Conditions, Measured
from advisor.physics.air import moist_air
from advisor.readings.reading import (
    BAD,
    FUTURE,
    GOOD,
    HALF_LINE,
    NOT_LIVE,
    STILL,
    UNREADABLE_LINE,
    Reading,
    Reject,
    Series,
)
from advisor.shop.shop import Shop
from advisor.sources.counting import Counts
from advisor.times import milliseconds

_LONGEST_STEP = 10 * 60.0  # [s] a reading speaks for no longer than this in a mean
_COVERED = 0.8  # share of the time that must be read before a mean counts
_CLOCK_AHEAD = 3  # readings that run on without a break beyond the present: its clock is ahead, and its ages are wrong


def conditions_as_of(
    readings: Sequence[Reading],
    now: datetime,
    place: str,
    shop: Shop,
    piece_in_room: float | None = None,
    since_solvent_spraying: float | None = None,
    rejects: Sequence[Reject] = (),
    clock_set: int = 0,
) -> Conditions:
    """What was known at `now` from marked readings in the order of their time, cut at `now` by whoever marked them.

    The newest reading of a sensor decides, even when it cannot be used: an older good one does not stand in for it.
    Another sensor at the same place does. rejects: lines of the source that could not be read; one newer than a
    sensor's newest reading may have been that sensor's, and stands for it. What is ahead of the clock is never the
    newest: it is told only where its sensor has nothing else that is fresh. clock_set [ms UTC]: readings up to it are
    of before the clock was set, and their age means nothing.
    """
    fresh_for, tolerance = (shop.limit(key).value * 1000 for key in ("fresh_for", "clock_tolerance"))
    present = milliseconds(now)
    newest: dict[tuple[str, str], dict[str, Reading]] = {}
    delayed: dict[tuple[str, str], dict[str, float]] = {}
    ahead: dict[Series, list[int]] = {}
    for reading in readings:
        series = reading.series
        key = (series.place, series.quantity)
        by_sensor, late = newest.setdefault(key, {}), delayed.setdefault(key, {})
        if reading.reason == FUTURE and series.sensor in by_sensor:
            run = ahead.setdefault(series, [by_sensor[series.sensor].at])
            if reading.at - run[-1] <= fresh_for:
                run.append(reading.at)
            if present - run[0] <= fresh_for and len(run) <= _CLOCK_AHEAD:
                continue
        if reading.reason == NOT_LIVE and reading.value is not None and series.sensor in by_sensor:
            late[series.sensor] = reading.value  # said at some time nobody knows: it stands beside, not in the place of
            continue
        by_sensor[series.sensor] = reading
        late.pop(series.sensor, None)
    just = present - clock_set <= fresh_for
    told = (reject for reject in rejects if reject.at is None or reject.at <= present + tolerance + 1)
    unreadable = max(told, key=lambda reject: reject.at or 0, default=None)
    values = {
        key: _measured(_since(clock_set, just, by_sensor.values()), now, shop, unreadable, tuple(delayed[key].values()))
        for key, by_sensor in newest.items()
    }
    if unreadable is not None:
        for quantity in ("air_temperature", "relative_humidity"):
            values.setdefault((place, quantity), Measured(None, 0.0, None, BAD, _end_fault(unreadable)))
    _humidity_from_dew_point(values, place)
    return Conditions(
        place=place,
        values=values,
        pressure=float(moist_air.pressure_at_altitude(shop.altitude)),
        piece_in_room=piece_in_room,
        since_solvent_spraying=since_solvent_spraying,
        logged_air=_logged_air(readings, now, place, shop),
    )


def _since(clock_set: int, just: bool, words: Iterable[Reading]) -> list[Reading]:
    """The words, those of before the clock was set without their values. just: it was set a moment ago."""
    return [
        replace(word, value=None, level=BAD, reason="clock-set")
        if word.at <= clock_set or (just and word.reason == FUTURE)
        else word
        for word in words
    ]


def _measured(
    by_sensor: Iterable[Reading], now: datetime, shop: Shop, unreadable: Reject | None, delayed: tuple[float, ...]
) -> Measured:
    """One value for a place and quantity: the mean of the sensors that may speak, else the newest with its fault.

    Sensors further apart than they are sure are not averaged: each of their values is kept, for the worse to count.
    delayed: values of stored messages that came after a live one; they count where they are worse.
    """
    words = list(by_sensor)
    last = max(words, key=lambda reading: reading.at)
    if unreadable is not None and unreadable.at is not None and unreadable.at > last.at:
        return Measured(None, 0.0, _age(last, now), BAD, _end_fault(unreadable))
    fresh_for = shop.limit("fresh_for").value
    good = [
        (reading, value)
        for reading in words
        if reading.level == GOOD and (value := reading.value) is not None and _age(reading, now) <= fresh_for
    ]
    if not good:
        uncertainty = shop.accuracy(last.series.sensor, last.series.quantity)
        return Measured(last.value, uncertainty, _age(last, now), last.level, last.reason)
    values = [value for _, value in good]
    sure = sorted(shop.accuracy(reading.series.sensor, reading.series.quantity) for reading, _ in good)
    age = max(_age(reading, now) for reading, _ in good)
    every = (*values, *delayed) if any(value not in values for value in delayed) else tuple(values)
    if which_counts(values, sure, len(every) > len(values)) is Counts.WORSE:
        return Measured(values[0], sure[-1], age, rivals=(min(every), max(every)))
    still = STILL if any(reading.reason == STILL for reading, _ in good) else ""
    return Measured(sum(values) / len(values), sure[-1], age, reason=still)


def which_counts(values: Sequence[float], sure: Sequence[float], delayed: bool = False) -> Counts:
    """Which of several sensors' values of now counts; sure: their standard uncertainties, rising.

    delayed: a stored message that says otherwise stands beside them.
    """
    apart = len(values) > 1 and max(values) - min(values) > 2.0 * hypot(sure[-1], sure[-2])
    return Counts.WORSE if apart or delayed else Counts.MEAN


def _end_fault(reject: Reject) -> str:
    return HALF_LINE if reject.reason == HALF_LINE else UNREADABLE_LINE


def _age(reading: Reading, now: datetime) -> float:
    return max(0.0, (milliseconds(now) - reading.at) / 1000.0)


def _humidity_from_dew_point(values: dict[tuple[str, str], Measured], place: str) -> None:
    """Where a sensor gives dew point instead of humidity, the humidity that goes with it."""
    air, dew = values.get((place, "air_temperature")), values.get((place, "dew_point"))
    if (place, "relative_humidity") in values or air is None or dew is None:
        return
    value, uncertainty = None, 0.0
    if air.value is not None and dew.value is not None:
        point = min(dew.value, air.value)
        with suppress(OutOfRange):
            here, raised = (
                float(moist_air.relative_humidity_from_dew_point(celsius, point))
                for celsius in (air.value, air.value + 1.0)
            )
            # drier than any room's air: the dew point sensor is at fault
            if here >= quality_limits()["relative_humidity", "range_low"].value:
                value = here
                uncertainty = (dew.uncertainty**2 + air.uncertainty**2) ** 0.5 * abs(value - raised)
    known = [age for age in (air.age, dew.age) if age is not None]
    level, reason = (air.level, air.reason) if air.level != GOOD else (dew.level, dew.reason)
    if value is None and level == GOOD:
        level, reason = BAD, "out-of-range"
    values[place, "relative_humidity"] = Measured(value, uncertainty, max(known, default=None), level, reason)


def _logged_air(readings: Sequence[Reading], now: datetime, place: str, shop: Shop) -> float | None:
    """Mean of the logged air weighted by exp(-age/1 h), when enough of the last hours was read; else None."""
    needed, over = shop.limit("surface_log_needed").value, shop.limit("surface_mean_over").value
    end = milliseconds(now)
    start = end - int(needed * 1000)
    own = [
        (reading.at, reading.value)
        for reading in readings
        if start - 1000 * _LONGEST_STEP <= reading.at <= end
        and reading.level == GOOD
        and reading.value is not None
        and reading.series.place == place
        and reading.series.quantity == "air_temperature"
    ]
    if not own or own[0][0] > start:
        return None
    weights = total = covered = 0.0
    for (at, value), until in zip(own, [*(at for at, _ in own[1:]), end], strict=True):
        spoken = min((until - at) / 1000.0, _LONGEST_STEP)
        weight = spoken * exp(-(end - at) / 1000.0 / over)
        covered += spoken
        weights += weight
        total += weight * value
    return total / weights if weights > 0 and covered >= _COVERED * needed else None


def typed_conditions(
    typed: Mapping[str, float],
    place: str,
    shop: Shop,
    piece_in_room: float | None = None,
    since_solvent_spraying: float | None = None,
) -> Conditions:
    """Conditions from values read off instruments just now, by quantity in SI."""
    return Conditions(
        place=place,
        values={(place, quantity): typed_value(quantity, value, shop) for quantity, value in typed.items()},
        pressure=float(moist_air.pressure_at_altitude(shop.altitude)),
        piece_in_room=piece_in_room,
        since_solvent_spraying=since_solvent_spraying,
    )


def typed_value(quantity: str, value: float, shop: Shop) -> Measured:
    """A value read just now."""
    return Measured(value, shop.accuracy(None, quantity), 0.0)
