"""Heat and vapour between a surface and the air over it."""

import numpy as np

from advisor.physics.basics import Array, all_inside
from advisor.physics.film.liquids import Liquids

STEFAN_BOLTZMANN = 5.670374e-8  # [W/(m2 K4)], CODATA 2018
EMISSIVITY = 0.9  # wet organic films and wood, 0.85 to 0.95 in heat-transfer tables (from memory)
AIR_PRANDTL = 0.71  # air at 10 to 30 °C (from memory of heat-transfer tables, which agree)
_AIR_GAS_CONSTANT = 287.05  # [J/(kg K)]
AIR_HEAT_CAPACITY = 1006.0  # [J/(kg K)], dry air at room temperature
_GRAVITY = 9.81  # [m/s2]

AIR_SPEED_RANGE = (0.0, 5.0)  # [m/s]; laminar up to Re = 5e5
LENGTH_RANGE = (0.005, 3.0)  # [m]


def air_density(kelvin: Array | float, pressure: Array | float) -> Array:
    """Density of air [kg/m3] at [K] and [Pa], as a dry ideal gas (moisture changes it by under 2 %)."""
    return np.asarray(pressure / (_AIR_GAS_CONSTANT * kelvin))


def air_conductivity(kelvin: Array | float) -> Array:
    """Thermal conductivity of air [W/(m K)]: 0.0259 at 20 °C, rising with T^0.8 (from memory; within 1 %, 0-60 °C)."""
    return np.asarray(0.0259 * (np.asarray(kelvin) / 293.15) ** 0.8)


def air_viscosity(kelvin: Array | float) -> Array:
    """Dynamic viscosity of air [Pa s], Sutherland's law with 1.716e-5 at 273.15 K and 110.4 K."""
    kelvin = np.asarray(kelvin)
    return np.asarray(1.716e-5 * (kelvin / 273.15) ** 1.5 * (273.15 + 110.4) / (kelvin + 110.4))


def convection(
    air_speed: Array | float,
    length: Array | float,
    kelvin: Array | float,
    pressure: float,
    difference: float = 5.0,
) -> Array:
    """Convective heat transfer to a small flat thing [W/(m2 K)].

    Laminar flat plate, average Nu = 0.664 Re^1/2 Pr^1/3 (Pohlhausen), with natural convection Nu = 0.59 Ra^1/4
    (vertical plate, Ra 1e4 to 1e9) joined as cubes (Churchill 1977); both as in heat-transfer textbooks (from
    memory). air_speed [m/s] 0-5; length [m], the smallest dimension, 0.005-3; difference [K] between surface and air
    for the natural part.
    """
    speed, length = all_inside(
        ("air speed", air_speed, AIR_SPEED_RANGE, "m/s"),
        ("dimension", length, LENGTH_RANGE, "m"),
        do="check it",
    )
    kelvin = np.asarray(kelvin)
    kinematic = air_viscosity(kelvin) / air_density(kelvin, pressure)
    forced = 0.664 * np.sqrt(speed * length / kinematic) * np.cbrt(AIR_PRANDTL)
    rayleigh = _GRAVITY / kelvin * difference * length**3 / kinematic**2 * AIR_PRANDTL
    natural = 0.59 * rayleigh**0.25
    return np.asarray(np.cbrt(forced**3 + natural**3) * air_conductivity(kelvin) / length)


def radiation(kelvin: Array | float) -> Array:
    """Radiative heat transfer to surroundings near the air's temperature [W/(m2 K)], linearised."""
    return np.asarray(4.0 * EMISSIVITY * STEFAN_BOLTZMANN * np.asarray(kelvin) ** 3)


OVER_A_FACE = 2.0 / 3.0  # Chilton and Colburn's exponent, for air that flows over a face
IN_STILL_AIR = 1.0  # a small sphere carried along: Nu = Sh = 2, so that only diffusivities are compared


def mass_transfer(
    convective: Array | float,
    liquids: Liquids,
    kelvin: Array | float,
    pressure: float,
    exponent: float = OVER_A_FACE,
) -> Array:
    """Mass transfer coefficient of each vapour [m/s] for a convective coefficient of shape (...): result (..., S).

    Chilton and Colburn (1934): h / (rho cp) x Le^(-2/3), Le = thermal over mass diffusivity. kelvin [K]: of the air,
    of the same shape or one for all. exponent: of the Lewis number, OVER_A_FACE or IN_STILL_AIR.
    """
    density = air_density(kelvin, pressure)
    diffusivity = liquids.diffusivity(kelvin, pressure)
    thermal = air_conductivity(kelvin) / (density * AIR_HEAT_CAPACITY)
    lewis = thermal[..., None] / diffusivity
    return np.asarray((convective / (density * AIR_HEAT_CAPACITY))[..., None] * lewis**-exponent)
