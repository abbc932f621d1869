"""Run as a script: judges airs that lie on limits, where the last bit of a number could decide; prints what it finds.

Under other processors' kernels of linear algebra (OPENBLAS_CORETYPE) it must print the same to the letter.
"""

import json
import random
from dataclasses import replace

import numpy as np

from advisor.catalog.coatings import coating_ids
from advisor.judge.conditions import OUTDOORS, Measured
from advisor.judge.plan import plan_for
from advisor.say.record import verdict_record
from advisor.ways.proof import proved
from advisor.ways.remedies import session_ways
from tests.support import NOON, SHOP, judge, typed

AIRS = 120
WAYS_FOR = 10  # of them: ways are slow to seek


def airs() -> list[tuple[str, float, float, float, float, float]]:
    """Coating, air, humidity, piece, and outdoors: each drawn from the coating's own limits or near them."""
    draw = random.Random(12)
    found = []
    for _ in range(AIRS):
        coating = SHOP.coating(draw.choice(coating_ids()))
        warmth, damp = coating.air_temperature, coating.relative_humidity
        edges = [each.value for each in (warmth.go_low, warmth.go_high, warmth.wait_above, warmth.wait_below) if each]
        humidities = [each.value for each in (damp.go_low, damp.go_high, damp.wait_above)]
        air = draw.choice(edges)
        found.append(
            (coating.id, air, draw.choice(humidities), air + draw.choice((0.0, -0.2, -3.0)),
             air + draw.choice((-2.0, 0.0, 2.0, 5.0)), draw.choice(humidities))
        )  # fmt: skip
    return found


def judged() -> list[dict]:
    """The records of all, with the ways of some."""
    records = []
    for number, (name, air, damp, piece, out, out_damp) in enumerate(airs()):
        coating = SHOP.coating(name)
        known = typed(air, damp, piece)
        values = {(OUTDOORS, "air_temperature"): Measured(out, 0.5, 0.0)}
        values[OUTDOORS, "relative_humidity"] = Measured(out_damp, 0.03, 0.0)
        known = replace(known, values={**known.values, **values})
        plan = plan_for(coating, SHOP, 1 + number % 3)
        verdict = judge(known, coating, SHOP, NOON, plan=plan)
        ways = ()
        if number < WAYS_FOR:
            verdict, ways = proved(verdict, known, SHOP, NOON, plan=plan), session_ways(verdict, known, SHOP, NOON)
        records.append(verdict_record(verdict, SHOP, NOON, session_ways=ways))
    return records


if __name__ == "__main__":
    np.linalg.svd(np.random.default_rng(1).standard_normal((60, 60)))  # a kernel this machine lacks dies here
    print(json.dumps(judged()))
