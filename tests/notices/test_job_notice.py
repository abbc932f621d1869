"""What a job's clock tells unasked: each word from its minute on, in short, never as a clearance."""

import re
from dataclasses import replace

import pytest

from advisor.catalog.coatings import coating_ids, load_coating
from advisor.catalog.schedules import NO, schedules
from advisor.jobs.cure import SCUFF
from advisor.notices.job_notice import (
    CLEAN_GUN,
    COAT,
    LONGEST_NOTICE,
    MASK,
    MAY_BE,
    POT_DEAD,
    JobWord,
    name_of,
    subject,
    words_due,
)
from tests.jobs.job_cases import HOUR, MINUTE, UNKNOWN, clock, job, room
from tests.support import NOON, SHOP

SEALER, COLOUR, CLEAR = "waterborne-sealer", "waterborne-colour", "waterborne-clear-2k"
THREE = "waterborne-two-pack"
AIR = room(23.0, hours=24 * 40)
SECOND = MINUTE / 60
DAY = 24 * HOUR


def words(done, now, air=AIR) -> dict[str, JobWord]:
    """The words due at a moment, by kind."""
    return {word.kind: word for word in words_due(clock(done, air, now), now, SHOP)}


def whole_life(done, air=AIR) -> list[JobWord]:
    """Every word of a job, each as it first comes up: looked at whenever one of its clocks runs out."""
    first = clock(done, air)
    moments = [NOON, *(stage.at_latest for stage in first.cured.stages), first.next.opens, first.next.closes]
    if first.next.closes is not None:
        moments.append(first.next.closes - 15 * MINUTE)
    if first.pot is not None:
        moments += [first.pot.clean_by, first.pot.until]
    found: dict[str, JobWord] = {}
    for moment in sorted({each for each in moments if each is not None and each >= NOON}):
        for kind, word in words(done, moment, air).items():
            found.setdefault(kind, word)
    return list(found.values())


@pytest.mark.parametrize("coating", coating_ids())
def test_the_next_coat_is_told_from_the_sheets_time_on_at_23_degrees(coating):
    """Just before, at, and just after; of a schedule without a window it is told for a day."""
    numbers = load_coating(coating).numbers
    done, opens = job([coating]), NOON + numbers["recoat_from_high"].value * SECOND
    assert COAT not in words(done, opens - SECOND)
    assert words(done, opens)[COAT].at == opens
    assert "from now" in words(done, opens + SECOND)[COAT].text
    closes = numbers.get("recoat_until")
    end = opens + DAY if closes is None else min(opens + DAY, NOON + closes.value * SECOND)
    assert words(done, opens)[COAT].until == end


@pytest.mark.parametrize(("offset", "told"), [(-15 * MINUTE - SECOND, False), (-15 * MINUTE, True), (SECOND, True)])
def test_that_the_window_closes_is_told_a_quarter_of_an_hour_before(offset, told):
    done = job([SEALER])
    closes = clock(done, AIR).next.closes
    found = words(done, closes + offset)
    assert (SCUFF in found) is told
    if told:
        at = "now" if offset > 0 * MINUTE else f"{closes:%H:%M}"
        assert f"from {at}" in found[SCUFF].text
        assert "scuff-sand" in found[SCUFF].text
    late = words(done, closes + SECOND)[SCUFF]
    assert late.until == closes + DAY


def test_a_coat_that_is_always_sanded_has_no_window_to_tell():
    """Colour over sealer is a new step: sanded whatever the clock says."""
    done = job([SEALER, SEALER], THREE)
    found = {word.kind: word for word in whole_life(done)}
    assert SCUFF not in found
    assert "; sand 320-400 first." in found[COAT].text


@pytest.mark.parametrize(
    ("offset", "kinds"),
    [
        (-15 * MINUTE - SECOND, set()), (-15 * MINUTE, {CLEAN_GUN}), (-SECOND, {CLEAN_GUN}), (0 * MINUTE, {POT_DEAD}),
        (DAY - SECOND, {POT_DEAD}), (DAY, set()),
    ],
)  # fmt: skip
def test_the_gun_is_told_before_the_pot_dies_and_then_that_it_died(offset, kinds):
    done = job([CLEAR], mixed_at=NOON - 30 * MINUTE)
    until = clock(done, AIR).pot.until
    found = words(done, until + offset)
    assert found.keys() & {CLEAN_GUN, POT_DEAD} == kinds
    assert all(found[kind].urgent for kind in kinds)


