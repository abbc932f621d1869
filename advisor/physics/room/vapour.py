"""Solvent vapour in a room: how much is made, what air thins it, and how near it stands to where it burns.

Every figure is a caution, never a permission: air far under the flammable limit is still tens of times over what may be
breathed, vapour lies in pockets near the piece and the floor, and the fan and its wiring must be fit for the zone. The
safety data sheet, local codes and whoever licenses the booth stand over it.

Amounts of vapour and air [m3], flows [m3/s] at the room's temperature; limits and shares [fraction].
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from advisor.errors import OutOfRange
from advisor.physics.air.moist_air import PRESSURE_RANGE
from advisor.physics.basics import GAS_CONSTANT, ZERO_CELSIUS, all_inside, inside

SHARE_ALLOWED = 0.25  # of the lower limit; 29 CFR 1910.94(c)(6)(ii), from memory; NFPA 33, from memory
MIXING_FACTOR = 3.0  # common practice, no source; 1 is perfect mixing, CDC 1994 has up to 10 for very poor
TEMPERATURE_RANGE = (-20.0, 60.0)  # [°C]; limits are published for about 20 °C and fall little in this range
SPRAY_RANGE = (0.0, 0.1)  # [kg/s]
FLOW_RANGE = (0.0, 100.0)  # [m3/s]
ROOM_RANGE = (0.1, 100_000.0)  # [m3]
MIXING_RANGE = (1.0, 10.0)
LIMIT_RANGE = (0.001, 0.5)  # [fraction]
SECONDS_RANGE = (0.0, 1e7)  # [s]


@dataclass(frozen=True)
class Volatile:
    """A volatile of what is sprayed: mass fraction of the whole mix, molar mass [kg/mol], lower flammable limit.

    lower_limit [fraction by volume of air]; None: it does not burn, as water. An unknown limit is no None: take the
    lowest of its kind.
    """

    mass_fraction: float
    molar_mass: float
    lower_limit: float | None


@dataclass(frozen=True)
class Vapour:
    """What a kilogram of a mix gives off that burns: its volume [m3/kg] and the blend's lower limit [fraction]."""

    volume: float
    lower_limit: float


def vapour_of(
    volatiles: Sequence[Volatile], air_temperature: float = 20.0, air_pressure: float = 101_325.0
) -> Vapour | None:
    """The burning vapour of a mix, all of it evaporated; None where nothing in it burns.

    air_temperature -20 to 60 °C, air_pressure [Pa] 30,000 to 120,000; mass fractions over 0, together 1 at most (the
    rest is solids). Ideal gas. Blend's limit by Le Chatelier's rule, 1 / sum of share / limit. What does not burn is
    left out, as 29 CFR 1910.94(c)(6)(ii) allows (from memory).
    """
    all_inside(
        ("air temperature", air_temperature, TEMPERATURE_RANGE, "°C"),
        ("air pressure", air_pressure, PRESSURE_RANGE, "Pa"),
    )
    whole, moles, filled = 0.0, 0.0, 0.0  # mass fraction, [mol/kg] that burn, and the same over each one's limit
    for volatile in volatiles:
        all_inside(
            ("mass fraction", volatile.mass_fraction, (0.0, 1.0), ""),
            ("molar mass", volatile.molar_mass, (0.01, 1.0), "kg/mol"),
        )
        whole += volatile.mass_fraction
        if volatile.lower_limit is not None:
            inside("lower flammable limit", volatile.lower_limit, LIMIT_RANGE, "")
            moles += volatile.mass_fraction / volatile.molar_mass
            filled += volatile.mass_fraction / volatile.molar_mass / volatile.lower_limit
    inside("mass fractions together", whole, (0.0, 1.0 + 1e-9), "")
    if not moles > 0.0:
        return None
    return Vapour(moles * GAS_CONSTANT * (air_temperature + ZERO_CELSIUS) / air_pressure, moles / filled)


def vapour_flow(spray_rate: float, vapour: Vapour) -> float:
    """Vapour made [m3/s] while so much of the mix [kg/s], 0 to 0.1, leaves the gun.

    As if all of it were vapour at once; a film gives the last of it off minutes later, overspray at once.
    """
    inside("spray rate", spray_rate, SPRAY_RANGE, "kg/s")
    return spray_rate * vapour.volume


def dilution_air(vapour: float, lower_limit: float) -> float:
    """Fresh air that keeps vapour at a quarter of its lower limit, in the unit of the vapour (m3, m3/s, ft3).

    4 (1 - L) / L volumes of air a volume of vapour: 29 CFR 1910.94(c)(6)(ii), from memory, which has ft3 a gallon and
    L in percent. No mixing factor: the least air of a room mixed perfectly.
    """
    all_inside(
        ("vapour", vapour, (0.0, math.inf), ""),
        ("lower flammable limit", lower_limit, LIMIT_RANGE, ""),
    )
    return vapour * (1.0 - lower_limit) / (SHARE_ALLOWED * lower_limit)


