"""The air of one place over time, as far as it was read: temperature and humidity of the same moments."""

from dataclasses import dataclass

import numpy as np

from advisor.physics.liquids import Array


@dataclass(frozen=True)
class AirRecord:
    """Moments [s since 1970, UTC] rising, air_temperature [°C] and relative_humidity [fraction, over 0 to 1] at each.

    temperature_accuracy [K] and humidity_accuracy [fraction]: standard uncertainties of the sensor that said so.
    """

    seconds: Array
    air_temperature: Array
    relative_humidity: Array
    temperature_accuracy: float
    humidity_accuracy: float

    def during(self, start: float, end: float) -> "AirRecord":
        """The part with start <= moment <= end [s since 1970]."""
        kept = (self.seconds >= start) & (self.seconds <= end)
        return AirRecord(
            self.seconds[kept],
            self.air_temperature[kept],
            self.relative_humidity[kept],
            self.temperature_accuracy,
            self.humidity_accuracy,
        )

    def at(self, moments: Array, fresh_for: float) -> tuple[Array, Array]:
        """Temperature and humidity at moments [s since 1970], straight between readings; NaN where none is near.

        fresh_for [s]: how far the nearest reading may be away.
        """
        if self.seconds.size == 0:
            nothing = np.full(moments.shape, np.nan)
            return nothing, nothing
        after = np.minimum(np.searchsorted(self.seconds, moments), self.seconds.size - 1)
        before = np.maximum(after - 1, 0)
        away = np.minimum(np.abs(self.seconds[after] - moments), np.abs(self.seconds[before] - moments))
        near = away <= fresh_for
        read = (np.interp(moments, self.seconds, values) for values in (self.air_temperature, self.relative_humidity))
        warm, damp = (np.where(near, values, np.nan) for values in read)
        return warm, damp
