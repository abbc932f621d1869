"""A session judged anew with its films known, and what of it the rules on the air take; milliseconds of one processor.

.venv/bin/python benchmarks/session.py    the best of 100, for three coatings
"""

import time
from collections.abc import Callable

from advisor.film.film_map import Films
from advisor.judge.conditions import Conditions, Measured
from advisor.judge.course import air_along, levels_along
from advisor.judge.film_rules import UNKNOWN_POT
from advisor.judge.plan import plan_for
from advisor.judge.rules import RULES
from advisor.judge.session import session_of
from advisor.shop.shop import Shop

RUNS = 100
VALUES = {
    ("shop", "air_temperature"): Measured(22.0, 0.5, 0.0), ("shop", "relative_humidity"): Measured(0.48, 0.03, 0.0),
    ("shop", "surface_temperature"): Measured(21.5, 0.5, 0.0),
    ("outdoors", "air_temperature"): Measured(20.0, 0.5, 0.0),
    ("outdoors", "relative_humidity"): Measured(0.5, 0.03, 0.0),
}  # fmt: skip


def best(work: Callable[[], object]) -> float:
    """Milliseconds."""
    took = []
    for _ in range(RUNS):
        start = time.process_time()
        work()
        took.append(time.process_time() - start)
    return min(took) * 1e3


def main() -> None:
    """One line a coating."""
    shop, known = Shop(), Conditions("shop", VALUES)
    films = Films(shop)
    for name in ("nitrocellulose-lacquer", "waterborne-clear-1k", "solvent-polyurethane-2k"):
        coating = shop.coating(name)
        plan = plan_for(coating, shop)
        course = air_along(known, shop, UNKNOWN_POT, plan)
        if course is None or session_of(known, coating, shop, UNKNOWN_POT, plan, films) is None:
            raise SystemExit("no session: the air outdoors is not known")
        now = best(lambda coating=coating: [rule(known, coating, shop) for rule in RULES])
        along = best(lambda course=course, coating=coating: levels_along(course, coating, shop, known))
        room = best(lambda plan=plan: air_along(known, shop, UNKNOWN_POT, plan))
        whole = best(lambda coating=coating, plan=plan: session_of(known, coating, shop, UNKNOWN_POT, plan, films))
        print(
            f"{name:<24} rules on the air: now {now:.2f} ms, along a session by both flows {along:.2f} ms; "
            f"its course {room:.2f} ms, all of it {whole:.2f} ms"
        )


if __name__ == "__main__":
    main()
