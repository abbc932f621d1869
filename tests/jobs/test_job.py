"""Where a job stands in its schedule, and what is carried from coat to coat."""

from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from advisor.catalog.coatings import coating_ids, load_coating
from advisor.catalog.schedules import schedules
from advisor.jobs.job import Coat, last_of, position, step_for, still_mixed
from tests.support import NOON

THREE = schedules()["waterborne-two-pack"]  # seal 2-4, colour 2-4, clear 5
FAMILY = {step.step: step.coating for step in THREE.steps}
HOUR = timedelta(hours=1)


def coat(step: str | None, coating: str | None = None, number: int = 1, **more) -> Coat:
    """A coat of a step."""
    return Coat(
        id=number, job=1, number=number, step=step, coating=coating or FAMILY.get(step or "", "shellac"),
        started_at=NOON, ended_at=NOON, **more,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("done", "step", "number", "complete", "again"),
    [
        ("", "seal", 1, False, None),
        ("s", "seal", 2, False, None),
        ("ss", "colour", 1, False, "seal"),
        ("ssss", "colour", 1, False, None),
        ("sssss", "colour", 1, False, None),
        ("ssc", "colour", 2, False, None),
        ("ssccc", "clear", 1, False, "colour"),
        ("ssccxxxx", "clear", 5, False, None),
        ("ssccxxxxx", "clear", 6, True, None),
        ("x", "clear", 2, False, None),  # old work, colour was on it already
        ("sxs", "clear", 2, False, None),  # nobody goes back
    ],
)
def test_the_next_coat_is_of_the_next_step_once_a_step_has_its_least(done, step, number, complete, again):
    names = {"s": "seal", "c": "colour", "x": "clear"}
    found = position(THREE, [coat(names[sign]) for sign in done])
    assert (found.step.step, found.coat, found.complete) == (step, number, complete)
    assert (found.may_repeat and found.may_repeat.step) == again


def test_test_panels_and_coats_of_no_step_do_not_count():
    assert position(THREE, [coat("seal"), coat("clear", panel=True), coat(None)]).coat == 2


def test_of_one_step_it_is_complete_at_its_least_and_may_go_on_to_its_most():
    varnish = schedules()["varnish"]
    three, four = ([coat("clear", "oil-varnish")] * count for count in (3, 4))
    assert position(varnish, three).complete
    assert position(varnish, three).may_repeat == varnish.steps[0]
    assert position(varnish, four).may_repeat is None


@pytest.mark.parametrize(
    ("done", "coating", "step"),
    [
        ([], "waterborne-sealer", "seal"), (["seal", "seal"], "waterborne-colour", "colour"),
        (["seal", "seal"], "waterborne-sealer", "seal"), (["seal"], "waterborne-clear-2k", "clear"),
        (["seal", "colour"], "waterborne-sealer", None), ([], "shellac", None),
    ],
)  # fmt: skip
def test_a_coat_finds_its_step_by_its_coating(done, coating, step):
    assert step_for(THREE, load_coating(coating), [coat(name) for name in done]) == step
    assert step_for(None, load_coating(coating), []) is None


@given(st.lists(st.sampled_from(["seal", "colour", "clear", None]), max_size=15))
def test_a_schedule_never_goes_back_whatever_was_done(done):
    coats = [coat(step) for step in done]
    order = [step.step for step in THREE.steps]
    steps = [order.index(position(THREE, coats[:count]).step.step) for count in range(len(coats) + 1)]
    assert steps == sorted(steps)


def test_the_last_coat_of_a_coating_is_the_newest():
    coats = [coat("seal", number=1), coat("seal", number=2), coat("colour", number=3)]
    assert last_of("waterborne-sealer", coats).number == 2
    assert last_of("shellac", coats) is None


@pytest.mark.parametrize(("hours", "same"), [(0.0, True), (2.0, True), (2.0 + 1 / 3600, False), (-1.0, False)])
def test_a_pot_is_carried_on_while_it_can_be_alive(hours, same):
    """Two hours by the sheet."""
    before = coat("clear", mixed_at=NOON)
    found = still_mixed(before, load_coating("waterborne-clear-2k"), NOON + hours * HOUR)
    assert found == (NOON if same else None)


@pytest.mark.parametrize("coating", [name for name in coating_ids() if "2k" not in name])
def test_what_does_not_die_by_the_hour_is_taken_as_the_same_mix(coating):
    before = coat("clear", coating, mixed_at=NOON)
    assert still_mixed(before, load_coating(coating), NOON + 24 * HOUR) == NOON
    assert still_mixed(coat("clear", coating), load_coating(coating), NOON) is None
