"""What the wood in a shop settles at in its air: advice for the bench, it decides nothing."""

from dataclasses import dataclass

import numpy as np

from advisor.physics.air.wood import DAY, LONGEST_GAP, mean_moisture, moisture_content
from advisor.series.air_track import AirTrack
from advisor.series.trace import AIR, HUMIDITY


@dataclass(frozen=True)
class WoodMoisture:
    """moisture [fraction of the dry mass] that wood in this air settles at; None: too little of it was read.

    days: of log that count; None: the air was typed. air [°C] and humidity [fraction]: as typed. beyond: share of the
    log outside what the equation reaches, counted as at its edge.
    """

    moisture: float | None
    days: float | None = None
    air_temperature: float | None = None
    relative_humidity: float | None = None
    beyond: float = 0.0


def wood_of_air(air_temperature: float, relative_humidity: float) -> WoodMoisture:
    """Wood in air that stays: [°C], -1.2 to 132.2, and [fraction], 0.05 to 0.95. Raises OutOfRange."""
    settles = float(moisture_content(air_temperature, relative_humidity))
    return WoodMoisture(settles, None, air_temperature, relative_humidity)


def wood_of_log(room: AirTrack) -> WoodMoisture:
    """Wood in the air of the last four weeks of a log; None where under two weeks of it were read."""
    damp = room.trace(HUMIDITY)
    found = mean_moisture(damp.times, room.trace(AIR).values, damp.values)
    if found is not None:
        return WoodMoisture(found.mean, found.days, beyond=found.beyond)
    gaps = np.diff(damp.times)
    return WoodMoisture(None, float(gaps[gaps <= LONGEST_GAP].sum()) / DAY)
