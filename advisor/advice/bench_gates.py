"""The gates of the mixing bench: too thick a film, too high a build, too many coats, too old a mix, a dead pot."""

from dataclasses import dataclass

from advisor.catalog.coatings import Coating

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
