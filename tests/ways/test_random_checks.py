"""A random search over what is typed into a check, and sweeps along one quantity: 300 airs, by hand 3,000."""

import random
from dataclasses import replace

import pytest

from advisor.catalog.coatings import coating_ids, load_coating
from advisor.judge.conditions import MEASURED, Conditions
from advisor.judge.film_rules import UNKNOWN_POT
from advisor.judge.finding import Level, Side
from advisor.judge.plan import Plan, plan_for
from advisor.judge.session import SESSION
from advisor.judge.verdict import State, Verdict
from advisor.say.fitting import height
from advisor.say.words import MOST_LINES, told
from advisor.ways.proof import applied, proved
from tests.judge.test_session import outdoors
from tests.support import NOON, SHOP, judge, typed

RANK = {State.GO: 0, State.CHANGE: 1, State.WAIT: 2}
DAMP = ("relative_humidity", "surface", "blush")
PARTS = 12


def checks(count: int, part: int) -> list[tuple[str, Conditions, Plan]]:
    """Airs as people type them: half of them with the air outdoors, half with a measured piece."""
    draw = random.Random(part)
    found = []
    for _ in range(count):
        name, air = draw.choice(coating_ids()), round(draw.uniform(6.0, 35.0), 1)
        piece = round(air + draw.uniform(-8.0, 4.0), 1) if draw.random() < 0.5 else None
        stood = draw.choice((None, None, 900.0, 90_000.0))
        known = typed(air, round(draw.uniform(0.12, 1.0), 2), piece, stood)
        if draw.random() < 0.5:
            known = outdoors(known, round(draw.uniform(-5.0, 32.0), 1), round(draw.uniform(0.2, 1.0), 2))
        if draw.random() < 0.2:
            known = replace(known, night_low=round(draw.uniform(0.0, 20.0)), night_from=draw.choice((None, 21_600.0)))
        plan = plan_for(load_coating(name), SHOP, draw.choice((1, 1, 1, 2, 3)), draw.choice((300.0, 300.0, 1800.0)))
        found.append((name, known, plan))
    return found


def judged(name: str, known: Conditions, plan: Plan) -> Verdict:
    return judge(known, load_coating(name), SHOP, NOON, plan=plan)


def a_go_is_inside_every_band(verdict: Verdict, known: Conditions) -> None:
    if verdict.state is not State.GO or verdict.air is None or verdict.surface is None:
        return
    coating, air = verdict.coating, verdict.air
    assert coating.air_temperature.go_low.value <= air.air_temperature <= coating.air_temperature.go_high.value
    assert coating.relative_humidity.go_low.value <= air.relative_humidity <= coating.relative_humidity.go_high.value
    assert verdict.surface.value - air.dew_point >= 3.0
    assert verdict.vapour is not None
    assert not verdict.vapour.too_much


def the_text_holds_what_it_must(verdict: Verdict, plan: Plan) -> None:
    text = told(verdict, SHOP, plan=plan)
    said = " ".join(text)
    assert height(text) <= MOST_LINES
    if verdict.state is not State.WAIT:
        assert "Mask" in said
        assert "fan on at least" in said
    night = any(finding.rule == "night" and finding.level is Level.CHANGE for finding in verdict.findings)
    if night and verdict.state is State.CHANGE:
        assert "Keep the room at" in said, "a cold night is hidden behind nothing"


def each_number_told_turns_the_verdict(verdict: Verdict, known: Conditions, plan: Plan) -> None:
    for finding in verdict.findings:
        for way in finding.remedies:
            if (way.target is None and way.relative_humidity is None) or way.together:
                continue
            there = applied(way, known, SHOP, way.measure)
            assert there is not None
            then = judge(there, verdict.coating, SHOP, NOON, UNKNOWN_POT, plan)
            better = RANK[then.state] < RANK[verdict.state]
            mended = all(each.level is Level.OK for each in then.findings if each.rule == finding.rule)
            assert then.state == way.state
            assert better or (verdict.state is State.CHANGE and mended), (finding.rule, way)


def damper_air_never_mends_damp(verdict: Verdict, name: str, known: Conditions, plan: Plan) -> None:
    """But at the dry ends: a WAIT for cold by evaporation may go."""
    stops = [each for each in verdict.findings if each.level is Level.STOP]
    damp = [
        each
        for each in stops
        if (each.rule in DAMP or (each.rule == SESSION and each.quantity in DAMP))
        and (each.side is Side.HIGH or each.rule == "surface" or each.quantity == "surface")
    ]
    humidity = known.at_work("relative_humidity")
    if not damp or humidity.value is None or humidity.value > 0.95:
        return
    wetter = replace(humidity, value=humidity.value + 0.05)
    there = replace(known, values={**known.values, (known.place, "relative_humidity"): wetter})
    assert judged(name, there, plan).state is not State.GO


def a_warmer_piece_never_makes_a_go_a_wait(verdict: Verdict, name: str, known: Conditions, plan: Plan) -> None:
    piece = known.at_work("surface_temperature")
    if verdict.state is not State.GO or verdict.surface is None or verdict.surface.basis != MEASURED:
        return
    for warmer in (0.5, 2.0):
        value = (piece.value or 0.0) + warmer
        if value <= verdict.coating.air_temperature.go_high.value:
            values = {**known.values, (known.place, "surface_temperature"): replace(piece, value=value)}
            assert judged(name, replace(known, values=values), plan).state is not State.WAIT


def searched(count: int, part: int) -> None:
    for name, known, plan in checks(count, part):
        verdict = proved(judged(name, known, plan), known, SHOP, NOON, plan=plan)
        a_go_is_inside_every_band(verdict, known)
        the_text_holds_what_it_must(verdict, plan)
        each_number_told_turns_the_verdict(verdict, known, plan)
        damper_air_never_mends_damp(verdict, name, known, plan)
        a_warmer_piece_never_makes_a_go_a_wait(verdict, name, known, plan)


@pytest.mark.slow
@pytest.mark.parametrize("part", [0, *(pytest.param(n, marks=pytest.mark.full) for n in range(1, PARTS))])
def test_random_checks_leave_nothing_out_and_get_nothing_wrong(part):
    searched(300 // PARTS, part)


@pytest.mark.soak
@pytest.mark.parametrize("part", [100, 101, 102])
def test_three_thousand_random_checks_too(part):
    searched(1000, part)
