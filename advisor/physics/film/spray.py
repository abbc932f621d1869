"""From the nozzle to the piece: what a droplet loses, how cold it gets, and the water it takes up on the way."""

from dataclasses import dataclass, replace

import numpy as np

from advisor.physics.basics import Array, all_inside
from advisor.physics.film.film import dry
from advisor.physics.film.film_step import Air, Films, steps_until
from advisor.physics.film.transfer import IN_STILL_AIR, air_conductivity

DIAMETER_RANGE = (5e-6, 500e-6)  # [m]
FLIGHT_RANGE = (1e-4, 1.0)  # [s]
_NUSSELT = 2.0  # a small sphere carried along by the air it hangs in
FINE = (200, 0.10)  # the first step's share of the flight, and the growth of one over the one before
COARSE = (60, 0.25)


@dataclass(frozen=True)
class Flight:
    """Droplets on their way: diameter [m] as volume over surface (Sauter), seconds in the air."""

    diameter: float
    seconds: float


def landed(
    films: Films, flight: Flight, air_temperature: Array, vapour_pressure: Array, steps: tuple[int, float] = FINE
) -> Films:
    """The films as they land: the same wet thickness of what the droplets have become.

    films: as mixed, at the liquid's temperature; air_temperature [°C] and vapour_pressure [Pa] (N,) of the jet. A
    droplet is a film of a sixth of its diameter with nothing under it, in air at Nu = Sh = 2. steps: FINE or COARSE.
    Range: droplets 5 to 500 µm, 0.1 ms to 1 s.
    """
    all_inside(
        ("a droplet of", flight.diameter, DIAMETER_RANGE, "m"),
        ("a flight of", flight.seconds, FLIGHT_RANGE, "s"),
        do="check the gun's figures",
    )
    liquids = films.liquids
    thickness = films.resin_volume + (films.masses / liquids.density).sum(axis=1)
    thinned = flight.diameter / 6.0 / thickness
    convective = np.full(len(thickness), _NUSSELT * float(air_conductivity(293.15)) / flight.diameter)
    droplets = replace(
        films,
        masses=films.masses * thinned[:, None],
        resin_volume=films.resin_volume * thinned,
        resin_heat=films.resin_heat * thinned,
        radiates=False,
        touches=False,
        lewis=IN_STILL_AIR,
    )
    air = Air(flight.seconds, air_temperature, vapour_pressure, convective, air_temperature)
    moments = steps_until([flight.seconds], first=flight.seconds / steps[0], growth=steps[1])
    flown = dry(droplets, [air], moments)
    masses, temperature = flown.masses[-1], flown.temperature[-1]
    left = droplets.resin_volume + (masses / liquids.density).sum(axis=1)
    grown = thickness / left
    return replace(
        films,
        masses=masses * grown[:, None],
        resin_volume=droplets.resin_volume * grown,
        resin_heat=droplets.resin_heat * grown,
        temperature=temperature,
    )
