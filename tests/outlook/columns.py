"""Logs of air in columns, as a published table has them, for the tests of what reads the air over time."""

from typing import NamedTuple

import numpy as np

from advisor.outlook import outlook as ahead
from advisor.outlook.outlook import LeadSkill, Outlook
from advisor.series.air_track import AirTrack, track_from
from advisor.series.trace import AIR, DEW, HUMIDITY, Trace
from advisor.series.trace import together as joined


class Columns(NamedTuple):
    """times [s since 1970, UTC], air temperature and dew point [°C] at each; NaN where one is missing."""

    times: np.ndarray
    air_temperature: np.ndarray
    dew_point: np.ndarray

    @property
    def track(self) -> AirTrack:
        """As what reads the air over time takes it."""
        return track_from(self.times, {AIR: self.air_temperature, DEW: self.dew_point})


def outlook(log: Columns, now: float) -> Outlook:
    return ahead.outlook(log.track, now)


def backtest(log: Columns, *leads: tuple[int, ...]) -> tuple[LeadSkill, ...]:
    return ahead.hindcast_skill(log.track, *leads)


def damp_air(times, celsius, humidity, sure: tuple[float, float] = (0.5, 0.03)) -> AirTrack:
    """A track of temperature and humidity of the same moments."""
    of = {AIR: (celsius, sure[0]), HUMIDITY: (humidity, sure[1])}
    return AirTrack("shop", {name: Trace(np.asarray(times), values, own) for name, (values, own) in of.items()})


def room_of(seconds, celsius, *faults) -> Trace:
    """A room's temperature as it was read."""
    return Trace(np.array(seconds, float), np.array(celsius, float), faults=faults)


__all__ = ["Columns", "backtest", "damp_air", "joined", "outlook", "room_of"]
