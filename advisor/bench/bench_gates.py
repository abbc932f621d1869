"""The gates of the mixing bench: too thick a film, too high a build, too many coats, too old a mix, a dead pot.

What the coats on a piece come to dry, less what sanding takes off again, as a coating's own limit counts it.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from advisor.catalog.coatings import Coating
from advisor.catalog.schedules import Step
from advisor.shop.shop import Shop

WET_FILM, WET_FILM_USUAL, BUILD, COATS, OLD, AGEING, DEAD = (
    "wet_film", "wet_film_usual", "total_dry_film", "coats", "too_old", "ageing", "pot_dead",
)  # fmt: skip
_ROUNDING = 1e-9


@dataclass(frozen=True)
class Gate:
    """One gate that is passed: what came against what is allowed [m, s, or coats]; stop: not to be sprayed so."""

    kind: str
    measured: float
    limit: float
    stop: bool


def gates(
    coating: Coating, wet_film: float, dry_film: float, coats: int, age: float | None, pot_life: float | None
) -> tuple[Gate, ...]:
    """The gates that this pot passes, the gravest first. Films [m]; age since mixing and pot life [s], None unknown."""
    numbers = coating.numbers
    found = []

    def over(kind: str, measured: float | None, key: str, stop: bool) -> bool:
        limit = numbers.get(key)
        if limit is None or measured is None or measured <= limit.value * (1.0 + _ROUNDING):
            return False
        found.append(Gate(kind, measured, limit.value, stop))
        return True

    if age is not None and pot_life is not None and not age <= pot_life:
        found.append(Gate(DEAD, age, pot_life, True))
    if not over(OLD, age, "shelf_life_mixed_high", True):
        over(AGEING, age, "shelf_life_mixed_low", False)
    if not over(WET_FILM, wet_film, "wet_film_never_above", True):
        over(WET_FILM_USUAL, wet_film, "wet_film_high", False)
    over(BUILD, dry_film * coats, "total_dry_film_max", False)  # sanding between coats takes some of it off again
    over(COATS, float(coats), "coats_max", False)
    return tuple(sorted(found, key=lambda gate: not gate.stop))


LEVEL = "level_film"
# Lacquer and shellac soften what they lie on and crack as one film with it; the others are sprayed on something hard
_COUNTS_BELOW = {"evaporation", "acid"}


@dataclass(frozen=True)
class Layer:
    """One coat. coating: its id; dry: as it was sprayed [m]; sanded: whether what lies below was sanded before it."""

    coating: str
    dry: float
    sanded: bool


def counts_what_is_below(coating: Coating) -> bool:
    """Whether a coating's limit of dry film is of the whole film, sealer and colour with it, or of its own coats.

    Common practice, no source: of the whole film for lacquer and shellac, of its own coats for the rest.
    """
    return coating.hardens_by in _COUNTS_BELOW


def build(layers: Sequence[Layer], coating: Coating, levelled: bool, shop: Shop) -> float:
    """Dry film [m] that counts against a coating's limit. layers: from the wood up.

    A sanded coat has lost `scuff_takes_off`; levelled: each coat of this coating loses `levelling_takes_off` in all,
    once it is levelled and rubbed out. What lies on top of its last coat does not count. No coat loses more than it
    has. What nobody said was sanded was not.
    """
    scuff, level = shop.limit("scuff_takes_off").value, shop.limit("levelling_takes_off").value
    total, left = 0.0, sum(layer.coating == coating.id for layer in layers)
    for number, layer in enumerate(layers):
        if not left:
            break
        own = layer.coating == coating.id
        left -= own
        if own or counts_what_is_below(coating):
            scuffed = number + 1 < len(layers) and layers[number + 1].sanded
            off = max(scuff if scuffed else 0.0, level if levelled and own else 0.0)
            total += max(0.0, layer.dry - off)
    return total


def build_gates(
    layers: Sequence[Layer], coating: Coating, wet_film: float, age: float | None, step: Step | None, shop: Shop
) -> tuple[Gate, ...]:
    """The mixing bench's gates for the coats on a piece, one of this coating at least among them.

    wet_film [m] and age of the mix [s] of the last. step: of the schedule; where it is levelled the build counts as it
    then will be, and LEVEL says that it is over the limit until then.
    """
    coats = sum(layer.coating == coating.id for layer in layers)

    def with_build(levelled: bool) -> tuple[Gate, ...]:
        return gates(coating, wet_film, build(layers, coating, levelled, shop) / coats, coats, age, None)

    if step is None or not step.levelled or step.coating != coating.family:
        return with_build(False)
    found = with_build(True)
    if any(gate.kind == BUILD for gate in found):
        return found
    return (*found, *(replace(gate, kind=LEVEL) for gate in with_build(False) if gate.kind == BUILD))
