"""How thick a liquid is: cup seconds to mm2/s and back, with warmth, and with thinner.

Viscosity is kinematic, in mm2/s (1e-6 m2/s, centistokes), as cups and data sheets have it. Temperatures [°C], -20 to
80. A share is thinner by volume of the ready mix (0 to under 1); thinning is thinner by volume of unthinned paint, as
data sheets have it (0 to 2): 25 % thinning is a share of 20 %.
"""

from dataclasses import dataclass
from functools import partial
from math import exp, log

from advisor.errors import OutOfRange
from advisor.physics.basics import GAS_CONSTANT, ZERO_CELSIUS, all_inside
from advisor.physics.paint.cups import WITHDRAWN, Cup, cups, find_cup
from advisor.physics.paint.cure import ENERGY_RANGE, TEMPERATURE_RANGE, rate_factor

VISCOSITY_RANGE = (0.3, 1e6)  # [mm2/s], acetone to honey many times over
_inside = partial(all_inside, do="check the figures")
THINNEST = 1.0  # [mm2/s], water: what runs out as fast as water is no reading of a paint
LONGEST = 600.0  # [s], of an estimate: no reading goes on for ten minutes
SHARE_RANGE = (0.0, 0.7)  # [fraction] of the ready mix; a thinning of 200 % is a share of 0.67
THINNING_RANGE = (0.0, 2.0)  # [fraction] of the unthinned paint
SLOPE_RANGE = (0.1, 50.0)  # [1], of -ln(viscosity) over share


@dataclass(frozen=True)
class CupReading:
    """What a cup said: viscosity [mm2/s], whether its seconds are in the cup's range, else the cup that would be.

    Out of range the viscosity is an estimate; better_cup is None in range, and where no cup here would do.
    """

    viscosity: float
    in_range: bool
    better_cup: str | None


def read_cup(cup: str | Cup, seconds: float) -> CupReading:
    """A cup's seconds [s] as a viscosity, flagged when they lie outside the cup's range.

    The estimate reaches from water's 1 mm2/s to 600 s; beyond, OutOfRange. Below its range a Ford or Zahn formula, a
    straight line, reads high: at 16 s Ford 4 says 44 mm2/s, where a cup maker's range sheet has 34. In range the cup
    itself is good to 2 % (Ford) to 5 % (Zahn) as a cup maker's manual allows; formula and sources: `cups`.
    """
    chosen = _cup(cup)
    first, last = chosen.seconds
    viscosity = chosen.viscosity(seconds) if 0.0 < seconds <= LONGEST else 0.0
    if not THINNEST <= viscosity <= VISCOSITY_RANGE[1]:
        shortest = chosen.drain_time(THINNEST)
        raise OutOfRange(
            f"{chosen.name} at {seconds:g} s",
            f"{first:g} to {last:g} s, as an estimate {shortest:.1f} to {LONGEST:g} s",
            "use a finer cup" if seconds < shortest else "check the seconds",
        )
    in_range = first <= seconds <= last
    return CupReading(viscosity, in_range, None if in_range else better_cup(viscosity, chosen))


def kinematic_viscosity(cup: str | Cup, seconds: float, estimate: bool = False) -> float:
    """Viscosity [mm2/s] of what takes so many seconds [s] to run out of a cup ("DIN 4", "Zahn #2", or a Cup).

    Out of the cup's seconds: OutOfRange that names the cup to use, or with `estimate` what `read_cup` makes of it.
    """
    reading = read_cup(cup, seconds)
    if not (reading.in_range or estimate):
        raise _misread(_cup(cup), f"at {seconds:g} s", reading.better_cup)
    return reading.viscosity


def seconds_for(cup: str | Cup, viscosity: float, estimate: bool = False) -> float:
    """Seconds [s] that a viscosity [mm2/s] takes in a cup; the inverse of `kinematic_viscosity`, ranges as there."""
    chosen = _cup(cup)
    _inside(("viscosity", viscosity, VISCOSITY_RANGE, "mm2/s"))
    (first, last), seconds = chosen.seconds, chosen.drain_time(viscosity)
    if chosen.viscosity(first) <= viscosity <= chosen.viscosity(last):
        return min(max(seconds, first), last)  # rounding must not carry an edge outside
    if not estimate:
        raise _misread(chosen, f"for {viscosity:g} mm2/s", better_cup(viscosity, chosen))
    if not (viscosity >= THINNEST and seconds <= LONGEST):
        raise OutOfRange(
            f"{chosen.name} for {viscosity:g} mm2/s",
            f"as an estimate {THINNEST:g} mm2/s to {LONGEST:g} s",
            f"use {better_cup(viscosity, chosen) or 'no cup'}",
        )
    return seconds


def better_cup(viscosity: float, cup: str | Cup | None = None) -> str | None:
    """The name of the cup whose range [mm2/s, as logarithms] has this viscosity nearest its middle, or None.

    With `cup`: one of its family if there is one, else of any. A withdrawn cup is never named.
    """
    bought = (each for each in cups().values() if each.id not in WITHDRAWN)
    fit = {each for each in bought if each.good_for[0] <= viscosity <= each.good_for[1]}
    family = None if cup is None else _cup(cup).family
    kin = {each for each in fit if each.family == family} or fit
    return min(kin, key=lambda each: (_off_middle(each, viscosity), each.id)).name if kin else None


