"""A test panel of the day: a good one outranks the film model in such air, a bad one is a WAIT, neither beats more."""

from dataclasses import replace
from datetime import timedelta

import pytest

from advisor.judge.conditions import Conditions, Panel
from advisor.judge.film_rules import Pot
from advisor.judge.finding import Level
from advisor.judge.panel_rule import panel_that_counts, with_panels_of_the_day
from advisor.judge.verdict import State, Verdict
from advisor.say import words
from advisor.say.record import verdict_record
from advisor.ways.changes import least_changes
from tests.support import NOON, SHOP, every, judge, typed

LACQUER, POLY, CLEAR = "nitrocellulose-lacquer", "solvent-polyurethane-2k", "waterborne-clear-1k"
AT = NOON - timedelta(minutes=80)


def panel(coating, air, humidity, good=True, at=AT, **more) -> Panel:
    return Panel(coating, at, good, air, humidity, **more)


def with_panels(known: Conditions, coating: str, *panels: Panel, pot: Pot = Pot()) -> Verdict:  # noqa: B008 - frozen
    return judge(replace(known, panels=panels), SHOP.coating(coating), SHOP, NOON, pot)


@pytest.mark.parametrize(
    ("coating", "air", "humidity", "without", "rule"),
    [
        (LACQUER, 22, 0.70, State.CHANGE, "blush"),
        (LACQUER, 22, 0.65, State.CHANGE, "relative_humidity"),  # asks for a panel first
        (POLY, 28, 0.78, State.WAIT, "blush"),
        (CLEAR, 16, 0.45, State.WAIT, "film_forming"),
        ("shellac", 22, 0.70, State.CHANGE, "closing"),
    ],
)
def test_a_good_panel_outranks_the_film_model(coating, air, humidity, without, rule):
    known = typed(air, humidity, air)
    before, after = with_panels(known, coating), with_panels(known, coating, panel(coating, air, humidity))
    assert before.state is without
    assert any(one.rule == rule and one.level in (Level.CHANGE, Level.STOP) for one in before.findings)
    assert all(one.level is Level.OK for one in after.findings if one.rule == rule)
    # the cold air of the clear asks for a change still
    assert after.state is (State.CHANGE if coating == CLEAR else State.GO)
    said = "Panel of 10:40 UTC was good"
    assert any(said in line for line in words.told(after, SHOP))
    assert said in words.notice_text(after.state, after, SHOP)
    found = {one["rule"]: one for one in verdict_record(after, SHOP, NOON)["findings"]}
    assert found["panel"]["words"].startswith(said)
    assert found[rule]["reason"] == "panel"


@every(
    "warmer, damper, counts",
    [
        (1.49, 0.0, True), (1.5, 0.0, True), (1.51, 0.0, False), (-1.5, 0.0, True), (-1.51, 0.0, False),
        (0.0, 0.049, True), (0.0, 0.05, True), (0.0, 0.051, False), (0.0, -0.05, True), (0.0, -0.051, False),
        (1.5, 0.05, True), (float("nan"), 0.0, False), (0.0, float("nan"), False),
    ],
)  # fmt: skip
@every("good", [True, False])
def test_it_counts_in_air_as_near_as_the_limits_say(warmer, damper, counts, good):
    one = panel(LACQUER, 22.0, 0.65, good)
    assert (panel_that_counts([one], 22.0 + warmer, 0.65 + damper, SHOP) is one) is counts


@pytest.mark.parametrize(
    ("zone", "at", "counts"),
    [
        (None, NOON.replace(hour=0), True),
        (None, NOON.replace(hour=0) - timedelta(seconds=1), False),
        ("America/New_York", NOON.replace(hour=4), True),
        ("America/New_York", NOON.replace(hour=3, minute=59), False),
        (None, NOON, True),
        (None, NOON + timedelta(seconds=1), False),
    ],
)
def test_it_counts_on_its_own_day_in_the_shops_zone(zone, at, counts):
    one = panel(LACQUER, 22.0, 0.65, at=at)
    known, there = replace(typed(22.0, 0.65), panels=(one,)), replace(SHOP, zone=zone)
    of_it, of_another = (
        with_panels_of_the_day(known, SHOP.coating(each), there, NOON) for each in (LACQUER, "shellac")
    )
    assert of_it.panels == ((one,) if counts else ())
    assert of_another.panels == ()


