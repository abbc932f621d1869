"""Coats that went wrong, judged blind: sixty told by old hands, twenty made by a film model of other figures.

The stories and what each was were written by people who had not seen the rules. Truth is common practice, no source.
Answered rightly when first tried: of 21 to 40 sixteen, after which the rules learned four things (a sensor drifted to
saturation, dew in the morning after, a coat beside it that met the same and held, air near its limit beside a film too
thick); of 41 to 60 then nineteen.
"""

from collections import Counter

import pytest

from advisor.review.causes import Standing
from tests.review.blind_cases import Case, Seen, answer, reviewed, right, story_cases
from tests.review.blind_made import made_cases

CASES = [*story_cases(), *made_cases()]
ASKED = [(case, seen) for case in CASES for seen in case.seen]


@pytest.fixture(scope="module")
def said(tmp_path_factory) -> list[tuple[Case, Seen, str]]:
    """What the review says first of each."""
    folder = tmp_path_factory.mktemp("blind")
    return [(case, seen, answer(reviewed(case, seen, folder).causes)) for case, seen in ASKED]


def test_there_are_eighty_of_every_kind():
    assert len(CASES) == 80
    two = [case for case in CASES if any(not isinstance(seen.truth, str) and len(seen.truth) > 1 for seen in case.seen)]
    assert len(two) >= 20
    assert sum(seen.truth == "not-the-air" for _, seen in ASKED) >= 14
    assert sum(case.sensor_bad for case in CASES) >= 8
    assert sum(case.data_missing for case in CASES) >= 7


def test_the_first_cause_is_right_in_nine_of_ten(said):
    caused = [right(seen, first) for _, seen, first in said if not isinstance(seen.truth, str)]
    assert sum(caused) >= 0.9 * len(caused), Counter(caused)


def test_what_was_not_the_airs_is_not_laid_on_it(said):
    assert all(first == "not-the-air" for _, seen, first in said if seen.truth == "not-the-air")


def test_it_cannot_tell_where_the_decisive_data_are_missing(said):
    assert all(first == "cannot-tell" for case, _, first in said if case.data_missing)


def test_it_is_never_sure_on_a_bad_sensor(said):
    assert all(first == "cannot-tell" for case, _, first in said if case.sensor_bad)


WITH_SIBLING = [case for case in CASES if case.sibling]
DUSTY = ("05",)  # the like coat stood in air that was near its limit of dust as well


@pytest.mark.parametrize("case", WITH_SIBLING, ids=lambda case: case.name)
def test_the_sibling_that_did_not_fail_is_cleared(case, tmp_path):
    for seen in case.seen:
        beside = reviewed(case, seen, tmp_path).sibling
        assert beside is not None
        fit_for_both = isinstance(seen.truth, str) or case.name[:2] in DUSTY
        assert (beside.cleared is True) is not fit_for_both


@pytest.mark.parametrize(("case", "seen"), [pair for pair in ASKED if not isinstance(pair[1].truth, str)][:20:4])
def test_each_cause_carries_its_number_limit_and_unit(case, seen, tmp_path):
    for cause in reviewed(case, seen, tmp_path).causes.supported:
        assert cause.measured is not None
        assert cause.limit is not None
        assert cause.unit
        assert cause.source
        assert cause.standing is Standing.SUPPORTED
