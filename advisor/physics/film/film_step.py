"""One step of a drying film: what leaves, what comes, and the temperature at the step's end."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from advisor.physics.air.moist_air import saturation_pressure_at
from advisor.physics.basics import GAS_CONSTANT, ZERO_CELSIUS, Array
from advisor.physics.film.liquids import Liquids
from advisor.physics.film.mixture import Resin, activity_per_mass
from advisor.physics.film.slab import Slab, SlabModes
from advisor.physics.film.transfer import OVER_A_FACE, mass_transfer, radiation

VAPOUR_HEAT_CAPACITY = 1500.0  # [J/(kg K)], organic vapours 1300 to 1700, water 1900 (from memory)
_MOST_AHEAD = 0.3  # an activity is extrapolated by at most this share of itself
_MOST_WARMING = 1.0  # [K], the furthest a temperature is extrapolated as Newton's start
_TINY = 1e-9  # keeps x / (e^x - 1) and its like from dividing nothing by nothing


@dataclass(frozen=True)
class Air:
    """The air over the films for a while, one value for each of N cases.

    until [s] after landing; temperature (N,) [°C]; vapour_pressure (N,) of its water [Pa]; convective (N,)
    [W/(m2 K)]; surroundings (N,) [°C]: what the film exchanges radiation with. vapours (N, S): partial pressures of the
    liquids already in it [Pa], where it is not only damp; water's column is not read, vapour_pressure stands for it.
    """

    until: float
    temperature: Array
    vapour_pressure: Array
    convective: Array
    surroundings: Array
    vapours: Array | None = None


@dataclass(frozen=True)
class Films:
    """N films to dry together: the same liquids and resin, everything else by case.

    masses (N, S) [kg/m2] as landed; resin_volume (N,) [m3/m2]; resin_heat (N,) [J/(m2 K)]; temperature (N,) [°C] as
    landed; piece (N,) [°C]; slab (N,) index into `slabs`; pressure [Pa]. radiates: exchanges radiation with its
    surroundings; touches: lies on the slab (a droplet in flight does neither). lewis: exponent of the Lewis number
    between heat and vapour, OVER_A_FACE or IN_STILL_AIR.
    """

    liquids: Liquids
    resin: Resin
    masses: Array
    resin_volume: Array
    resin_heat: Array
    temperature: Array
    piece: Array
    slabs: tuple[Slab, ...]
    slab: NDArray[np.intp]
    pressure: float
    radiates: bool = True
    touches: bool = True
    lewis: float = OVER_A_FACE

    @cached_property
    def start(self) -> Array:
        """The piece's temperature at first (N,) [K]."""
        return self.piece + ZERO_CELSIUS


@dataclass(frozen=True)
class Over:
    """What an air comes to for the equations: kelvins, speeds times molar mass over R T, and the back's pull.

    The film's vapour and the air's density are taken at one temperature, the air's: what is left of it in the flux
    is the Lewis number's T^-0.03. vapour (N,): all vapour in the air [Pa]; vapours (N, S): that of each liquid, None
    where it is water alone; dry (N,): the pressure without the vapour [Pa].
    """

    around: Array
    walls: Array
    vapour: Array
    vapours: Array | None
    dry: Array
    convective: Array
    radiative: Array
    speed: Array
    back: Array


def over(air: Air, films: Films, wood: SlabModes) -> Over:
    """An air as the steps need it."""
    around = air.temperature + ZERO_CELSIUS
    speed = mass_transfer(air.convective, films.liquids, around, films.pressure, films.lewis) / around[:, None]
    vapour, vapours, water = air.vapour_pressure, None, films.liquids.water
    if air.vapours is not None:
        vapours = air.vapours.astype(np.float64)
        if water is not None:
            vapours[:, water] = air.vapour_pressure
        vapour = vapours.sum(axis=1)
    return Over(
        around=around,
        walls=air.surroundings + ZERO_CELSIUS,
        vapour=vapour,
        vapours=vapours,
        dry=films.pressure - vapour,
        convective=air.convective,
        radiative=radiation(around) if films.radiates else np.zeros(len(around)),
        speed=speed * films.liquids.molar_mass / GAS_CONSTANT,
        back=wood.back_drive * (around - films.start)[:, None],
    )


def wood_of(films: Films, modes: SlabModes) -> SlabModes:
    """The piece's modes for each case, or one row for all; a film that does not touch has no way into the piece."""
    if len(films.slabs) > 1:
        modes = SlabModes(*(table[films.slab] for table in vars(modes).values()))
    return modes if films.touches else replace(modes, conductance=np.zeros(1))


@dataclass(frozen=True)
class State:
    """Films at a moment: masses (N, S) [kg/m2], kelvin (N,), modes (N, K) of the piece's heat.

    activity (N, S) and seconds: of the step before, None at the start; warming (N,) [K/s] in it; heats (4, N) [J/m2]:
    what that step received, evaporated, stored in the film and sent into the piece, None where nobody asked.
    """

    masses: Array
    kelvin: Array
    modes: Array
    activity: Array | None
    seconds: float
    warming: Array
    heats: tuple[Array, Array, Array, Array] | None


