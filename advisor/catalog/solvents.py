"""Solvents: what a wet film gives off, as data.

File: solvents.csv, one solvent a row. The suffix of a column is its unit; a record carries SI (kg/mol, kg/m3, J/mol,
fraction, °C). Each group of columns ends in its own tag and source.
"""

import math
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType

from advisor.catalog.sourced import table_rows
from advisor.errors import CatalogError, did_you_mean, nearest, shown

TAGS = ("published", "computed", "common practice", "from memory")
RESINS = ("nitrocellulose", "acrylic", "shellac", "polyurethane")
ROLES = ("true", "latent", "diluent", "none")
GROUPS = ("identity", "thermal", "diffusion", "rer", "fire", "water", "roles")  # each has a _tag and a _source column
SHOP_COLD, SHOP_WARM = -25.0, 60.0  # °C; every vapour pressure must hold from one to the other
WATER_COLD = 0.0  # °C; water's vapour pressure need not reach lower: below it ice would form
_TABLE = "solvents.csv"
_TEXTS = ("id", "name", "also", "cas")
_YES_NO = ("water_miscible", "hydroxyl")


@dataclass(frozen=True)
class _Column:
    """A column of numbers: believable range in its own unit, the factor to SI, and whether a cell may be empty."""

    name: str
    low: float
    high: float
    factor: float = 1.0
    may_be_empty: bool = False


_COLUMNS = (
    _Column("molar_mass_g_per_mol", 10, 400, 1e-3),
    _Column("density_kg_per_m3", 500, 1700),
    _Column("antoine_a", 10, 40),
    _Column("antoine_b_k", 500, 10_000),
    _Column("antoine_c_k", -150, 0),
    _Column("antoine_low_c", -100, 60),
    _Column("antoine_high_c", 0, 300),
    _Column("vapour_pressure_fit_error", 0, 0.05, may_be_empty=True),
    _Column("heat_of_vaporisation_kj_per_mol", 15, 120, 1e3),
    _Column("heat_capacity_j_per_mol_k", 40, 800),
    _Column("diffusion_volume", 5, 500),
    _Column("rer_low", 1e-4, 20, may_be_empty=True),
    _Column("rer_high", 1e-4, 20, may_be_empty=True),
    _Column("lfl", 0.001, 0.2, may_be_empty=True),
    _Column("flash_point_c", -60, 200, may_be_empty=True),
    _Column("water_solubility_mass_fraction", 1e-6, 1),
    _Column("water_activity_coefficient", 0.1, 10_000),
)
_KNOWN = (
    *_TEXTS,
    *(column.name for column in _COLUMNS),
    *_YES_NO,
    *RESINS,
    "antoine_tag",
    "vapour_pressure_source",
    *(f"{group}_{part}" for group in GROUPS for part in ("tag", "source")),
)


@dataclass(frozen=True)
class Origin:
    """Where a group of a solvent's numbers comes from."""

    tag: str
    source: str


@dataclass(frozen=True)
class Solvent:
    """A solvent in SI.

    Vapour pressure: ln(p / Pa) = antoine_a - antoine_b / (T / K + antoine_c), from antoine_low to antoine_high [°C];
    vapour_pressure_fit_error is the largest relative misfit to the source, None where two points gave the curve.
    """

    id: str
    name: str
    also: tuple[str, ...]
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
    roles: Mapping[str, str]  # resin -> true, latent, diluent, none (throws the resin out)
    origins: Mapping[str, Origin]  # "vapour_pressure" and each of GROUPS


@cache
def solvents() -> Mapping[str, Solvent]:
    """Every solvent by its id. Raises CatalogError naming file, row and column of a bad cell."""
    return solvents_from_rows(table_rows(_TABLE), _TABLE)


def find_solvent(text: str) -> Solvent:
    """The solvent a person means: its id, name or another usual spelling; case, spaces, hyphens do not matter.

    Raises CatalogError with the nearest spelling.
    """
    found = _spellings().get(_plain(text))
    if found is not None:
        return solvents()[found]
    known = solvents()
    words = [*known, *(word.casefold() for solvent in known.values() for word in (solvent.name, *solvent.also))]
    typed = text.strip().casefold()
    raise CatalogError(f"no solvent {shown(text)}", "", did_you_mean(typed, words if nearest(typed, words) else known))


def solvents_from_rows(rows: Iterable[Mapping[str, str]], where: str) -> Mapping[str, Solvent]:
    """Solvents from a table's rows. Raises CatalogError naming file, row and column."""
    found: dict[str, Solvent] = {}
    spellings: dict[str, str] = {}
    for number, row in enumerate(rows, start=2):
        solvent = _solvent(row, f"{where}, row {row.get('id') or number}")
        for spelling in {_plain(word) for word in (solvent.id, solvent.name, *solvent.also)}:
            taken = spellings.setdefault(spelling, solvent.id)
            if taken != solvent.id or solvent.id in found:
                _refuse(f"{where}, row {solvent.id}", "also", spelling, f"a spelling that {taken} does not have")
        found[solvent.id] = solvent
    return MappingProxyType(found)


@cache
def _spellings() -> Mapping[str, str]:
    return {
        _plain(word): solvent.id
        for solvent in solvents().values()
        for word in (solvent.id, solvent.name, *solvent.also)
    }


def _plain(text: str) -> str:
    return "".join(sign for sign in text.casefold() if sign.isalnum())


