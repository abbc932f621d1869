"""Solvents: what a wet film gives off, as data, and from which share in air each burns.

solvents.csv: one solvent a row; the suffix of a column is its unit, a record carries SI (kg/mol, kg/m3, J/mol,
fraction, °C), and each group of columns ends in its own tag and source. flammability.csv: every published lower
flammable limit that was found, fractions by volume of air; the lowest counts, and a solvent without a row does not
burn. The table of the 1971 regulation lies up to twice over newer ones, which is why no single source is trusted. A
limit tells where vapour burns; the air is unfit to breathe far below it.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache

from advisor.catalog.sourced import NAMES, Sourced, entry, table, table_rows
from advisor.errors import CatalogError, did_you_mean, nearest, shown

RESINS = ("nitrocellulose", "acrylic", "shellac", "polyurethane")


@dataclass(frozen=True)
class Solvent:
    """A solvent in SI.

    Vapour pressure: ln(p / Pa) = antoine_a - antoine_b / (T / K + antoine_c), from antoine_low to antoine_high [°C];
    vapour_pressure_fit_error is the largest relative misfit to the source, None where two points gave the curve. By
    each resin's name its role there: true, latent, diluent, none (throws the resin out).
    """

    id: str
    name: str
    also: tuple[str, ...] = field(metadata=NAMES)
    cas: str
    molar_mass: float  # kg/mol
    density: float  # kg/m3 of the liquid at 20 °C
    antoine_a: float
    antoine_b: float  # K
    antoine_c: float  # K
    antoine_low: float  # °C
    antoine_high: float  # °C
    vapour_pressure_fit_error: float | None  # fraction
    heat_of_vaporisation: float  # J/mol at 25 °C
    heat_capacity: float  # J/(mol K) of the liquid at 25 °C
    diffusion_volume: float  # cm3/mol, sum of the atoms' (Fuller, Schettler, Giddings)
    rer_low: float | None  # evaporation rate, n-butyl acetate = 1; None: no published figure known
    rer_high: float | None
    lfl: float | None  # lowest published lower flammable limit, fraction by volume; None: does not burn
    flash_point: float | None  # °C, closed cup, lowest believable
    water_miscible: bool
    water_solubility: float  # mass fraction of water in the solvent at saturation, 20 to 25 °C; 1: any
    water_activity_coefficient: float  # of water infinitely diluted in the solvent at 25 °C, on mole fractions
    hydroxyl: bool  # reacts with isocyanate
    nitrocellulose: str
    acrylic: str
    shellac: str
    polyurethane: str

    @property
    def roles(self) -> Mapping[str, str]:
        """Its role by resin."""
        return {resin: getattr(self, resin) for resin in RESINS}


@cache
def solvents() -> Mapping[str, Solvent]:
    """Every solvent by its id."""
    return {row.id: row for row in table("solvents.csv", Solvent)}


@cache
def lower_limits() -> Mapping[str, tuple[Sourced, ...]]:
    """Every solvent's published lower flammable limits [fraction], rising; none where it does not burn."""
    rows = list(zip(table_rows("flammability.csv"), table("flammability.csv", Sourced), strict=True))
    rows.sort(key=lambda row: row[1].value)
    return {key: tuple(limit for row, limit in rows if row["solvent"] == key) for key in solvents()}


def lowest_limit(solvent: str) -> Sourced | None:
    """The lowest published lower flammable limit [fraction] of a solvent by its id; None: it does not burn.

    Raises CatalogError with the nearest id.
    """
    return next(iter(entry(lower_limits(), solvent, "solvent")), None)


def find_solvent(text: str) -> Solvent:
    """The solvent a person means: its id, name or another usual spelling; case, spaces, hyphens do not matter.

    Raises CatalogError with the nearest spelling.
    """
    known, found = solvents(), _spellings().get(_plain(text))
    if found is not None:
        return known[found]
    words = [*known, *(word.casefold() for solvent in known.values() for word in (solvent.name, *solvent.also))]
    typed = text.strip().casefold()
    raise CatalogError(f"no solvent {shown(text)}", "", did_you_mean(typed, words if nearest(typed, words) else known))


@cache
def _spellings() -> Mapping[str, str]:
    return {
        _plain(word): solvent.id
        for solvent in solvents().values()
        for word in (solvent.id, solvent.name, *solvent.also)
    }


def _plain(text: str) -> str:
    return "".join(sign for sign in text.casefold() if sign.isalnum())
