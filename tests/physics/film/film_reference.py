"""Figures of the film equations beside published ones: the tests judge them, and a command can write them down.

Every function returns `Comparison` records: quantity, source, what is published, what is computed.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from advisor.film.film_map import film_answers
from advisor.film.mix import mix_of_solvents
from advisor.film.wet_film import FilmCase, liquids_of
from advisor.physics.air import moist_air
from advisor.physics.film.film import dry
from advisor.physics.film.film_step import Air, steps_until
from advisor.physics.film.transfer import convection
from advisor.shop.shop import Shop
from tests.physics.film.film_cases import SEA_LEVEL, pure_films
from tests.support import reference_rows

AIR_MOLAR_MASS = 28.96e-3  # [kg/mol]
DEEP = 3e-3  # [m]: deep enough to settle before it is gone
FAN = 25.0  # [W/(m2 K)]; where nothing radiates the settled temperature does not depend on it

# ASTM D3539's evaporometer (from memory: 0.70 mL on a 90 mm filter paper hung in dry air of 25 °C at 21 L/min)
PAPER_DIAMETER, PAPER_MASS, PAPER_HEAT = 0.09, 0.087, 1340.0  # [m], [kg/m2], [J/(kg K)]; a usual filter paper
CABINET_AIR, CABINET_OPENING = 21e-3 / 60.0, 0.03  # [m3/s], [m2]; the air creeps: the paper's own draught decides
POURED, CABINET = 0.70e-6, 25.0  # [m3], [°C]

BLUSH_AIR = 80.0  # [°F], 26.7 °C
WET_BULB_AIRS = tuple((float(t), rh / 100) for t in range(5, 36, 5) for rh in range(20, 91, 10))
# dry-air wet bulbs at 20 and 25 °C [°C]: computed by the compiler of the reference values from Fuller diffusivities and
# library vapour pressures, "expect +/- 1.5 C"; not seen in print
DRY_AIR_WET_BULBS = {
    "water": (5.3, 7.7), "acetone": (-13.6, -12.0), "methanol": (-7.7, -6.1), "ethyl-acetate": (-2.3, -0.2),
    "methyl-ethyl-ketone": (-2.1, 0.0), "ethanol": (1.2, 3.3), "isopropanol": (4.6, 6.8), "toluene": (8.4, 11.3),
    "n-butyl-acetate": (13.3, 16.8), "n-butanol": (15.1, 18.6),
}  # fmt: skip


@dataclass(frozen=True)
class Comparison:
    """One figure beside the published one; low and high are the ends of the published range."""

    quantity: str
    source: str
    low: float
    high: float
    computed: float
    unit: str

    @property
    def published(self) -> float:
        """The middle of the published range."""
        return 0.5 * (self.low + self.high)

    @property
    def error(self) -> float:
        """Computed minus published."""
        return self.computed - self.published

    @property
    def ratio(self) -> float:
        """Computed over published."""
        return self.computed / self.published


def settled(name: str, air: np.ndarray, damp: np.ndarray, vapours: Mapping[str, float] | None = None) -> np.ndarray:
    """Temperature [°C] that a deep film of one liquid settles at where neither walls nor a piece warm it."""
    liquids = liquids_of([name])
    index = liquids.names.index(name)
    films = pure_films([{name: DEEP * liquids.density[index]}] * len(air), air, touches=False, radiates=False)
    until = 10.0 * DEEP * liquids.density[index] * liquids.heat_capacity[index] / (2.0 * FAN)
    others = None
    if vapours is not None:
        others = np.tile([vapours.get(each, 0.0) for each in liquids.names], (len(air), 1))
    stage = Air(until, air, damp, np.full(len(air), FAN), air, others)
    history = dry(films, [stage], steps_until([until], longest=until / 200.0))
    moved = np.abs(history.temperature[-1] - history.temperature[-20]).max()
    if not (moved < 0.02 and np.all(history.masses[-1].sum(axis=1) > 0.1 * history.masses[0].sum(axis=1))):
        raise AssertionError(f"{name} has not settled: still {moved:.3f} K in the last tenth")
    return history.temperature[-1]


def water_wet_bulbs() -> list[Comparison]:
    """A deep adiabatic film of water against the thermodynamic wet bulb, 5 to 35 °C and 20 to 90 %."""
    air, humidity = (np.array(column) for column in zip(*WET_BULB_AIRS, strict=True))
    expected = moist_air.wet_bulb(air, humidity, SEA_LEVEL)
    computed = settled("water", air, moist_air.vapour_pressure(air, humidity))
    return [
        Comparison(
            f"wet bulb of water, {t:g} °C {rh * 100:g} %", "psychrolib (ASHRAE 2017 ch. 1)", wet, wet, found, "°C"
        )
        for (t, rh), wet, found in zip(WET_BULB_AIRS, expected.tolist(), computed.tolist(), strict=True)
    ]


def toluene_textbook() -> Comparison:
    """Toluene's wet bulb in air of 60 °C that carries 0.050 kg of its vapour a kilogram.

    From memory: Treybal, Mass-Transfer Operations, 3rd ed., ch. 7 illustration, 31.8 °C.
    """
    liquids = liquids_of(["toluene"])
    moles = 0.050 / liquids.molar_mass[liquids.names.index("toluene")]
    vapour = SEA_LEVEL * moles / (moles + 1.0 / AIR_MOLAR_MASS)
    computed = settled("toluene", np.array([60.0]), np.array([0.0]), {"toluene": vapour})
    source = "Treybal, Mass-Transfer Operations 3rd ed. ch. 7 (from memory)"
    return Comparison("wet bulb of toluene, 60 °C, 0.050 kg/kg", source, 31.8, 31.8, float(computed[0]), "°C")


def dry_air_wet_bulbs() -> list[Comparison]:
    """Deep adiabatic films of ten liquids in dry air of 20 and 25 °C."""
    air, source = np.array([20.0, 25.0]), "reference values, computed apart from the tool; +/- 1.5 K"
    return [
        Comparison(f"wet bulb of {name}, {t:g} °C dry air", source, wet, wet, float(found), "°C")
        for name, published in DRY_AIR_WET_BULBS.items()
        for t, wet, found in zip(air, published, settled(name, air, np.zeros(2)), strict=True)
    ]


def evaporometer_seconds(names: list[str]) -> np.ndarray:
    """Time [s] to 90 % by weight of each liquid in the evaporometer, both faces of the paper giving off alike.

    One half of the sheet is followed: half the liquid and half the paper's heat on one face, nothing under it. One
    heat-transfer coefficient for all: a sheet of the paper's size in the creeping air of the cabinet.
    """
    liquids, area = liquids_of(names), np.pi / 4.0 * PAPER_DIAMETER**2
    density = {name: liquids.density[liquids.names.index(name)] for name in names}
    count = len(names)
    poured = [{name: density[name] * 0.5 * POURED / area} for name in names]
    films = pure_films(poured, [CABINET] * count, touches=False)
    films.resin_heat[:] = 0.5 * PAPER_MASS * PAPER_HEAT
    heat = float(convection(CABINET_AIR / CABINET_OPENING, PAPER_DIAMETER, CABINET + 273.15, SEA_LEVEL))
    cabinet, end = np.full(count, CABINET), 3e5
    air = Air(end, cabinet, np.zeros(count), np.full(count, heat), cabinet)
    history = dry(films, [air], steps_until([end]))
    left = history.masses.sum(axis=2) / history.masses[0].sum(axis=1)
    # what is left falls, so its mirror rises as interp wants it
    return np.array([np.interp(0.9, 1.0 - left[:, n], history.moments) for n in range(count)])


def published_rates() -> dict[str, tuple[float, float, str]]:
    """Published range of each solvent's relative evaporation rate, and the sources, over all rows kept."""
    found: dict[str, tuple[float, float, str]] = {}
    for row in reference_rows("evaporation_rates.csv"):
        low, high, source = found.get(row["solvent"], (np.inf, 0.0, ""))
        sources = f"{source}; {row['source']}" if source else row["source"]
        found[row["solvent"]] = (min(low, float(row["rer_low"])), max(high, float(row["rer_high"])), sources)
    return found


