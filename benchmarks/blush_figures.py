"""How far each chosen figure of the spray moves the humidity from which a film blushes, in points of humidity.

.venv/bin/python benchmarks/blush_figures.py

One figure at a time over what its source allows, every thinner of every coating judged by blush, 21, 24 and 27 °C. A
difference between two computed onsets, not a time: it does not depend on the machine.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace

from advisor.catalog.coatings import Coating, coating_ids, load_coating
from advisor.film import wet_film
from advisor.film.film_map import film_answer
from advisor.film.mix import mix_of
from advisor.film.wet_film import FilmCase
from advisor.shop.shop import Shop

TEMPERATURES = (21.0, 24.0, 27.0)  # [°C]
# what each may be: from the sources in limits.csv, where none is named there common practice, no source
FIGURES: dict[str, tuple[float, ...]] = {
    "droplet_diameter": (20e-6, 50e-6),
    "flight_time": (0.010, 0.040),
    "gun_air_share": (0.08, 0.15),
    "gun_time": (20.0, 180.0),
    "gun_convection": (18.0, 40.0),
}
SOFTWOOD = {"conductivity": 0.11, "density": 430.0, "heat_capacity": 1650.0}  # from memory: like pine or spruce


def judged() -> list[tuple[Coating, str]]:
    """Every coating and thinner that the measure of water against slow solvent decides for."""
    coatings = [load_coating(name) for name in coating_ids()]
    return [
        (coating, thinner)
        for coating in coatings
        if coating.carrier == "solvent" and "water_to_slow_solvent_max" in coating.numbers
        for thinner in coating.thinner_speeds
    ]


def onsets(coating: Coating, thinner: str, shop: Shop) -> list[float | None]:
    """Onset of blush [fraction] at each temperature; None where nothing does it."""
    mix = mix_of(coating, thinner)
    return [film_answer(FilmCase(air, 0.5, air, mix), shop).blush_onset for air in TEMPERATURES]


@contextmanager
def on_softwood() -> Iterator[None]:
    """The wood taken as a softer one meanwhile."""
    hard = wet_film.find_substrate
    wet_film.find_substrate = lambda name: replace(hard(name), **SOFTWOOD)  # type: ignore[assignment]
    try:
        yield
    finally:
        wet_film.find_substrate = hard


def moved(before: list[float | None], after: list[float | None]) -> list[float]:
    """Points of humidity each onset moves; those that are there both times."""
    return [100.0 * (b - a) for a, b in zip(before, after, strict=True) if a is not None and b is not None]


def main() -> None:
    usual = Shop()
    worst: dict[str, tuple[float, str]] = {}
    for coating, thinner in judged():
        base = onsets(coating, thinner, usual)
        said = ", ".join("none" if each is None else f"{each * 100:.1f}" for each in base)
        print(f"{coating.id}, {thinner}: onset at 21, 24, 27 °C {said} %")
        trials = [
            (f"{name} {value:g}", onsets(coating, thinner, replace(usual, limits={name: value})))
            for name, values in FIGURES.items()
            for value in values
        ]
        with on_softwood():
            trials.append(("softwood", onsets(coating, thinner, usual)))
        for name, found in trials:
            points = moved(base, found)
            if not points:
                continue
            print(f"    {name:<24} {', '.join(f'{each:+.1f}' for each in points)}")
            most = max(points, key=abs)
            if abs(most) > abs(worst.get(name, (0.0, ""))[0]):
                worst[name] = (most, f"{coating.id}, {thinner}")
    print("\nthe most, over all of them:")
    for name, (most, where) in worst.items():
        print(f"    {name:<24} {most:+.1f} points ({where})")


if __name__ == "__main__":
    main()
