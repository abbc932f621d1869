"""Wet films of a mix in some air: from what the sprayer knows to the film equations, and what came out."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import isfinite, log

import numpy as np

from advisor.catalog.materials import find_substrate
from advisor.catalog.solvents import Solvent, solvents
from advisor.errors import OutOfRange
from advisor.film.mix import Mix
from advisor.physics.air.moist_air import RELATIVE_HUMIDITY_RANGE, dew_point, saturation_pressure
from advisor.physics.basics import ZERO_CELSIUS, Array, settled_number
from advisor.physics.film import setting
from advisor.physics.film.film import History, dry
from advisor.physics.film.film_step import Air, Films, steps_until
from advisor.physics.film.liquids import Liquids, interaction_from_dilute_activity
from advisor.physics.film.mixture import Resin
from advisor.physics.film.slab import Slab
from advisor.physics.film.spray import COARSE, FINE, Flight, landed
from advisor.physics.film.transfer import convection
from advisor.shop.shop import Shop

_SOLIDS_HEAT = 1.8e6  # [J/(m3 K)] of the resin: 1200 kg/m3 x 1500 J/(kg K), from memory; a small part of the whole
_RESIN_PULL = 0.4  # Flory-Huggins parameter of a good solvent with its resin: 0.3 to 0.5 (from memory)
_ORGANIC_RESIN = "true"  # the role of a solvent in a resin the solvent table does not list
UNTIL_SET, UNTIL_DRY = 5_400.0, 5.0 * 86_400.0  # [s], the longest a film is followed
_LONGEST_STEP = 5.0  # [s] while blush is decided
_AT_LEAST = 120.0  # [s], the shortest a film is watched, if it sets sooner
_QUICK_GROWTH = 0.05  # of one step over the one before, where a tenth of a kelvin or two do not matter
_QUICK_UNTIL, _QUICK_SHORT_STEPS = 7_200.0, 120.0  # [s], followed so long, and by short steps so long after the gun


@dataclass(frozen=True)
class FilmCase:
    """One film: the air over it [°C, fraction, Pa], the piece [°C], the mix, the gun and the moving of the air [m/s].

    liquid: the material's temperature [°C], None where it is the air's.
    """

    air_temperature: float
    relative_humidity: float
    piece: float
    mix: Mix
    substrate: str = "wood"
    gun: str = "compressor"
    air_speed: float | None = None
    room_air_speed: float | None = None
    liquid: float | None = None
    pressure: float = 101_325.0


@dataclass(frozen=True)
class FilmOutcome:
    """What a film did.

    lowest, dew_point, at_packing [°C]: the film's lowest temperature after 3 s, the air's dew point, the film when the
    particles of a dispersion pack. below_dew [s]; condensed [kg/m2]; both and lowest until the film is judged (two
    minutes at least). water_to_slow_solvent at set and the most that stays clear; slow_share: slow solvent in the
    solvents left at set; to_set, to_pack, to_dry [s], None where it did not come in the time followed: a lacquer is
    sure to be followed past to_set with `to_dry` only. haze: the blush measure over its limit, as a logarithm: over 0
    is blush; NaN where a dispersion is not judged by it.
    """

    lowest: float
    dew_point: float
    below_dew: float
    condensed: float
    water_to_slow_solvent: float
    clear_up_to: float
    slow_share: float
    at_packing: float
    haze: float
    to_set: float | None
    to_pack: float | None
    to_dry: float | None


@dataclass(frozen=True)
class FilmRun:
    """Several films dried together: the equations' own record, and an outcome each."""

    history: History
    outcomes: tuple[FilmOutcome, ...]


def liquids_of(names: Sequence[str]) -> Liquids:
    """The liquids by their solvent ids, water always among them."""
    known = solvents()
    table: list[Solvent] = [known[name] for name in dict.fromkeys(("water", *names))]

    def column(name: str) -> Array:
        return np.array([float(getattr(solvent, name)) for solvent in table])

    molar_mass, density = column("molar_mass"), column("density")
    volume = molar_mass / density
    pull = interaction_from_dilute_activity(column("water_activity_coefficient"), volume[0] / volume)
    pull[0] = 0.0
    return Liquids(
        names=tuple(solvent.id for solvent in table),
        molar_mass=molar_mass,
        density=density,
        antoine_a=column("antoine_a"),
        antoine_b=column("antoine_b"),
        antoine_c=column("antoine_c"),
        heat_of_vaporisation=column("heat_of_vaporisation"),
        heat_capacity=column("heat_capacity") / molar_mass,
        diffusion_volume=column("diffusion_volume"),
        water_interaction=pull,
        resin_interaction=np.full(len(table), _RESIN_PULL),
        water_miscible=np.array([solvent.water_miscible for solvent in table]),
        water=0,
    )