def stepped(state: State, films: Films, air: Over, wood: SlabModes, seconds: float, account: bool = False) -> State:
    """The films a step later; account: with where the step's heat went.

    Each liquid leaves exponentially with its activity extrapolated to the step's middle; the piece takes a steady flow,
    exactly; one Newton step gives the temperature, the masses follow it, and the heat they took closes the balance.
    """
    liquids, before = films.liquids, state.masses
    decay, weight = _decay(wood.rates, seconds)
    free = state.modes * decay + weight * air.back
    pulled = weight * wood.drive
    drift = films.start + (wood.front * free).sum(axis=1)  # the slab's first cell if no heat came from the film
    link = wood.conductance / (1.0 + wood.conductance * (wood.front * pulled).sum(axis=1))
    activity = activity_per_mass(before, films.resin_volume, liquids, films.resin)
    ahead = activity if state.activity is None else _extrapolated(activity, state.activity, state.seconds, seconds)
    stored = (films.resin_heat + before @ liquids.heat_capacity) / seconds
    kelvin = state.kelvin + np.minimum(np.maximum(state.warming * seconds, -_MOST_WARMING), _MOST_WARMING)
    pure, slope, latent = liquids.vapour(kelvin)
    if liquids.water is not None:
        pure[:, liquids.water] = saturation_pressure_at(kelvin)
    partial = ahead * pure
    conduct = air.speed * (seconds * _stefan((partial * before).sum(axis=1), air, films.pressure))[:, None]
    share = partial * conduct
    masses = before * np.exp(-share)
    if air.vapours is not None:
        masses += conduct * air.vapours * _mean_kept(share)
    elif liquids.water is not None:
        column = liquids.water
        masses[:, column] += conduct[:, column] * air.vapour * _mean_kept(share[:, column])
    lost = before - masses
    heat = (latent * lost).sum(axis=1) / seconds
    steeper = share * masses * slope
    to_air = air.convective * _ackermann(lost.sum(axis=1) * (VAPOUR_HEAT_CAPACITY / seconds) / air.convective)
    resistance = stored + to_air + air.radiative + link
    sources = stored * state.kelvin + to_air * air.around + air.radiative * air.walls + link * drift
    further = (sources - heat - resistance * kelvin) / (resistance + (latent * steeper).sum(axis=1) / seconds)
    kelvin = kelvin + further
    masses = np.maximum(masses - steeper * further[:, None], 0.0)
    flow = link * (kelvin - drift)
    heats = None
    if account:
        heats = (
            seconds * (to_air * (air.around - kelvin) + air.radiative * (air.walls - kelvin)),
            (latent * (before - masses)).sum(axis=1),
            seconds * stored * (kelvin - state.kelvin),
            seconds * flow,
        )
    return State(
        masses=masses,
        kelvin=kelvin,
        modes=free + pulled * flow[:, None],
        activity=activity,
        seconds=seconds,
        warming=(kelvin - state.kelvin) / seconds,
        heats=heats,
    )


def _decay(rates: Array, seconds: float) -> tuple[Array, Array]:
    """exp(-rate t), and its integral over the step [s], which is the step itself where the rate is 0."""
    turned = rates * seconds
    integral = np.where(turned > 1e-9, -np.expm1(-turned) / np.maximum(rates, 1e-30), seconds)
    return np.exp(-turned), integral


def _mean_kept(share: Array) -> Array:
    """The share of what comes in through a step that is still there at its end, as liquid leaves at `share` a step."""
    return np.asarray(-np.expm1(-share) / np.maximum(share, 1e-300))


def _extrapolated(now: Array, earlier: Array, seconds_before: float, seconds: float) -> Array:
    """The activities in the middle of the coming step, carried on from the last one."""
    ahead = (0.5 * seconds / seconds_before) * (now - earlier)
    most = _MOST_AHEAD * now
    return np.asarray(now + np.minimum(np.maximum(ahead, -most), most))


def _stefan(at_film: Array, air: Over, pressure: float) -> Array:
    """How much faster vapour leaves because it makes its own wind (Stefan flow), against low vapour pressures."""
    share = np.minimum(np.maximum((at_film - air.vapour) / air.dry, -0.9), 0.9) + _TINY
    return np.asarray(-np.log1p(-share) / share * (pressure / air.dry))


def _ackermann(carried: Array) -> Array:
    """How much less heat reaches the film against that wind (Ackermann 1937): x / (e^x - 1)."""
    x = np.minimum(np.maximum(carried, -2.0), 5.0) + _TINY
    return np.asarray(x / np.expm1(x))


def steps_until(
    ends: Sequence[float],
    first: float = 0.1,
    growth: float = 0.02,
    longest: float = np.inf,
    longest_until: float = np.inf,
) -> Array:
    """Moments [s] from 0 on that grow apart and meet every end exactly, with shorter steps again after each.

    first: the first step [s]; growth: of one step over the one before; longest: the longest step [s] until
    longest_until [s].
    """
    moments = [0.0]
    for end in ends:
        start = moments[-1]
        step = max(first, 0.25 * growth * start)
        while moments[-1] < end:
            step = min(step, longest) if moments[-1] < longest_until else step
            left = end - moments[-1]
            moments.append(end if step >= 0.7 * left else moments[-1] + step)
            step *= 1 + growth
    return np.array(moments)
