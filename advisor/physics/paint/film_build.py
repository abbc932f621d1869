"""Film build: wet film, dry film, coats, and what a litre covers. Lengths [m], areas [m2], volumes [m3].

A cubic metre lies a metre thick on a square metre, so a litre makes 1,000 m2 um and a US gallon (231 in3) 1,604.17
ft2 mil. Thinning is thinner by volume of the unthinned paint (0 to 2); volume solids are those of the unthinned paint.
"""

import math

from advisor.physics.basics import all_inside, inside
from advisor.physics.paint.viscosity import THINNING_RANGE

SOLIDS_RANGE = (0.01, 1.0)  # [fraction]
FILM_RANGE = (1e-7, 5e-3)  # [m]
AREA_RANGE = (0.0, 10_000.0)  # [m2]
VOLUME_RANGE = (0.0, 10.0)  # [m3]
TRANSFER_RANGE = (0.05, 1.0)  # [fraction] of what leaves the gun that lands on the piece
COATS_RANGE = (1, 50)
_ROUNDING = 1e-9  # three coats and the last bit of a float are three coats


def dry_film(wet_film: float, volume_solids: float, thinning: float = 0.0) -> float:
    """Dry film [m] of a wet film [m]: wet x volume solids / (1 + thinning).

    wet_film 0.1 um to 5 mm, volume_solids 0.01 to 1. Nothing but solids is left; pores and shrink-back are not told.
    """
    inside("wet film", wet_film, FILM_RANGE, "m")
    return wet_film * _solids(volume_solids, thinning)


def wet_film_for(dry: float, volume_solids: float, thinning: float = 0.0) -> float:
    """Wet film [m] that dries to a film [m]; the inverse of `dry_film`."""
    inside("dry film", dry, FILM_RANGE, "m")
    return dry / _solids(volume_solids, thinning)


def extra_coats(coats: int, thinning: float) -> int:
    """Coats to add so that thinned coats build as much as so many (1 to 50) unthinned ones of the same wet film."""
    all_inside(
        ("coats", coats, COATS_RANGE, ""),
        ("thinning", thinning, THINNING_RANGE, "of the paint"),
    )
    return math.ceil(coats * thinning - _ROUNDING)


def area_covered(
    volume: float, dry: float, volume_solids: float, thinning: float = 0.0, transfer_efficiency: float = 1.0
) -> float:
    """Area [m2] that a volume [m3] of the ready mix covers with a dry film [m].

    volume 0 to 10 m3; transfer_efficiency 0.05 to 1, the share that lands on the piece.
    """
    all_inside(
        ("volume", volume, VOLUME_RANGE, "m3"),
        ("dry film", dry, FILM_RANGE, "m"),
        ("transfer efficiency", transfer_efficiency, TRANSFER_RANGE, "(a fraction)"),
    )
    return volume * transfer_efficiency * _solids(volume_solids, thinning) / dry


def volume_for(
    area: float, dry: float, volume_solids: float, thinning: float = 0.0, transfer_efficiency: float = 1.0
) -> float:
    """Volume [m3] of the ready mix for an area [m2], 0 to 10,000, and a dry film [m]; the inverse of `area_covered`."""
    all_inside(
        ("area", area, AREA_RANGE, "m2"),
        ("dry film", dry, FILM_RANGE, "m"),
        ("transfer efficiency", transfer_efficiency, TRANSFER_RANGE, "(a fraction)"),
    )
    return area * dry / (transfer_efficiency * _solids(volume_solids, thinning))


def _solids(volume_solids: float, thinning: float) -> float:
    """Volume solids of the thinned mix."""
    all_inside(
        ("volume solids", volume_solids, SOLIDS_RANGE, "(a fraction)"),
        ("thinning", thinning, THINNING_RANGE, "of the paint"),
    )
    return volume_solids / (1.0 + thinning)