def viscosity_at(viscosity: float, temperature: float, other_temperature: float, activation_energy: float) -> float:
    """Viscosity [mm2/s] at another temperature: v exp(E/R (1/T' - 1/T)), the form of Andrade and Arrhenius.

    activation_energy [J/mol] 0 to 200,000, of flow, the change of density in it. A straight line of ln v over 1/T
    holds for solutions over a shop's 10 to 40 °C; near the resin's softening it would be steeper.
    """
    _inside(("viscosity", viscosity, VISCOSITY_RANGE, "mm2/s"))
    return viscosity / rate_factor(other_temperature, temperature, activation_energy)


def temperature_for(viscosity: float, temperature: float, target: float, activation_energy: float) -> float:
    """Temperature [°C] at which a liquid of `viscosity` [mm2/s] at `temperature` has the target's; -20 to 80.

    The inverse of `viscosity_at`. Raises OutOfRange when no temperature of that range gives it.
    """
    _inside(
        ("viscosity", viscosity, VISCOSITY_RANGE, "mm2/s"),
        ("target viscosity", target, VISCOSITY_RANGE, "mm2/s"),
        ("temperature", temperature, TEMPERATURE_RANGE, "°C"),
        ("activation energy", activation_energy, (1.0, ENERGY_RANGE[1]), "J/mol"),
    )
    inverse = 1.0 / (temperature + ZERO_CELSIUS) + GAS_CONSTANT / activation_energy * log(target / viscosity)
    found = 1.0 / inverse - ZERO_CELSIUS if inverse > 0.0 else float("inf")
    _inside(("the temperature for that viscosity", found, TEMPERATURE_RANGE, "°C"))
    return found


def share_from_thinning(thinning: float) -> float:
    """Thinner by volume of the ready mix, from thinner by volume of the unthinned paint: t / (1 + t)."""
    _inside(("thinning", thinning, THINNING_RANGE, "of the paint"))
    return thinning / (1.0 + thinning)


def thinning_from_share(share: float) -> float:
    """Thinner by volume of the unthinned paint, from its share of the ready mix: s / (1 - s)."""
    _inside(("share of thinner", share, SHARE_RANGE, "of the mix"))
    return share / (1.0 - share)


def thinned(viscosity: float, share: float, slope: float, already: float = 0.0) -> float:
    """Viscosity [mm2/s] at a share of thinner: ln v falls with the share on a straight line of that slope.

    viscosity: at the share `already` in it. The logarithmic mixing rule (Arrhenius); a resin solution or dispersion
    bends off it, so the slope is one for the user's own steps, not for pure thinner.
    """
    _inside(
        ("viscosity", viscosity, VISCOSITY_RANGE, "mm2/s"),
        ("slope of thinning", slope, SLOPE_RANGE, ""),
        ("share of thinner already in", already, SHARE_RANGE, "of the mix"),
        ("share of thinner", share, (already, SHARE_RANGE[1]), "of the mix"),
    )
    return viscosity * exp(-slope * (share - already))


def share_for(viscosity: float, target: float, slope: float, already: float = 0.0) -> float:
    """Share of thinner at which the target viscosity [mm2/s] is reached; the inverse of `thinned`.

    A target at or above the viscosity needs no more: the share already in is given. Over 0.7: OutOfRange.
    """
    _inside(
        ("viscosity", viscosity, VISCOSITY_RANGE, "mm2/s"),
        ("target viscosity", target, VISCOSITY_RANGE, "mm2/s"),
        ("slope of thinning", slope, SLOPE_RANGE, ""),
        ("share of thinner already in", already, SHARE_RANGE, "of the mix"),
    )
    share = already + max(log(viscosity / target), 0.0) / slope
    _inside(("the share of thinner for that viscosity", share, SHARE_RANGE, "of the mix"))
    return share


def thinner_to_add(volume: float, share: float, already: float = 0.0) -> float:
    """Thinner to pour [m3] that brings a volume [m3], 0 to 10, from the share already in it to another share."""
    _inside(
        ("volume in the pot", volume, (0.0, 10.0), "m3"),
        ("share of thinner already in", already, SHARE_RANGE, "of the mix"),
        ("share of thinner", share, (already, SHARE_RANGE[1]), "of the mix"),
    )
    return volume * (share - already) / (1.0 - share)


def _cup(cup: str | Cup) -> Cup:
    return cup if isinstance(cup, Cup) else find_cup(cup)


def _off_middle(cup: Cup, viscosity: float) -> float:
    low, high = cup.good_for
    return abs(log(viscosity * viscosity / (low * high))) / log(high / low)


def _misread(cup: Cup, what: str, better: str | None) -> OutOfRange:
    first, last = cup.seconds
    do = f"use {better}, or take an estimate" if better else "no cup here reads it: take an estimate"
    return OutOfRange(f"{cup.name} {what}", f"{first:g} to {last:g} s", do)
