"""A wet film on a piece of wood, metal or glass: what its temperature, solvents and water do from the gun to dry.

One function over any number of cases at once. State of each case: the mass of every liquid, water among them (taken up,
condensed, given back), the film's temperature, and the heat in the piece under it. Within a step each liquid leaves
exponentially, so no mass turns negative, with its activity extrapolated to the step's middle; the evaporated mass so
found enters the heat balance, which is solved for the temperature at the step's end (Newton), and the piece's heat is
exact for a steady flow. Tests hold it to a stiff solver within 0.1 K.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from advisor.errors import OutOfRange
from advisor.physics.liquids import GAS_CONSTANT, Array, Liquids
from advisor.physics.mixture import Resin, activity_per_mass
from advisor.physics.moist_air import ZERO_CELSIUS, saturation_pressure
from advisor.physics.slab import CELLS, Slab, SlabModes, slab_modes
from advisor.physics.transfer import OVER_A_FACE, mass_transfer, radiation

VAPOUR_HEAT_CAPACITY = 1500.0  # [J/(kg K)], organic vapours 1300 to 1700, water 1900 (from memory)
_MOST_AHEAD = 0.3  # an activity is extrapolated by at most this share of itself
_MOST_WARMING = 1.0  # [K], the furthest a temperature is extrapolated as Newton's start
_STOP_EVERY = 8  # steps between looks whether all films have set

FILM_TEMPERATURE_RANGE = (-40.0, 60.0)  # [°C], of pieces, air and landed films


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


@dataclass(frozen=True)
class HeatBalance:
    """Where the heat went, each (N,) [J/m2]: what came from air and walls, what evaporating took, what is where."""

    received: Array
    evaporated: Array
    into_film: Array
    into_piece: Array
    out_of_back: Array


@dataclass(frozen=True)
class History:
    """What happened at M moments.

    moments (M,) [s]; temperature (M, N) [°C]; masses (M, N, S) [kg/m2]; solids (M, N): volume share of the resin;
    heat: the balance over the whole time.
    """

    moments: Array
    temperature: Array
    masses: Array
    solids: Array
    heat: HeatBalance


def steps_until(ends: Sequence[float], first: float = 0.1, growth: float = 0.02, longest: float = np.inf) -> Array:
    """Moments [s] from 0 on that grow apart and meet every end exactly, with shorter steps again after each.

    first: the first step [s]; growth: of one step over the one before; longest: the longest step [s].
    """
    moments = [0.0]
    for end in ends:
        start = moments[-1]
        step = min(max(first, 0.25 * growth * start), longest)
        while moments[-1] < end:
            left = end - moments[-1]
            moments.append(end if step >= 0.7 * left else moments[-1] + step)
            step = min(step * (1 + growth), longest)
    return np.array(moments)


def dry(
    films: Films,
    airs: Sequence[Air],
    moments: Array | None = None,
    *,
    cells: int = CELLS,
    set_at: float | None = None,
    at_least: float = 0.0,
) -> History:
    """Dry the films through one air after the other.

    moments: as of `steps_until`, which also makes the default; the ends of the airs must be among them. cells: into how
    many the slab is cut. set_at: stop once every film has reached this share of solids and at_least [s] are past.
    Range: laminar air near one atmosphere, temperatures -40 to 60 °C. Raises OutOfRange for figures that are no film.
    """
    _refuse_nonsense(films, airs)
    if moments is None:
        moments = steps_until([air.until for air in airs])
    liquids, water = films.liquids, films.liquids.water
    modes = slab_modes(films.slabs, cells)
    conductance = modes.conductance[films.slab] if films.touches else np.zeros(len(films.slab))
    masses, temperature = films.masses.astype(np.float64), films.temperature + ZERO_CELSIUS
    piece = films.piece + ZERO_CELSIUS
    drive, front = modes.drive[films.slab], modes.front[films.slab]
    state = np.zeros_like(drive)
    kept_masses, kept_kelvin, ledger = [masses], [temperature], np.zeros((4, len(piece)))
    stage, over, last, warming = -1, _NOTHING, None, np.zeros(len(piece))
    for step in range(1, len(moments)):
        seconds = moments[step] - moments[step - 1]
        while stage < 0 or moments[step] > airs[stage].until:
            stage += 1
            over = _over(airs[stage], films, modes, piece)
        decay, weight = _decay(modes.rates, seconds)
        free = state * decay[films.slab] + weight[films.slab] * over.back
        drift = piece + (front * free).sum(axis=1)  # the slab's first cell if no heat came from the film
        gain = (front * weight[films.slab] * drive).sum(axis=1)
        link = conductance / (1.0 + conductance * gain)
        now = activity_per_mass(masses, films.resin_volume, liquids, films.resin)
        per_mass = now if last is None else _extrapolated(now, *last, seconds)
        last = (now, seconds)
        stored = (films.resin_heat + masses @ liquids.heat_capacity) / seconds
        before, kelvin = masses, temperature + np.clip(warming * seconds, -_MOST_WARMING, _MOST_WARMING)
        pure = liquids.vapour_pressure(kelvin)
        if water is not None:
            pure[:, water] = saturation_pressure(kelvin - ZERO_CELSIUS)
        partial = per_mass * pure
        stefan = _stefan((partial * before).sum(axis=1), over.vapour, films.pressure)
        conduct = over.speed * stefan[:, None]
        share = seconds * partial * conduct
        kept = np.exp(-share)
        masses = before * kept
        if over.vapours is not None:
            masses += seconds * conduct * over.vapours * _mean_kept(share)
        elif water is not None:
            masses[:, water] += seconds * conduct[:, water] * over.vapour * _mean_kept(share[:, water])
        latent = liquids.latent_heat(kelvin)
        heat = (latent * (before - masses)).sum(axis=1) / seconds
        steeper = share * masses * liquids.vapour_slope(kelvin)
        carried = (before - masses).sum(axis=1) / seconds * VAPOUR_HEAT_CAPACITY
        to_air = over.convective * _ackermann(carried, over.convective)
        resistance = stored + to_air + over.radiative + link
        sources = stored * temperature + to_air * over.around + over.radiative * over.walls + link * drift
        # one Newton step; the masses follow it, and the heat they then took closes the balance
        further = (sources - heat - resistance * kelvin) / (resistance + (latent * steeper).sum(axis=1) / seconds)
        kelvin = kelvin + further
        masses = np.maximum(masses - steeper * further[:, None], 0.0)
        heat = (latent * (before - masses)).sum(axis=1) / seconds
        flow = link * (kelvin - drift)
        state = free + weight[films.slab] * drive * flow[:, None]
        received = to_air * (over.around - kelvin) + over.radiative * (over.walls - kelvin)
        ledger += seconds * np.stack([received, heat, stored * (kelvin - temperature), flow])
        warming, temperature = (kelvin - temperature) / seconds, kelvin
        kept_masses.append(masses)
        kept_kelvin.append(temperature)
        if (
            set_at is not None
            and step % _STOP_EVERY == 0
            and moments[step] >= at_least
            and _all_set(masses, films, set_at)
        ):
            break
    history = np.array(kept_masses)
    into_piece = (modes.heat_content[films.slab] * state).sum(axis=1)
    return History(
        moments=moments[: len(history)],
        temperature=np.array(kept_kelvin) - ZERO_CELSIUS,
        masses=history,
        solids=films.resin_volume / (films.resin_volume + (history / liquids.density).sum(axis=2)),
        heat=HeatBalance(ledger[0], ledger[1], ledger[2], into_piece, ledger[3] - into_piece),
    )


@dataclass(frozen=True)
class _Over:
    """What an air comes to for the equations: kelvins, speeds times molar mass over R T, and the back's pull.

    The film's vapour and the air's density are taken at one temperature, the air's: what is left of it in the flux
    is the Lewis number's T^-0.03.

    vapour (N,): all vapour in the air [Pa]; vapours (N, S): that of each liquid, None where it is water alone.
    """

    around: Array
    walls: Array
    vapour: Array
    vapours: Array | None
    convective: Array
    radiative: Array
    speed: Array
    back: Array


_NOTHING = _Over(*(np.zeros(0),) * 3, None, *(np.zeros(0),) * 4)


def _over(air: Air, films: Films, modes: SlabModes, piece: Array) -> _Over:
    around = air.temperature + ZERO_CELSIUS
    speed = mass_transfer(air.convective, films.liquids, around, films.pressure, films.lewis) / around[:, None]
    vapour, vapours, water = air.vapour_pressure, None, films.liquids.water
    if air.vapours is not None:
        vapours = air.vapours.astype(np.float64)
        if water is not None:
            vapours[:, water] = air.vapour_pressure
        vapour = vapours.sum(axis=1)
    return _Over(
        around=around,
        walls=air.surroundings + ZERO_CELSIUS,
        vapour=vapour,
        vapours=vapours,
        convective=air.convective,
        radiative=radiation(around) if films.radiates else np.zeros(len(around)),
        speed=speed * films.liquids.molar_mass / GAS_CONSTANT,
        back=modes.back_drive[films.slab] * (around - piece)[:, None],
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
    ahead = 0.5 * seconds / seconds_before * (now - earlier)
    return np.asarray(now + np.clip(ahead, -_MOST_AHEAD * now, _MOST_AHEAD * now))


def _all_set(masses: Array, films: Films, solids: float) -> bool:
    volume = films.resin_volume + (masses / films.liquids.density).sum(axis=1)
    return bool(np.all(films.resin_volume >= solids * volume))


def _stefan(at_film: Array, in_air: Array, pressure: float) -> Array:
    """How much faster vapour leaves because it makes its own wind (Stefan flow), against low vapour pressures."""
    share = np.clip((at_film - in_air) / (pressure - in_air), -0.9, 0.9)
    safe = np.where(np.abs(share) < 1e-6, 1e-6, share)
    return np.asarray(-np.log1p(-safe) / safe * pressure / (pressure - in_air))


def _ackermann(carried: Array, convective: Array) -> Array:
    """How much less heat reaches the film against that wind (Ackermann 1937): x / (e^x - 1)."""
    x = np.clip(carried / convective, -2.0, 5.0)
    safe = np.where(np.abs(x) < 1e-6, 1e-6, x)
    return np.asarray(safe / np.expm1(safe))


def _refuse_nonsense(films: Films, airs: Sequence[Air]) -> None:
    if not airs:
        raise OutOfRange("no air", "one stage at least", "say what air the film dries in")
    for name, value in (("liquid", films.masses), ("resin", films.resin_volume)):
        if not np.all(np.isfinite(value) & (value >= 0)):
            raise OutOfRange(f"a film with {name} below 0 or not a number", "0 or more", "check the wet film")
    low, high = FILM_TEMPERATURE_RANGE
    for name, value in (
        ("film", films.temperature),
        ("piece", films.piece),
        *(("air", air.temperature) for air in airs),
        *(("walls", air.surroundings) for air in airs),
    ):
        outside = ~((value >= low) & (value <= high))
        if outside.any():
            raise OutOfRange(f"{name} {value[outside][0]:g} °C", f"{low:g} to {high:g} °C", "check it")
    for air in airs:
        vapour = air.vapour_pressure if air.vapours is None else np.column_stack([air.vapour_pressure, air.vapours])
        if not np.all((vapour >= 0) & (vapour < 0.5 * films.pressure)):
            raise OutOfRange("an air with no such vapour pressure", "0 to half the pressure", "check humidity")
        if not np.all((air.convective > 0) & np.isfinite(air.convective)):
            raise OutOfRange("an air that takes up no heat", "over 0 W/(m2 K)", "check the air speed")
