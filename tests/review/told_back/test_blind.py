"""Coats that went wrong, judged blind: sixty told by old hands, twenty made by a film model of other figures.

The stories and what each was were written by people who had not seen the rules. Truth is common practice, no source.
Answered rightly when first tried: of 21 to 40 sixteen, after which the rules learned four things (a sensor drifted to
saturation, dew in the morning after, a coat beside it that met the same and held, air near its limit beside a film too
thick); of 41 to 60 then nineteen.
"""

import pytest

from advisor.review.causes import Standing
from tests.review.told_back.blind_cases import Case, Seen, answer, reviewed, right, story_cases
from tests.review.told_back.blind_made import NUMBERS, made_case

STORIES = story_cases()
WITH_SIBLING = [case for case in STORIES if case.sibling]
DUSTY = ("05",)  # the like coat stood in air that was near its limit of dust as well


def name(case: Case) -> str:
    return case.name


def read_rightly(case: Case, seen: Seen, folder) -> None:
    """The first answer is a true one, and nothing is sure on a bad sensor or without the decisive data."""
    found = reviewed(case, seen, folder).causes
    said = answer(found)
    assert right(seen, said), (case.name, seen, said)
    if case.sensor_bad or case.data_missing:
        assert said == "cannot-tell"
    for cause in found.supported:
        assert cause.measured is not None
        assert cause.limit is not None
        assert cause.unit
        assert cause.source
        assert cause.standing is Standing.SUPPORTED


@pytest.mark.slow
@pytest.mark.parametrize("case", STORIES, ids=name)
def test_a_story_is_read_rightly(case, tmp_path):
    for seen in case.seen:
        read_rightly(case, seen, tmp_path)


@pytest.mark.slow
@pytest.mark.parametrize("number", NUMBERS)
def test_what_a_film_of_other_figures_did_is_read_rightly(number, tmp_path):
    case = made_case(number)
    read_rightly(case, case.seen[0], tmp_path)


def test_the_stories_are_of_every_kind():
    asked = [(case, seen) for case in STORIES for seen in case.seen]
    assert sum(not isinstance(seen.truth, str) and len(seen.truth) > 1 for _, seen in asked) >= 15
    assert sum(seen.truth == "not-the-air" for _, seen in asked) >= 11
    assert sum(case.sensor_bad for case in STORIES) >= 7
    assert sum(case.data_missing for case in STORIES) >= 6


@pytest.mark.slow
@pytest.mark.parametrize("case", WITH_SIBLING, ids=name)
def test_the_sibling_that_did_not_fail_is_cleared(case, tmp_path):
    for seen in case.seen:
        beside = reviewed(case, seen, tmp_path).sibling
        assert beside is not None
        fit_for_both = isinstance(seen.truth, str) or case.name[:2] in DUSTY
        assert (beside.cleared is True) is not fit_for_both
