"""A board that lags behind the air of the room: one temperature for the whole piece.

Lumped on purpose: with the transfer below, a 20 mm board follows with 20 min and a 45 mm one with 45 min, the figures
a finisher knows. In conduction in one dimension the face leads that, by 13 % of the way at 20 mm and 21 % at 45 mm in
the first minutes, and lags by 3 % late (tested). So a cold piece is taken for colder than its face is: the careful side
against dew.
"""

from dataclasses import dataclass

import numpy as np

from advisor.physics.basics import Array, all_inside

# [W/(m2 K)] from face to air: radiation 5 and slow air 4. Chosen so that wood of 680 kg/m3 and 1650 J/(kg K) has
# time constants of 20 min at 20 mm and 45 min at 45 mm (a finisher's starting table, from memory)
FACE_TRANSFER = 9.35
STACKED = 4.0  # how much slower a stacked board follows; common practice, no source
THICKNESS_RANGE = (0.0002, 0.2)  # [m]
PIECE_RANGE = (-40.0, 80.0)  # [°C]


@dataclass(frozen=True)
class Piece:
    """Boards alike: thickness [m] 0.0002-0.2, density [kg/m3], heat_capacity [J/(kg K)], temperature at the start [°C].

    area [m2]: both faces of all of them together, over 0: what they give the air. stacked: on each other, without
    sticks. Array, or arrays (cases,).
    """

    thickness: float | Array
    density: float | Array
    heat_capacity: float | Array
    temperature: float | Array
    area: float | Array = 2.0
    stacked: bool = False

    def __post_init__(self) -> None:
        """Refuse what no piece is."""
        all_inside(
            ("thickness", self.thickness, THICKNESS_RANGE, "m"),
            ("density", self.density, (50.0, 12_000.0), "kg/m3"),
            ("heat capacity", self.heat_capacity, (300.0, 5_000.0), "J/(kg K)"),
            ("piece temperature", self.temperature, PIECE_RANGE, "°C"),
            ("area of the pieces", self.area, (1e-6, 1e4), "m2"),
        )

    @property
    def capacity(self) -> Array:
        """Heat that warms them all by 1 K [J/K]: half the thickness stands behind each face."""
        return np.asarray(0.5 * self.density * self.heat_capacity * self.thickness * self.area)

    @property
    def transfer(self) -> Array:
        """Heat from the air into them all [W/K]."""
        return np.asarray(FACE_TRANSFER / (STACKED if self.stacked else 1.0) * self.area)

    @property
    def time_constant(self) -> Array:
        """Seconds after which they have gone 63 % of the way to the air's temperature."""
        return self.capacity / self.transfer


def warm_up_time(piece: Piece, air_temperature: float | Array, target: float | Array) -> Array:
    """Seconds until the piece has come to a target temperature [°C] in air of a steady one [°C].

    0 where it is there already (warm enough where the air warms it, cool enough where it cools), infinite where the
    air never brings it there. Dew that forms on it warms it a little sooner; that is left out.
    """
    air, wanted = all_inside(
        ("air temperature", air_temperature, PIECE_RANGE, "°C"),
        ("target temperature", target, PIECE_RANGE, "°C"),
    )
    start = np.asarray(piece.temperature, dtype=np.float64)
    whole, way = np.broadcast_arrays(air - start, wanted - start)
    share = np.divide(way, whole, out=np.where(way == 0.0, 0.0, np.inf), where=whole != 0.0)
    left = np.clip(1.0 - share, 0.0, 1.0)
    with np.errstate(divide="ignore"):
        return np.asarray(np.where(left > 0.0, -np.log(left), np.inf) * piece.time_constant)