def test_a_pot_is_one_pot_over_all_coats_out_of_it():
    done = job([CLEAR] * 3, apart=10 * MINUTE, mixed_at=NOON - HOUR)
    until = clock(done, AIR).pot.until
    assert words(done, until - MINUTE)[CLEAN_GUN].coat == 1
    anew = replace(done, coats=(*done.coats[:2], replace(done.coats[2], mixed_at=NOON)))
    assert words(anew, clock(anew, AIR).pot.clean_by)[CLEAN_GUN].coat == 3
    unsaid = job([CLEAR] * 3, apart=10 * MINUTE)
    found = words(unsaid, clock(unsaid, AIR).pot.clean_by)[CLEAN_GUN]
    assert found.coat == 1
    assert "as far as is known" in found.text


@pytest.mark.parametrize(("minutes", "told"), [(-5, True), (0, True), (359.9, True), (360, False), (361, False)])
def test_mask_and_fan_are_told_with_the_coat_and_never_that_their_time_is_over(minutes, told):
    found = words(job([CLEAR]), NOON + minutes * MINUTE)
    assert (MASK in found) is told
    if told:
        assert "fan on to 13:52, nobody in without a mask before 18:00: at least, no clearance" in found[MASK].text
        assert found[MASK].urgent


@pytest.mark.slow
@pytest.mark.parametrize("coating", coating_ids())
def test_each_stage_of_the_cure_is_told_once_it_is_reached(coating):
    numbers = load_coating(coating).numbers
    done = job([coating])
    for stage in clock(done, AIR).cured.stages:
        if stage.stage not in MAY_BE:
            continue
        reached = clock(done, AIR, stage.at).cured
        assert any(each.stage == stage.stage and each.reached for each in reached.stages)
        assert stage.stage not in words(done, stage.at - SECOND)
        assert stage.stage in words(done, stage.at)
        assert stage.stage not in words(done, stage.at + DAY), "a day after nobody wants to hear it"
    assert "handle_high" not in numbers or "handle" in {word.kind for word in whole_life(done)}


def test_a_cold_room_tells_later_and_an_unknown_one_only_pot_and_mask():
    cold, done = room(17.0), job([CLEAR])
    assert clock(done, cold).next.opens > clock(done, AIR).next.opens
    assert COAT not in words(done, clock(done, AIR).next.opens, cold)
    kinds = {word.kind for word in whole_life(done, UNKNOWN)}
    assert kinds <= {MASK, CLEAN_GUN, POT_DEAD, SCUFF}


def test_a_job_that_is_done_still_has_a_gun_to_clean():
    done = replace(job([CLEAR], mixed_at=NOON), finished_at=NOON)
    assert {word.kind for word in whole_life(done)} == {MASK, CLEAN_GUN, POT_DEAD}


def test_nothing_more_is_told_of_a_next_coat_once_every_coat_is_on():
    most = {step.coating: step.most for step in schedules()[THREE].steps}
    every = [coating for coating, count in most.items() for _ in range(count)]
    assert clock(job(every, THREE), AIR).position.may_repeat is None
    assert not {COAT, SCUFF} & {word.kind for word in whole_life(job(every, THREE))}
    assert "handle" in {word.kind for word in whole_life(job(every, THREE))}


def test_what_never_goes_straight_over_is_not_told_as_the_next_coat():
    done = job([SEALER])
    found = clock(done, AIR, NOON + 2 * HOUR)
    never = replace(found, next=replace(found.next, over=replace(found.next.over, standing=NO)))
    for each, told in ((found, True), (never, False)):
        assert (COAT in {word.kind for word in words_due(each, NOON + 2 * HOUR, SHOP)}) is told


@pytest.mark.slow
@pytest.mark.parametrize("coating", coating_ids())
def test_the_texts_are_short_name_the_piece_and_give_no_clearance(coating):
    done = replace(job([coating], mixed_at=NOON), piece="a chest of drawers with a very long name, left side")
    assert subject(done) == "job 1"
    for word in whole_life(done):
        assert len(word.text) <= LONGEST_NOTICE, word.text
        assert name_of(done) in word.text
        assert not re.search(
            r"\bsafe(ly)? (to|now|again)|\bclear of|breathe freely|may be taken off|over\b.*mask", word.text
        )
    isocyanate = [word.text for word in whole_life(job(["waterborne-clear-2k"])) if word.kind in ("sand", COAT)]
    assert all("socyanate" in text for text in isocyanate)
