"""One state of the air, with what follows from it and how sure each figure is."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from advisor.physics.air import moist_air


@dataclass(frozen=True)
class AirState:
    """Air at one place and moment.

    air_temperature [°C], relative_humidity [fraction], pressure [Pa]; the two uncertainties are standard
    uncertainties of independent errors [K] and [fraction]. Derived figures are computed when first asked for.
    """

    air_temperature: float
    relative_humidity: float
    pressure: float
    air_temperature_uncertainty: float
    relative_humidity_uncertainty: float

    @cached_property
    def dew_point(self) -> float:
        """Dew point over liquid water [°C]."""
        return float(moist_air.dew_point(self.air_temperature, self.relative_humidity))

    @cached_property
    def dew_point_uncertainty(self) -> float:
        """Standard uncertainty of the dew point [K]."""
        return float(
            moist_air.dew_point_uncertainty(
                self.air_temperature,
                self.relative_humidity,
                self.air_temperature_uncertainty,
                self.relative_humidity_uncertainty,
            )
        )

    @cached_property
    def humidity_ratio(self) -> float:
        """Water vapour per dry air [kg/kg]."""
        return float(moist_air.humidity_ratio(self.air_temperature, self.relative_humidity, self.pressure))

    @cached_property
    def humidity_ratio_uncertainty(self) -> float:
        """Standard uncertainty of the humidity ratio [kg/kg], from the dew point's: W is a function of it alone."""
        half = self.dew_point_uncertainty / 2
        below, above = (float(moist_air.saturation_pressure(self.dew_point + side)) for side in (-half, half))
        ratio = moist_air.MOLAR_MASS_RATIO
        return ratio * above / (self.pressure - above) - ratio * below / (self.pressure - below)

    @cached_property
    def wet_bulb(self) -> float:
        """Thermodynamic wet-bulb temperature [°C]."""
        return float(moist_air.wet_bulb(self.air_temperature, self.relative_humidity, self.pressure))

    @cached_property
    def wet_bulb_uncertainty(self) -> float:
        """Standard uncertainty of the wet bulb [K], by differences over a tenth of a kelvin and half a percent."""
        temperature = self.air_temperature + np.array([0.05, -0.05, 0.0, 0.0])
        humidity = min(max(self.relative_humidity, 0.006), 0.995) + np.array([0.0, 0.0, 0.005, -0.005])
        warmer, colder, damper, drier = np.asarray(moist_air.wet_bulb(temperature, humidity, self.pressure)).tolist()
        of_temperature = (warmer - colder) / 0.1 * self.air_temperature_uncertainty
        of_humidity = (damper - drier) / 0.01 * self.relative_humidity_uncertainty
        return float((of_temperature**2 + of_humidity**2) ** 0.5)