def share_of_limit(
    vapour_made: float,
    exhaust_flow: float,
    lower_limit: float,
    room_volume: float | None = None,
    seconds: float | None = None,
    mixing_factor: float = MIXING_FACTOR,
) -> float:
    """Vapour in the room as a share of its lower flammable limit; 1 and over can burn, and a quarter is too much.

    vapour_made, exhaust_flow [m3/s] 0 to 100, a filter as loaded as it is; mixing_factor 1 to 10 divides the exhaust.
    Steady as it is at last (infinite without exhaust), or after seconds of spraying into a room of clean air [m3]:
    c = G K / Q (1 - e^(-Q t / K V)). Well mixed but for the factor: at the gun it is more.
    """
    all_inside(
        ("vapour made", vapour_made, FLOW_RANGE, "m3/s"),
        ("exhaust", exhaust_flow, FLOW_RANGE, "m3/s"),
        ("lower flammable limit", lower_limit, LIMIT_RANGE, ""),
        ("mixing factor", mixing_factor, MIXING_RANGE, ""),
    )
    drawn = exhaust_flow / mixing_factor
    if (room_volume is None) != (seconds is None):
        raise OutOfRange("a room without seconds, or seconds without a room", "both or neither", "give both")
    if room_volume is None or seconds is None:
        if vapour_made == 0.0:
            return 0.0
        return vapour_made / drawn / lower_limit if drawn > 0.0 else math.inf
    all_inside(
        ("room", room_volume, ROOM_RANGE, "m3"),
        ("time", seconds, SECONDS_RANGE, "s"),
    )
    changes = drawn * seconds / room_volume
    # without exhaust it only gathers: (1 - e^-x) / x is 1 there
    reached = -math.expm1(-changes) / changes if changes > 0.0 else 1.0
    return vapour_made * seconds / room_volume * reached / lower_limit


def share_after_coats(
    first: float,
    exhaust_flow: float,
    room_volume: float,
    spans: Sequence[tuple[float, float, float]],
    leak: float = 0.0,
    mixing_factor: float = MIXING_FACTOR,
) -> float:
    """The highest share of the lower limit in a session of several coats, from what the first alone comes to.

    first: `share_of_limit` at the end of its spraying; spans: (spraying, fan on after it, fan off until the next) [s]
    of each coat, the last one's rest unused. What a coat leaves is thinned by exhaust_flow, later by leak [m3/s], each
    over the mixing factor: c' = -Q c / (K V), and the next coat's own comes on top. All comes off while it is sprayed.
    """
    all_inside(
        ("share of the limit", first, (0.0, math.inf), ""),
        ("exhaust", exhaust_flow, FLOW_RANGE, "m3/s"),
        ("leak", leak, FLOW_RANGE, "m3/s"),
        ("room", room_volume, ROOM_RANGE, "m3"),
        ("mixing factor", mixing_factor, MIXING_RANGE, ""),
    )
    left, peak = 0.0, 0.0
    fast, slow = (flow / (mixing_factor * room_volume) for flow in (exhaust_flow, leak))
    for spraying, fan, still in spans:
        inside("time", np.array([spraying, fan, still]), SECONDS_RANGE, "s")
        reached = left * math.exp(-fast * spraying) + first
        peak = max(peak, reached)
        left = reached * math.exp(-fast * fan - slow * still)
    return peak


def exhaust_for(
    vapour_made: float, lower_limit: float, share: float = SHARE_ALLOWED, mixing_factor: float = MIXING_FACTOR
) -> float:
    """Exhaust [m3/s] that holds the room at a share of the limit: the steady `share_of_limit` turned round."""
    all_inside(
        ("vapour made", vapour_made, FLOW_RANGE, "m3/s"),
        ("lower flammable limit", lower_limit, LIMIT_RANGE, ""),
        ("share of the limit", share, (1e-6, 1.0), ""),
        ("mixing factor", mixing_factor, MIXING_RANGE, ""),
    )
    return vapour_made * mixing_factor / (share * lower_limit)


def mask_and_fan_time(removal_time: float, flash_time: float, mixing_factor: float = MIXING_FACTOR) -> float:
    """Seconds of mask and fan after the last coat, at the least: removal times the mixing factor, then the flash-off.

    removal_time [s]: of well-mixed vapour, source stopped; flash_time [s]: the film gives vapour off till then; both 0
    to 1e7. When it is over nothing says that the air is fit to breathe: a curing film goes on giving off.
    """
    all_inside(
        ("removal time", removal_time, SECONDS_RANGE, "s"),
        ("flash-off", flash_time, SECONDS_RANGE, "s"),
        ("mixing factor", mixing_factor, MIXING_RANGE, ""),
    )
    return removal_time * mixing_factor + flash_time
