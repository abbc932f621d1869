"""The film: a map of 900 cases, a search of 40, and the same equations by scipy's LSODA; ratios in one run.

.venv/bin/python benchmarks/film.py
"""

import statistics
import sys
import time
from collections.abc import Callable
from itertools import product
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent))

from advisor.catalog.coatings import load_coating
from advisor.film import wet_film
from advisor.film.mix import mix_of
from advisor.film.wet_film import FilmCase, dry_films
from advisor.physics.film.film import dry
from advisor.physics.film.film_step import steps_until
from advisor.shop.shop import Shop
from tests.physics.film.film_oracle import oracle

RUNS = 7
LACQUER = load_coating("nitrocellulose-lacquer")
SETTINGS = Shop()


def case(air: float, humidity: float, thinner: str = "hot", retarder: float = 0.0) -> FilmCase:
    return FilmCase(air, humidity, air, mix_of(LACQUER, thinner, retarder))


def seconds(work: Callable[[], object]) -> float:
    """Median wall time."""
    work()
    times = []
    for _ in range(RUNS):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return statistics.median(times)


def one_by_lsoda() -> Callable[[], object]:
    """The films as the advisor makes them, dried by the stiff solver to the same moment."""
    caught = {}
    real = wet_film.dry

    def spy(films, airs, *arguments, **named):
        caught["films"], caught["airs"] = films, airs
        return real(films, airs, *arguments, **named)

    wet_film.dry = spy
    dry_films([case(24.0, 0.6)], SETTINGS)
    wet_film.dry = real
    films, airs = caught["films"], caught["airs"]
    moments = steps_until([air.until for air in airs], longest=5.0)
    moments = moments[moments <= 240.0]
    assert len(dry(films, airs, moments).moments) == len(moments)
    return lambda: oracle(films, airs, moments)


def main() -> None:
    grid = [case(12.0 + 20.0 * n / 29.0, 0.3 + 0.6 * m / 29.0) for n, m in product(range(30), repeat=2)]
    mixes = product(("hot", "medium", "slow"), (0.0, 0.05, 0.10, 0.15))
    search = [case(24.0 + step, 0.70, *mix) for step, mix in product(range(4), mixes)][:40]
    work = {
        "900 cases (30 x 30 map)": lambda: dry_films(grid, SETTINGS),
        "40 cases (a search)": lambda: dry_films(search, SETTINGS, quick=True),
        "1 case": lambda: dry_films([case(24.0, 0.6)], SETTINGS),
        "1 case by LSODA": one_by_lsoda(),
    }
    medians = {name: seconds(each) for name, each in work.items()}
    for name, median in medians.items():
        print(f"{name:<24} {median * 1e3:8.1f} ms")
    each = medians["900 cases (30 x 30 map)"] / 900.0
    print(f"LSODA takes {medians['1 case by LSODA'] / each:.0f} times as long a case as the map")


if __name__ == "__main__":
    main()