def evaporation_rates() -> list[Comparison]:
    """Relative evaporation rates from the simulated evaporometer, n-butyl acetate = 1."""
    published = published_rates()
    names = ["n-butyl-acetate", *published]
    seconds = evaporometer_seconds(names)
    return [
        Comparison(f"evaporation rate of {name}", source, low, high, float(seconds[0] / time), "n-butyl acetate = 1")
        for (name, (low, high, source)), time in zip(published.items(), seconds[1:], strict=True)
    ]


def blush_onsets(substrate: str = "wood", gun: str = "none") -> list[Comparison]:
    """Humidity from which a nitrocellulose film of one solvent blushes at 26.7 °C; published values from memory."""
    rows = reference_rows("blush_resistance.csv")
    air = (BLUSH_AIR - 32.0) / 1.8
    cases = [FilmCase(air, 0.5, air, mix_of_solvents(f"{row['solvent']}:1"), substrate, gun) for row in rows]
    answers = film_answers(cases, Shop())
    return [
        Comparison(f"blush onset of {row['solvent']}", row["source"], published, published, onset, "fraction")
        for row, published, onset in zip(
            rows,
            [float(row["relative_humidity_pct"]) / 100 for row in rows],
            [1.0 if answer.blush_onset is None else answer.blush_onset for answer in answers],
            strict=True,
        )
    ]