def pull_from_uptake(uptake: float) -> float:
    """Flory-Huggins parameter of water with a resin that holds this volume share of it in saturated air."""
    if not 0.0 < uptake < 1.0:
        raise OutOfRange(f"a water uptake of {uptake:g}", "over 0 and under 1", "check the coating")
    return -(log(uptake) + 1.0 - uptake) / (1.0 - uptake) ** 2


def wet_blend(mix: Mix) -> tuple[Liquids, Array]:
    """A mix's liquids and their mass fractions (S,) in the volatiles."""
    liquids = liquids_of([name for name, _ in mix.fractions])
    parts = dict(mix.fractions)
    return liquids, np.array([parts.get(name, 0.0) for name in liquids.names])


def dry_films(cases: Sequence[FilmCase], shop: Shop, to_dry: bool = False, quick: bool = False) -> FilmRun:
    """Dry films of one resin together: until all have set, or with to_dry until they may be recoated.

    The cases share resin, carrier, gun and pressure. quick: by longer steps, for searches and looking up, within 0.2 K
    of the others. Raises OutOfRange for figures that are no film.
    """
    first = cases[0]
    if len({(case.mix.resin, case.mix.dispersion, case.gun, case.pressure) for case in cases}) > 1:
        raise OutOfRange("films of different resins, guns or pressures together", "one of each", "dry them apart")
    films = _as_mixed(cases, shop)
    air, damp = _column(cases, "air_temperature"), _damp(cases)
    jet_air, jet_damp = _jet(first.gun, air, damp, shop)
    if first.gun != "none":
        flight = Flight(shop.limit("droplet_diameter").value, shop.limit("flight_time").value)
        films = landed(films, flight, jet_air, jet_damp, COARSE if quick else FINE)
    long = to_dry or first.mix.dispersion  # hours, by steps that grow; blush is decided in minutes
    end = UNTIL_DRY if long else _QUICK_UNTIL if quick else UNTIL_SET
    airs = _airs(cases, shop, air, damp, jet_air, jet_damp, end)
    wanted = max(_judged_at(first.mix, shop), shop.limit("solids_to_recoat").value if to_dry else 0.0)
    steps = {"growth": _QUICK_GROWTH} if quick else {}
    moments = steps_until(
        [air.until for air in airs],
        longest=np.inf if long else _LONGEST_STEP,
        longest_until=shop.limit("gun_time").value + (_QUICK_SHORT_STEPS if quick else shop.limit("booth_time").value),
        **steps,
    )
    history = dry(films, airs, moments, set_at=min(wanted + 0.01, 0.99), at_least=_AT_LEAST)
    return FilmRun(history, _outcomes(cases, films, history, shop))


def _column(cases: Sequence[FilmCase], name: str) -> Array:
    return np.array([float(getattr(case, name)) for case in cases])


def _damp(cases: Sequence[FilmCase]) -> Array:
    humidity = np.clip(_column(cases, "relative_humidity"), RELATIVE_HUMIDITY_RANGE[0], 1.0)
    return np.asarray(humidity * saturation_pressure(_column(cases, "air_temperature")))


def _as_mixed(cases: Sequence[FilmCase], shop: Shop) -> Films:
    names = sorted({name for case in cases for name, _ in case.mix.fractions})
    liquids = liquids_of(names)
    parts = np.zeros((len(cases), len(liquids.names)))
    for row, case in enumerate(cases):
        for name, part in case.mix.fractions:
            parts[row, liquids.names.index(name)] = part
    wet, solids = (np.array([getattr(case.mix, name) for case in cases]) for name in ("wet_film", "volume_solids"))
    masses = parts / (parts / liquids.density).sum(axis=1)[:, None] * (wet * (1.0 - solids))[:, None]
    used = list(dict.fromkeys(case.substrate for case in cases))
    back = shop.limit("back_heat_transfer").value
    slabs = tuple(
        Slab(found.thickness, found.conductivity, found.density, found.heat_capacity, back)
        for found in map(find_substrate, used)
    )
    uptake = cases[0].mix.water_uptake
    liquid = [case.air_temperature if case.liquid is None else case.liquid for case in cases]
    return Films(
        liquids=liquids,
        resin=Resin(pull_from_uptake(uptake), cases[0].mix.dispersion),
        masses=masses,
        resin_volume=wet * solids,
        resin_heat=wet * solids * _SOLIDS_HEAT,
        temperature=np.array(liquid, dtype=np.float64),
        piece=_column(cases, "piece"),
        slabs=slabs,
        slab=np.array([used.index(case.substrate) for case in cases]),
        pressure=cases[0].pressure,
    )


