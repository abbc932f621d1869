"""Efflux cups: seconds that a cup takes to run empty, and what they mean in mm2/s.

v = slope t - hyperbola / t + constant, v in mm2/s at the liquid's own temperature, t in s. The table is code and not a
CSV of the catalog, because `viscosity.kinematic_viscosity` must know a cup by name and physics opens no file.
An ISO 8 mm cup is left out: ISO 2431:2011 and :2019 have none, and no formula of it was seen.
"""

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from advisor.errors import CatalogError, did_you_mean, nearest, shown


@dataclass(frozen=True)
class Cup:
    """A cup: formula, the seconds it is good for, and the viscosities printed beside them.

    slope [mm2/s2], hyperbola [mm2], constant [mm2/s]; seconds (low, high) [s] decide what is in range; viscosities
    (low, high) [mm2/s] are rounded by the standards, and for Ford 3 and 4 narrower at the thin end, so they only narrow
    the choice of a cup; temperature [°C] of the standard's test; tag of the formula, source of each part.
    """

    id: str
    name: str
    family: str
    slope: float
    hyperbola: float
    constant: float
    seconds: tuple[float, float]
    viscosities: tuple[float, float]
    temperature: float
    tag: str
    source: str

    def viscosity(self, seconds: float) -> float:
        """The formula [mm2/s] at seconds over 0 [s], unchecked."""
        return self.slope * seconds - self.hyperbola / seconds + self.constant

    def drain_time(self, viscosity: float) -> float:
        """The formula turned round [s], unchecked: the positive root of its square."""
        above = viscosity - self.constant
        return (above + math.sqrt(above * above + 4.0 * self.slope * self.hyperbola)) / (2.0 * self.slope)

    @property
    def good_for(self) -> tuple[float, float]:
        """Viscosities [mm2/s] for which both ranges hold."""
        (first, last), (low, high) = self.seconds, self.viscosities
        return max(self.viscosity(first), low), min(self.viscosity(last), high)


_OILS = "a maker of viscosity oils, page of cup formulas that cites ASTM D1200 and D4212 (read)"
_D1200 = "seconds ASTM D1200-94(2005) sec. 11.2 (read)"
_FORD = f"ASTM D1200: formula and viscosities from memory, formula checked against drain times of oils; {_D1200}"
_ISO = "ISO 2431:2011 and :2019 annex, from memory; it reproduces its own range at both ends; 23 °C from memory"
_DIN = "DIN 53211:1987 (withdrawn 1996), from memory; it reproduces its own range at both ends; 20 °C from memory"
_READ, _KNOWN = "published", "from memory"
FORD, ZAHN, METRIC = "Ford", "Zahn", "ISO and DIN"

# name, family, slope, hyperbola, constant, seconds, viscosities, test temperature, tag, source
_TABLE = (
    ("Ford 1", FORD, 0.49, 0.0, -0.49 * 35.0, (55, 100), (10, 35), 25, _READ, _OILS),
    ("Ford 2", FORD, 1.44, 0.0, -1.44 * 18.0, (40, 100), (25, 120), 25, _READ,
     f"{_OILS}; viscosities from memory; {_D1200}"),
    ("Ford 3", FORD, 2.31, 0.0, -2.31 * 6.58, (20, 100), (49, 220), 25, _KNOWN, _FORD),
    ("Ford 4", FORD, 3.85, 0.0, -3.85 * 4.49, (20, 100), (70, 370), 25, _KNOWN, _FORD),
    ("Ford 5", FORD, 12.1, 0.0, -12.1 * 2.00, (20, 100), (200, 1200), 25, _KNOWN, _FORD),
    ("Zahn 1", ZAHN, 1.1, 0.0, -1.1 * 29.0, (35, 80), (5, 60), 25, _READ, _OILS),
    ("Zahn 2", ZAHN, 3.5, 0.0, -3.5 * 14.0, (20, 80), (20, 250), 25, _READ, _OILS),
    ("Zahn 3", ZAHN, 11.7, 0.0, -11.7 * 7.5, (20, 80), (100, 800), 25, _READ, _OILS),
    ("Zahn 4", ZAHN, 14.8, 0.0, -14.8 * 5.0, (20, 80), (200, 1200), 25, _READ, _OILS),
    ("Zahn 5", ZAHN, 23.0, 0.0, 0.0, (20, 80), (400, 1800), 25, _READ, _OILS),
    ("ISO 3", METRIC, 0.443, 200.0, 0.0, (30, 100), (7, 42), 23, _KNOWN, _ISO),
    ("ISO 4", METRIC, 1.37, 200.0, 0.0, (30, 100), (34, 135), 23, _KNOWN, _ISO),
    ("ISO 5", METRIC, 3.28, 220.0, 0.0, (30, 100), (91, 326), 23, _KNOWN, _ISO),
    ("ISO 6", METRIC, 6.9, 570.0, 0.0, (30, 100), (188, 684), 23, _KNOWN, _ISO),
    ("DIN 4", METRIC, 4.57, 452.0, 0.0, (25, 150), (96, 683), 20, _KNOWN, _DIN),
)  # fmt: skip

_CUPS = MappingProxyType(
    {row[0].lower().replace(" ", "-"): Cup(row[0].lower().replace(" ", "-"), *row) for row in _TABLE}
)
WITHDRAWN = ("din-4",)  # nobody is sent to buy one; the ISO cups reach as far

_FILLING = {"cup", "flow", "efflux", "no", "nr", "number", "#"}
_NORMS = {"iso": "2431", "din": "53211"}  # may stand between the maker's word and the size


def cups() -> Mapping[str, Cup]:
    """Every cup by its id ("din-4")."""
    return _CUPS


def find_cup(text: str) -> Cup:
    """The cup a person means: "din 4", "DIN4", "Ford #4", "zahn no. 2", "ISO 4 mm", "4 mm DIN".

    Raises CatalogError with the nearest name, or with the sizes there are of a cup named rightly.
    """
    typed = text.strip().casefold()
    words = re.findall(r"[a-z]+|[0-9]+(?:\.[0-9]+)?|#", typed)
    strange = re.sub(r"[a-z0-9\s.#_-]", "", typed)
    kinds = {cup.id.split("-")[0] for cup in _CUPS.values()}
    kind = next((word for word in words if word in kinds), "")
    left = [word for word in words if word not in _FILLING | {kind}]
    if kind in _NORMS:
        left = [word for word in left if word not in ("mm", _NORMS[kind])]
    if kind and not strange and len(left) == 1 and re.fullmatch(r"[0-9.]+", left[0]):
        found = _CUPS.get(f"{kind}-{float(left[0]):g}")
        if found is not None:
            return found
    names = [cup.name for cup in _CUPS.values()]
    if kind:
        sizes = ", ".join(cup.name for cup in _CUPS.values() if cup.id.startswith(kind))
        raise CatalogError(f"no cup {shown(text)}", sizes, "say one of these")
    near = nearest(" ".join(words), [name.casefold() for name in names])
    raise CatalogError(f"no cup {shown(text)}", "", f"did you mean {near}?" if near else did_you_mean(text, names))
