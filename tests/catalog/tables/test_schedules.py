"""Schedules as data: what finishers say they do, in an order in which the coats may lie over each other."""

import pytest

from advisor.bench.bench_gates import Layer, build
from advisor.bench.overcoat import overcoat
from advisor.catalog.coatings import coating_ids, load_coating
from advisor.catalog.schedules import NO, STEPS, find_schedule, schedules
from advisor.errors import CatalogError
from advisor.say.craft.job_words import plan_words
from advisor.shop.shop import Shop
from tests.support import reference_rows

FACTS = {row["fact"]: (float(row["low"]), float(row["high"] or row["low"])) for row in reference_rows("trade_facts.csv")
         if row["low"]}  # fmt: skip
EVERY = list(schedules().values())


def usual_layers(schedule):
    """A schedule at its most coats, each of its family's usual wet film and solids as sprayed."""
    layers = []
    for step in schedule.steps:
        numbers = load_coating(step.coating).numbers
        wet = 0.5 * (numbers["wet_film_low"].value + numbers["wet_film_high"].value)
        dry = wet * numbers["volume_solids_as_sprayed"].value
        layers += [Layer(step.coating, dry, number == 0 or step.scuff_each) for number in range(step.most)]
    return layers


@pytest.mark.parametrize(
    ("step", "fact"),
    [("seal", "sealer coats"), ("colour", "colour coats"), ("clear", "two-pack clear coats unthinned")],
)
def test_the_water_borne_two_pack_has_the_coats_finishers_say(step, fact):
    """Common practice, no source (tests/reference/trade_facts.csv)."""
    found = schedules()["waterborne-two-pack"].step(step)
    assert (found.least, found.most) == FACTS[fact]


@pytest.mark.parametrize("schedule", EVERY, ids=lambda schedule: schedule.id)
def test_wood_and_scuff_are_sanded_with_the_grits_finishers_say(schedule):
    """Common practice, no source (tests/reference/trade_facts.csv)."""
    wood, scuff = FACTS["wood sanded to before sealer"], FACTS["scuff-sanding between coats"]
    assert (schedule.steps[0].sand_before.coarse, schedule.steps[0].sand_before.fine) == wood
    for step in schedule.steps:
        assert (step.scuff.coarse, step.scuff.fine) == scuff


@pytest.mark.parametrize("schedule", EVERY, ids=lambda schedule: schedule.id)
def test_each_step_may_go_over_the_one_below(schedule):
    for under, over in zip(schedule.steps, schedule.steps[1:], strict=False):
        assert overcoat(load_coating(under.coating), load_coating(over.coating)).standing != NO


@pytest.mark.parametrize("schedule", EVERY, ids=lambda schedule: schedule.id)
def test_its_most_coats_stay_within_what_the_coating_takes(schedule):
    """At the usual wet film, less what sanding takes off (common practice, no source), with sealer and colour beneath
    where the limit is of the whole film. Five coats of two-pack clear came to 176 µm, over the 150 of the coating.
    """
    layers = usual_layers(schedule)
    for step in schedule.steps:
        coating = load_coating(step.coating)
        if "coats_max" in coating.numbers:
            assert step.most <= coating.numbers["coats_max"].value
        limit = coating.numbers["total_dry_film_max"].value
        assert build(layers, coating, step.levelled, Shop()) <= limit
        # levelling is asked for where the coats need it, and nowhere else
        assert step.levelled is (build(layers, coating, False, Shop()) > limit)


def test_the_schedule_that_is_levelled_says_so_in_its_own_words():
    for schedule in EVERY:
        levelled = any(step.levelled for step in schedule.steps)
        assert ("levelled and rubbed out" in schedule.name) is levelled
        assert ("levelled and rubbed out" in plan_words(schedule)) is levelled


def test_every_coating_is_in_one():
    assert {step.coating for schedule in EVERY for step in schedule.steps} == set(coating_ids())


def test_a_schedule_is_found_whatever_its_case_and_the_nearest_is_named():
    assert find_schedule(" Varnish ").id == "varnish"
    with pytest.raises(CatalogError, match="did you mean varnish"):
        find_schedule("varnihs")


def test_the_steps_stand_in_their_order():
    for schedule in EVERY:
        names = [step.step for step in schedule.steps]
        assert names == sorted(names, key=STEPS.index)
        assert schedule.step("polish") is None
