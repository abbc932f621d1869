"""Moisture of wood: what it comes to in air that stays as it is, the air that holds it there, the mean of weeks.

Moisture content [fraction of the oven-dry mass], air temperature [°C], relative humidity [fraction]. The functions
take floats or arrays that broadcast, and give a float for floats.
"""

from dataclasses import dataclass

import numpy as np

from advisor.errors import OutOfRange
from advisor.physics.air.moist_air import Values, returned
from advisor.physics.basics import Array, all_inside, inside, record

TEMPERATURE_RANGE = (-1.2, 132.2)  # [°C], the table's 30 to 270 °F
HUMIDITY_RANGE = (0.05, 0.95)  # [fraction], the table's
_HALVINGS = 50  # the bracket of 0.9 shrinks to under 1e-15
DAY = 86_400.0  # [s]
LEAST_DAYS, MOST_DAYS = 14.0, 28.0  # an inch of wood follows the room over weeks
LONGEST_GAP = 6 * 3600.0  # [s]; over a longer one nobody knows what the air did


@dataclass(frozen=True)
class MeanMoisture:
    """Moisture that a board in the room tends to, over the last weeks of a record.

    mean [fraction]; days that the record covers, gaps left out; beyond: share of them [fraction] in air outside the
    table, counted as at its edge.
    """

    mean: float
    days: float
    beyond: float


def moisture_content(air_temperature: Values, relative_humidity: Values) -> Values:
    """Equilibrium moisture content [fraction] of wood in air.

    air_temperature -1.2 to 132.2 °C, relative_humidity 0.05 to 0.95. Hailwood and Horrobin's equation with the
    constants of the Wood Handbook (USDA FPL-GTR-282, 2021) eq. 4-5, which meets its Table 4-2 to the rounding of that
    but in one cell. Any wood; the Handbook takes a tenth of a percent for meaningless, and a board that dries stays 1
    to 4 % of moisture over one that takes water up.
    """
    celsius, humidity = all_inside(
        ("air temperature", air_temperature, TEMPERATURE_RANGE, "°C"),
        ("relative humidity", relative_humidity, HUMIDITY_RANGE, "(a fraction)"),
    )
    return returned(_equilibrium(celsius, humidity))


def humidity_for(air_temperature: Values, moisture: Values) -> Values:
    """Relative humidity [fraction] that holds wood at a moisture content [fraction]: `moisture_content` turned round.

    air_temperature -1.2 to 132.2 °C. Raises OutOfRange where it would lie outside 0.05 to 0.95.
    """
    given = inside("air temperature", air_temperature, TEMPERATURE_RANGE, "°C")
    celsius, wanted = np.broadcast_arrays(given, np.asarray(moisture, float))
    low, high = np.full(celsius.shape, HUMIDITY_RANGE[0]), np.full(celsius.shape, HUMIDITY_RANGE[1])
    driest, wettest = _equilibrium(celsius, low), _equilibrium(celsius, high)
    between = (driest <= wanted) & (wanted <= wettest)
    if not between.all():
        first = int(np.flatnonzero(~between)[0])
        raise OutOfRange(
            f"moisture content {wanted.flat[first]:g} at {celsius.flat[first]:g} °C",
            f"{driest.flat[first]:.3f} to {wettest.flat[first]:.3f} (a fraction)",
            "check the unit",
        )
    for _ in range(_HALVINGS):
        middle = (low + high) / 2.0
        under = _equilibrium(celsius, middle) < wanted
        low, high = np.where(under, middle, low), np.where(under, high, middle)
    return returned((low + high) / 2.0)


def mean_moisture(seconds: Array, air_temperature: Array, relative_humidity: Array) -> MeanMoisture | None:
    """Mean equilibrium moisture over the last 28 days of a record; None where under 14 days of it are covered.

    seconds rising, air_temperature [°C] -60 to 132.2, relative_humidity [fraction] 0 to 1, all of one length. The
    mean is by time, straight lines between neighbours; a stretch of over 6 h without a reading counts nothing.
    """
    times, celsius, humidity = record(seconds, air_temperature, relative_humidity)
    all_inside(
        ("air temperature", celsius, (-60.0, TEMPERATURE_RANGE[1]), "°C"),
        ("relative humidity", humidity, (0.0, 1.0), "(a fraction)"),
    )
    if len(times) < 2:
        return None
    last = times >= times[-1] - MOST_DAYS * DAY
    times, celsius, humidity = times[last], celsius[last], humidity[last]
    held = np.clip(celsius, *TEMPERATURE_RANGE), np.clip(humidity, *HUMIDITY_RANGE)
    moisture = _equilibrium(*held)
    outside = (held[0] != celsius) | (held[1] != humidity)
    spans = np.diff(times)
    spans = np.where(spans <= LONGEST_GAP, spans, 0.0)
    covered = float(spans.sum())
    if not covered >= LEAST_DAYS * DAY:
        return None
    return MeanMoisture(
        mean=float(spans @ (moisture[1:] + moisture[:-1])) / 2.0 / covered,
        days=covered / DAY,
        beyond=float(spans @ (outside[1:].astype(float) + outside[:-1])) / 2.0 / covered,
    )


def _equilibrium(celsius: Array, humidity: Array) -> Array:
    """Wood Handbook 2021 eq. 4-5, its constants for °C."""
    mass = 349.0 + celsius * (1.29 + celsius * 0.0135)
    k = 0.805 + celsius * (0.000736 - celsius * 0.00000273)
    k1 = 6.27 - celsius * (0.00938 + celsius * 0.000303)
    k2 = 1.91 + celsius * (0.0407 - celsius * 0.000293)
    dissolved = k * humidity
    bound = k1 * dissolved * (1.0 + 2.0 * k2 * dissolved) / (1.0 + k1 * dissolved * (1.0 + k2 * dissolved))
    return np.asarray(18.0 / mass * (dissolved / (1.0 - dissolved) + bound))
