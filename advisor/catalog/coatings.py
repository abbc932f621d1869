"""Coatings: ten generic families as data.

Files: coatings/<id>.toml, one family each; coating_numbers.csv says which numbers there are, their dimension and
the range in which each is believable. A number carries its value in SI (°C, fraction), and where it came from.
"""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache

from advisor.catalog.sourced import FOLDER, Sourced, reader, table
from advisor.errors import CatalogError, did_you_mean, shown

THINNER_SPEEDS = ("hot", "medium", "slow")  # fastest first
RETARDER = "retarder"  # the blend put in place of thinner


@dataclass(frozen=True)
class NumberKind:
    """What a coating's number is: dimension, believable range in SI, and whether every family must have it."""

    key: str
    dimension: str
    low: float
    high: float
    required: bool
    label: str


@dataclass(frozen=True)
class Band:
    """Limits in three steps: GO within go_low..go_high, a change outside, WAIT outside wait_below..wait_above.

    `wait_below` is None where dryness or cold alone never makes a WAIT.
    """

    go_low: Sourced
    go_high: Sourced
    wait_below: Sourced | None
    wait_above: Sourced


@dataclass(frozen=True)
class Blend:
    """Mass fractions by solvent, summing to 1: volatiles as sprayed, or the retarder put in place of thinner."""

    mass_fractions: Mapping[str, float]
    tag: str
    source: str


@dataclass(frozen=True)
class Coating:
    """A coating as the tool knows it; numbers by the keys of coating_numbers.csv."""

    id: str
    family: str
    name: str
    carrier: str
    resin: str
    hardens_by: str
    flammable: bool
    isocyanate: bool
    gives_off_formaldehyde: bool
    burns_in: bool
    thinners: tuple[str, ...]
    retarders: tuple[str, ...]
    never_mix_with: tuple[str, ...]
    numbers: Mapping[str, Sourced]
    blends: Mapping[str, Blend] = field(default_factory=dict)

    @property
    def thinner_speeds(self) -> tuple[str, ...]:
        """The thinners whose make-up is known, fastest first."""
        return tuple(speed for speed in THINNER_SPEEDS if speed in self.blends)

    @property
    def air_temperature(self) -> Band:
        """Band of the air temperature [°C]."""
        return self._band("air_temperature")

    @property
    def relative_humidity(self) -> Band:
        """Band of the relative humidity [fraction]."""
        return self._band("relative_humidity")

    def _band(self, quantity: str) -> Band:
        return Band(
            self.numbers[f"{quantity}_go_low"],
            self.numbers[f"{quantity}_go_high"],
            self.numbers.get(f"{quantity}_wait_below"),
            self.numbers[f"{quantity}_wait_above"],
        )


@cache
def number_kinds() -> Mapping[str, NumberKind]:
    """Every number a coating can have, in the order it is shown."""
    return {row.key: row for row in table("coating_numbers.csv", NumberKind)}


@cache
def coating_ids() -> tuple[str, ...]:
    """The ids of the ten families, sorted."""
    return tuple(sorted(path.stem for path in FOLDER.joinpath("coatings").glob("*.toml")))


@cache
def load_coating(coating_id: str) -> Coating:
    """A family by its id. Raises CatalogError with the nearest id when there is none."""
    if coating_id not in coating_ids():
        raise CatalogError(f"no coating {shown(coating_id)}", "", did_you_mean(coating_id, coating_ids()))
    parsed = tomllib.loads(FOLDER.joinpath("coatings", f"{coating_id}.toml").read_text("utf-8"))
    return reader(Coating)({**parsed, "family": coating_id})


def check_order(coating: Coating, where: str) -> None:
    """Raise CatalogError where limits stand out of order: a band would be empty or inside out."""
    pairs = [
        ("air_temperature_wait_below", "air_temperature_go_low"),
        ("air_temperature_go_low", "air_temperature_go_high"),
        ("air_temperature_go_high", "air_temperature_wait_above"),
        ("relative_humidity_go_low", "relative_humidity_go_high"),
        ("relative_humidity_go_high", "relative_humidity_wait_above"),
        ("thinning_usual_high", "thinning_max"),
        ("recoat_from_high", "recoat_until"),
        *((key, key.removesuffix("_low") + "_high") for key in number_kinds() if key.endswith("_low")),
    ]
    for lower, upper in pairs:
        low, high = coating.numbers.get(lower), coating.numbers.get(upper)
        if low is not None and high is not None and not low.value <= high.value:
            raise CatalogError(
                f"{where}: {lower} ({low.value:g}) is above {upper} ({high.value:g})",
                "",
                "state both from the sheet",
            )
