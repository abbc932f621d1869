"""Air changes: how long the air takes to clear, and how fast it changes, from what was measured.

Rates of air change are [1/s] here: air changes an hour over 3600. These figures are for planning; none of them says
that air is fit to breathe.
"""

import numpy as np

from advisor.errors import OutOfRange
from advisor.physics.basics import Array, Estimate, all_inside, inside, record

RATE_RANGE = (1e-7, 0.1)  # [1/s], about one change in four months to 360 an hour
MIXING_RANGE = (1.0, 10.0)  # perfect to very poor; MMWR 1994;43(RR-13) p. 72 (page from memory)
NAME_PLATE_SHARE = 0.5  # of a fan's name-plate flow that it moves through filters and duct; common practice, no source
FEWEST_READINGS = 3


def removal_time(air_change: float | Array, remaining: float | Array, mixing_factor: float | Array = 1.0) -> Array:
    """Seconds until only a share of what was in the air remains, its source stopped.

    t = -ln(C2/C1) / (Q/V), times the mixing factor: the formula of Table S3-1 in MMWR 1994;43(RR-13), its
    p. 72 (page from memory).
    air_change [1/s] 1e-7 to 0.1; remaining [fraction] over 0 to 1; mixing_factor 1 (perfect) to 10 (very poor).
    """
    rate, left, factor = all_inside(
        ("air change", air_change, RATE_RANGE, "1/s"),
        ("share that remains", remaining, (1e-12, 1.0), "(a fraction)"),
        ("mixing factor", mixing_factor, MIXING_RANGE, ""),
    )
    return np.asarray(-np.log(left) / rate * factor)


def remaining_share(air_change: float | Array, seconds: float | Array, mixing_factor: float | Array = 1.0) -> Array:
    """Share [fraction] of what was in the air that remains after a time [s, 0 to 1e7]; `removal_time` turned round."""
    rate, after, factor = all_inside(
        ("air change", air_change, RATE_RANGE, "1/s"),
        ("time", seconds, (0.0, 1e7), "s"),
        ("mixing factor", mixing_factor, MIXING_RANGE, ""),
    )
    return np.asarray(np.exp(-rate * after / factor))


def air_change_from_decay(seconds: Array, concentration: Array, background: float) -> Estimate:
    """Rate of air change [1/s] from the decay of something in the air whose source has stopped.

    The slope of ln(C - background) against time, least squares: the decay form of ASTM E741 (from memory); its
    uncertainty is from the scatter about the line alone. seconds rising, concentration in any unit, background in the
    same. Refuses fewer than 3 readings, a reading at or below the background, and readings that do not fall.
    """
    time, level = record(seconds, concentration)
    if time.size < FEWEST_READINGS:
        raise OutOfRange(f"{time.size} readings", f"{FEWEST_READINGS} or more", "log each minute")
    above = level - background
    if not np.all(above > 0.0):  # NaN fails it too
        raise OutOfRange(
            f"a reading of {float(level[~(above > 0.0)][0]):g} over a background of {background:g}",
            "readings over the background",
            "stop the record where it reaches the background",
        )
    logged = np.log(above)
    from_mean = time - time.mean()
    spread = float(from_mean @ from_mean)
    rate = -float(from_mean @ logged) / spread
    scatter = logged - logged.mean() + rate * from_mean
    if not rate > 0.0:
        raise OutOfRange("readings that do not fall", "a decay", "start the record once the source has stopped")
    return Estimate(rate, float(np.sqrt(scatter @ scatter / (len(time) - 2) / spread)))


def flow_from_name_plate(name_plate_flow: float) -> float:
    """Flow to count with [m3/s] for a fan that was never measured, from its name plate [m3/s], 0 to 50."""
    return NAME_PLATE_SHARE * float(inside("name-plate flow", name_plate_flow, (0.0, 50.0), "m3/s"))


def flow_from_face_velocity(velocity: float, area: float) -> float:
    """Flow [m3/s] through an opening: mean velocity over its face [m/s, 0 to 10] times its free area [m2, 0 to 50]."""
    mean, opening = all_inside(
        ("face velocity", velocity, (0.0, 10.0), "m/s"),
        ("opening", area, (0.0, 50.0), "m2"),
    )
    return float(mean * opening)
