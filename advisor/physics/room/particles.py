"""Dust in the air: cleanroom classes, how fast it falls, and how it stands against the shop's own clean air.

Diameters [m], counts [1/m3] of all particles of a diameter and over. A cheap optical counter sees little over 10 µm,
nibs are made by what is over 20 µm, and overspray counts as dust: a count is an index, not a promise of a clean film,
and no count says that the air is fit to breathe.
"""

import math

from advisor.errors import OutOfRange
from advisor.physics.air.moist_air import PRESSURE_RANGE
from advisor.physics.basics import GAS_CONSTANT, ZERO_CELSIUS, all_inside, inside
from advisor.physics.film.transfer import air_density, air_viscosity

CLASSES = range(1, 10)  # ISO 14644-1 classes 1 to 9
COUNTED_RANGE = (0.1e-6, 5e-6)  # [m], diameters that ISO 14644-1 classifies by
COUNT_RANGE = (0.0, 1e12)  # [1/m3]
DIAMETER_RANGE = (0.1e-6, 100e-6)  # [m], of a falling particle
DENSITY_RANGE = (100.0, 10_000.0)  # [kg/m3]
HEIGHT_RANGE = (0.0, 20.0)  # [m]
TEMPERATURE_RANGE = (-60.0, 100.0)  # [°C]
UNIT_DENSITY = 1000.0  # [kg/m3], for which tables of settling are made
_SLOPE = 2.08  # of counts over diameter, ISO 14644-1:1999 eq. 1
_AIR_MOLAR_MASS = 0.028965  # [kg/mol]
_GRAVITY = 9.80665  # [m/s2]
_NEAR = 1e-10  # relative, of the velocity


def class_limit(iso_class: int, diameter: float) -> float:
    """Most particles of a diameter [m] and over that a class lets stand in a cubic metre [1/m3].

    C = 10^N (0.1 µm / D)^2.08 for N 1 to 9 and D 0.1 to 5 µm, as the table prints it: three figures, no part of a
    particle (ISO 14644-1:1999 and :2015 eq. 1 and Table 1). The table leaves out cells of few particles, too rare to
    count, and of too many.
    """
    if iso_class not in CLASSES:
        raise OutOfRange(f"ISO class {iso_class}", "1 to 9", "a shop is class 8, 9 or over")
    inside("particle diameter", diameter, COUNTED_RANGE, "m")
    limit = 10.0**iso_class * math.pow(COUNTED_RANGE[0] / diameter, _SLOPE)
    return float(round(float(f"{limit:.2e}")))


def class_of(count: float, diameter: float) -> int | None:
    """The cleanest ISO class that a count [1/m3] of a diameter [m] and over meets; None: dirtier than class 9.

    count 0 to 1e12, diameter 0.1 to 5 µm. One counter on a shelf says about which class it would be; a class proper
    asks for a calibrated counter, several places and a volume of air (ISO 14644-1).
    """
    inside("particle count", count, COUNT_RANGE, "1/m3")
    return next((number for number in CLASSES if count <= class_limit(number, diameter)), None)


def count_at(count: float, diameter: float, other: float) -> float:
    """The count [1/m3] of a diameter [m] and over that goes with a count of another one, by the slope of ISO 14644-1.

    C ~ D^-2.08 (ISO 14644-1:1999 eq. 1), 0.1 to 100 µm: beyond 5 µm an extrapolation.
    """
    all_inside(
        ("particle diameter", diameter, DIAMETER_RANGE, "m"),
        ("particle diameter", other, DIAMETER_RANGE, "m"),
    )
    return count * math.pow(diameter / other, _SLOPE)


def dust_index(count: float, clean_count: float) -> float:
    """A count [1/m3] as a multiple of the shop's own clean count, the same counter at the same size; 1 is clean.

    count 0 to 1e12, clean_count over 0. Advisory, before anything is opened: mist and overspray count as dust.
    """
    all_inside(
        ("particle count", count, COUNT_RANGE, "1/m3"),
        ("clean count", clean_count, (1e-9, COUNT_RANGE[1]), "1/m3"),
    )
    return count / clean_count


def settling_velocity(
    diameter: float, density: float = UNIT_DENSITY, air_temperature: float = 20.0, air_pressure: float = 101_325.0
) -> float:
    """Velocity [m/s] at which a sphere falls in still air.

    diameter 0.1 to 100 µm, density 100 to 10,000 kg/m3, air_temperature -60 to 100 °C, air_pressure [Pa] 30,000 to
    120,000. Stokes with the slip of small particles (Cunningham; 2.34, 1.05 and 0.39 as in Hinds, Aerosol Technology
    2nd ed. 1999 eq. 3.20) and the drag of large ones (Schiller and Naumann, to Re 800); both from memory. Within 1 %
    of Hinds' table for unit density; a flake of dust, no sphere, falls more slowly.
    """
    all_inside(
        ("particle diameter", diameter, DIAMETER_RANGE, "m"),
        ("particle density", density, DENSITY_RANGE, "kg/m3"),
        ("air temperature", air_temperature, TEMPERATURE_RANGE, "°C"),
        ("air pressure", air_pressure, PRESSURE_RANGE, "Pa"),
    )
    kelvin = air_temperature + ZERO_CELSIUS
    viscosity = float(air_viscosity(kelvin))
    free_path = viscosity / air_pressure * math.sqrt(math.pi * GAS_CONSTANT * kelvin / (2.0 * _AIR_MOLAR_MASS))
    slip = 1.0 + free_path / diameter * (2.34 + 1.05 * math.exp(-0.39 * diameter / free_path))
    stokes = density * diameter**2 * _GRAVITY * slip / (18.0 * viscosity)
    reynolds_per_velocity = float(air_density(kelvin, air_pressure)) * diameter / viscosity
    # drag rises with the velocity, so a halved step goes home from above without swinging
    velocity = stokes
    while True:
        slower = stokes / (1.0 + 0.15 * math.pow(reynolds_per_velocity * velocity, 0.687))
        if abs(slower - velocity) <= _NEAR * velocity:
            return slower
        velocity = (velocity + slower) / 2.0


def settling_time(
    height: float,
    diameter: float,
    density: float = UNIT_DENSITY,
    air_temperature: float = 20.0,
    air_pressure: float = 101_325.0,
) -> float:
    """Seconds in which a sphere falls a height [m], 0 to 20, in still air; the rest as `settling_velocity`.

    Air that is stirred keeps particles up longer: under about 5 µm only air changes clean a room.
    """
    inside("height", height, HEIGHT_RANGE, "m")
    return height / settling_velocity(diameter, density, air_temperature, air_pressure)