def test_it_counts_for_its_own_mix():
    known, medium = typed(22, 0.70, 22), panel(LACQUER, 22, 0.70, thinner="medium", retarder=0.1)
    assert with_panels(known, LACQUER, medium).state is State.GO, "nobody said what is in the pot now"
    assert with_panels(known, LACQUER, medium, pot=Pot("medium", 0.1)).state is State.GO
    for other in (Pot("hot", 0.1), Pot("medium", 0.0)):
        alone, beside = with_panels(known, LACQUER, pot=other), with_panels(known, LACQUER, medium, pot=other)
        assert beside.findings == alone.findings


@pytest.mark.parametrize("known", [
    typed(22, 0.78, 22), typed(2, 0.45, 2), typed(22, 0.60, 14), typed(22), typed(rh=0.5), Conditions("shop"),
    typed(22, 0.5, sprayed=600), typed(22, 0.5, piece_in=600), replace(typed(22, 0.5), doubt="clock-set"),
])  # fmt: skip
def test_a_good_panel_never_beats_a_band_a_surface_or_an_unknown(known):
    air, humidity = (known.at_work(quantity).value for quantity in ("air_temperature", "relative_humidity"))
    before = with_panels(known, LACQUER)
    assert before.state is State.WAIT
    after = with_panels(known, LACQUER, panel(LACQUER, air, humidity))
    assert (after.state, after.cannot_tell, after.exit_code) == (before.state, before.cannot_tell, before.exit_code)
    assert not any("was good" in line for line in words.told(after, SHOP))


def test_a_cold_night_is_not_on_trial():
    known = replace(typed(22, 0.45, 22), night_low=5.0)
    good = panel("precatalysed-lacquer", 22, 0.45)
    assert with_panels(known, "precatalysed-lacquer", good).state is State.WAIT


@pytest.mark.parametrize("air", [(22.0, 0.45), (None, None)])
def test_a_bad_panel_is_a_wait_for_a_known_reason(air):
    """In which air it was sprayed need not be known: unknown is never ok."""
    verdict = with_panels(typed(22, 0.45, 22), "shellac", panel("shellac", *air, good=False, defect="blush"))
    assert (verdict.state, verdict.cannot_tell, verdict.exit_code) == (State.WAIT, False, 1)
    assert "Panel of 10:40 UTC was bad: blush." in words.told(verdict, SHOP)
    assert least_changes(verdict, typed(22, 0.45, 22), SHOP, NOON) is not None
    elsewhere = with_panels(typed(22, 0.52, 22), "shellac", panel("shellac", 22.0, 0.45, good=False))
    assert elsewhere.state is State.GO, "in other air it says nothing"


def test_a_good_panel_whose_air_was_not_logged_says_nothing():
    known = typed(22, 0.70, 22)
    assert with_panels(known, LACQUER, panel(LACQUER, None, None)).findings == with_panels(known, LACQUER).findings


def test_the_newest_panel_counts():
    good, bad = panel(LACQUER, 22, 0.65), panel(LACQUER, 22, 0.65, good=False, at=AT + timedelta(minutes=10))
    assert with_panels(typed(22, 0.65, 22), LACQUER, good, bad).state is State.WAIT
    later = replace(good, at=AT + timedelta(minutes=20))
    assert with_panels(typed(22, 0.65, 22), LACQUER, bad, later).state is State.GO


def test_along_a_session_the_air_at_the_gun_is_what_a_panel_must_have_been_sprayed_in():
    """A dry room, damp outdoors: a panel of the shut room says nothing of the air that the fan draws in."""
    outdoors = typed(23.0, 0.70)
    values = {("outdoors", quantity): value for (_, quantity), value in outdoors.values.items()}
    known = typed(22, 0.45, 22)
    known = replace(known, values={**known.values, **values})
    before = with_panels(known, LACQUER)
    assert before.as_it_stands is State.GO
    assert before.state is not State.GO
    assert with_panels(known, LACQUER, panel(LACQUER, 22, 0.45)).state is before.state
    spraying = [each for each in before.session.moments if each.spraying][-1]
    there = (spraying.air_temperature, spraying.relative_humidity)
    assert with_panels(known, LACQUER, panel(LACQUER, *there, good=False)).state is State.WAIT
    assert with_panels(known, "shellac", panel(LACQUER, *there, good=False)).state is not State.WAIT