def _solvent(row: Mapping[str, str], where: str) -> Solvent:
    for key in row:
        if key not in _KNOWN:
            raise CatalogError(f"{where}: unknown column {shown(str(key))}", "", did_you_mean(str(key), _KNOWN))
    for key in _KNOWN:
        if row.get(key) is None:
            raise CatalogError(f"{where}: column {key} is missing", "", "add it")
    _check_texts(row, where)
    numbers = {column.name: _number(row, column, where) for column in _COLUMNS}
    origins = {group: Origin(row[f"{group}_tag"], row[f"{group}_source"]) for group in GROUPS}
    origins["vapour_pressure"] = Origin(row["antoine_tag"], row["vapour_pressure_source"])
    solvent = Solvent(
        id=row["id"],
        name=row["name"],
        also=tuple(word.strip() for word in row["also"].split(";") if word.strip()),
        cas=row["cas"],
        molar_mass=_given(numbers, "molar_mass_g_per_mol"),
        density=_given(numbers, "density_kg_per_m3"),
        antoine_a=_given(numbers, "antoine_a"),
        antoine_b=_given(numbers, "antoine_b_k"),
        antoine_c=_given(numbers, "antoine_c_k"),
        antoine_low=_given(numbers, "antoine_low_c"),
        antoine_high=_given(numbers, "antoine_high_c"),
        vapour_pressure_fit_error=numbers["vapour_pressure_fit_error"],
        heat_of_vaporisation=_given(numbers, "heat_of_vaporisation_kj_per_mol"),
        heat_capacity=_given(numbers, "heat_capacity_j_per_mol_k"),
        diffusion_volume=_given(numbers, "diffusion_volume"),
        rer_low=numbers["rer_low"],
        rer_high=numbers["rer_high"],
        lfl=numbers["lfl"],
        flash_point=numbers["flash_point_c"],
        water_miscible=row["water_miscible"] == "yes",
        water_solubility=_given(numbers, "water_solubility_mass_fraction"),
        water_activity_coefficient=_given(numbers, "water_activity_coefficient"),
        hydroxyl=row["hydroxyl"] == "yes",
        roles=MappingProxyType({resin: row[resin] for resin in RESINS}),
        origins=MappingProxyType(origins),
    )
    _check_sense(solvent, row, where)
    return solvent


def _check_texts(row: Mapping[str, str], where: str) -> None:
    for key in (*_TEXTS, "vapour_pressure_source", *(f"{group}_source" for group in GROUPS)):
        if not row[key].strip() and key != "also":
            _refuse(where, key, row[key], "a text")
    if not re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", row["id"]):
        _refuse(where, "id", row["id"], "small letters, digits and single hyphens")
    if not _is_cas(row["cas"]):
        _refuse(where, "cas", row["cas"], "a CAS number whose check digit is right")
    choices: dict[str, tuple[str, ...]] = dict.fromkeys(_YES_NO, ("yes", "no"))
    choices |= dict.fromkeys(RESINS, ROLES)
    choices |= dict.fromkeys(("antoine_tag", *(f"{group}_tag" for group in GROUPS)), TAGS)
    for key, allowed in choices.items():
        if row[key] not in allowed:
            _refuse(where, key, row[key], ", ".join(allowed))


def _is_cas(text: str) -> bool:
    if not re.fullmatch(r"[1-9][0-9]{1,6}-[0-9]{2}-[0-9]", text):
        return False
    *digits, check = (int(sign) for sign in text if sign != "-")
    return sum(place * digit for place, digit in enumerate(reversed(digits), start=1)) % 10 == check


def _number(row: Mapping[str, str], column: _Column, where: str) -> float | None:
    text = row[column.name].strip()
    if not text and column.may_be_empty:
        return None
    try:
        value = float(text)
    except ValueError:
        value = math.nan
    if not column.low <= value <= column.high:
        _refuse(where, column.name, text, f"{column.low:g} to {column.high:g}")
    return value * column.factor


def _given(numbers: Mapping[str, float | None], name: str) -> float:
    value = numbers[name]
    assert value is not None, name  # only columns that may be empty give None
    return value


def _check_sense(solvent: Solvent, row: Mapping[str, str], where: str) -> None:
    """Raise CatalogError where the cells of a row, each believable alone, contradict each other."""
    cold = WATER_COLD if solvent.id == "water" else SHOP_COLD
    if not solvent.antoine_low <= cold:
        _refuse(where, "antoine_low_c", row["antoine_low_c"], f"{cold:g} or lower")
    if not solvent.antoine_high >= SHOP_WARM:
        _refuse(where, "antoine_high_c", row["antoine_high_c"], f"{SHOP_WARM:g} or higher")
    if not solvent.antoine_low + 273.15 + solvent.antoine_c > 0:
        _refuse(where, "antoine_c_k", row["antoine_c_k"], "less than the lowest temperature takes the sum above 0 K")
    for first, second in (("rer_low", "rer_high"), ("lfl", "flash_point_c")):
        if bool(row[first].strip()) != bool(row[second].strip()):
            _refuse(where, second, row[second], f"a number where {first} has one, else nothing")
    if solvent.rer_low is not None and solvent.rer_high is not None and not solvent.rer_low <= solvent.rer_high:
        _refuse(where, "rer_high", row["rer_high"], f"{solvent.rer_low:g} (rer_low) or more")
    if (solvent.water_solubility == 1.0) != solvent.water_miscible:
        _refuse(
            where, "water_solubility_mass_fraction", row["water_solubility_mass_fraction"], "1 if miscible, else less"
        )


def _refuse(where: str, column: str, got: str, allowed: str) -> None:
    raise CatalogError(f"{where}: {column} is {shown(got)}", allowed, "correct the table")