def _jet(gun: str, air: Array, damp: Array, shop: Shop) -> tuple[Array, Array]:
    """The air of the spray where it meets the piece: shop air with some of the gun's."""
    share = shop.limit("gun_air_share").value
    if gun == "turbine":  # shop air, warmed
        return air + share * shop.limit("gun_air_warmer").value, damp
    if gun == "compressor":  # dry, at the room's temperature
        dry_air = shop.limit("gun_air_humidity").value * np.asarray(saturation_pressure(air))
        return air, (1.0 - share) * damp + share * np.minimum(dry_air, damp)
    return air, damp


def _airs(
    cases: Sequence[FilmCase],
    shop: Shop,
    air: Array,
    damp: Array,
    jet_air: Array,
    jet_damp: Array,
    end: float,
) -> list[Air]:
    length, pressure, kelvin = shop.limit("piece_dimension").value, cases[0].pressure, air + ZERO_CELSIUS

    def moving(own: str, usual: str) -> Array:
        speeds, default = [getattr(case, own) for case in cases], shop.limit(usual).value
        return convection(np.array([default if s is None else s for s in speeds]), length, kelvin, pressure)

    booth, room = moving("air_speed", "booth_air_speed"), moving("room_air_speed", "room_air_speed")
    gun_time, booth_time = shop.limit("gun_time").value, shop.limit("booth_time").value
    gone = gun_time + booth_time
    stages = []
    if cases[0].gun != "none":
        blown = np.maximum(shop.limit("gun_convection").value, booth)
        stages += [Air(setting.ARRIVAL, jet_air, jet_damp, blown, air), Air(gun_time, air, damp, blown, air)]
    return [*stages, Air(gone, air, damp, booth, air), Air(max(end, gone + 1.0), air, damp, room, air)]


def _outcomes(cases: Sequence[FilmCase], films: Films, history: History, shop: Shop) -> tuple[FilmOutcome, ...]:
    solids, resin = shop.limit("solids_at_set").value, cases[0].mix.resin
    keeps = np.array(
        [
            name != "water" and solvents()[name].roles.get(resin, _ORGANIC_RESIN) != "diluent"
            for name in films.liquids.names
        ]
    )
    held = setting.water_held(history, films, solids, keeps)
    humidity = np.clip(_column(cases, "relative_humidity"), RELATIVE_HUMIDITY_RANGE[0], 1.0)
    dew = np.asarray(dew_point(_column(cases, "air_temperature"), humidity))
    # each film by its own time, however much longer others of the batch keep being followed
    judged = _judged_at(cases[0].mix, shop)
    until = np.maximum(np.nan_to_num(setting.time_to_solids(history, judged), nan=np.inf), _AT_LEAST)
    lowest = setting.lowest_temperature(history, until)
    below = setting.seconds_below(history, dew, until)
    condensed = setting.water_condensed(history, dew, 0, until)
    packed = shop.limit("solids_when_packed").value
    at_packing, _ = setting.at_solids(history, packed)
    times = [setting.time_to_solids(history, s) for s in (solids, packed, shop.limit("solids_to_recoat").value)]
    outcomes = []
    for n, case in enumerate(cases):
        to_set, to_pack, to_dry = (_known(each[n]) for each in times)
        ratio, clear = settled_number(held.to_slow_solvent[n]), settled_number(held.dissolved_at_most[n])
        clear = clear if case.mix.most_water is None else min(clear, case.mix.most_water)
        haze = log(max(ratio, 1e-12) / clear)
        if case.mix.dispersion:
            haze = float("nan")
        elif case.mix.clear_by is not None:
            haze = log(max(UNTIL_SET if to_dry is None else to_dry, 1.0) / case.mix.clear_by)
        outcomes.append(
            FilmOutcome(
                lowest=settled_number(lowest[n]),
                dew_point=float(dew[n]),
                below_dew=settled_number(below[n]),
                condensed=settled_number(condensed[n]),
                water_to_slow_solvent=ratio,
                clear_up_to=clear,
                slow_share=settled_number(held.slow_share[n]),
                at_packing=settled_number(at_packing[n]),
                haze=settled_number(haze),
                to_set=to_set,
                to_pack=to_pack,
                to_dry=to_dry,
            )
        )
    return tuple(outcomes)


def _judged_at(mix: Mix, shop: Shop) -> float:
    """The solids by which a film is judged: as it sets; packed in a dispersion; dry where spirit must clear."""
    if mix.clear_by is not None:
        return shop.limit("solids_to_recoat").value
    return max(shop.limit("solids_at_set").value, shop.limit("solids_when_packed").value if mix.dispersion else 0.0)


def _known(seconds: float) -> float | None:
    return settled_number(seconds) if isfinite(seconds) else None
