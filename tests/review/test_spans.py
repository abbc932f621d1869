"""Only the hours about a coat are read: a year in the logbook costs nothing."""

from datetime import timedelta

from advisor.review.air_track import AFTER, BEFORE, spans_of
from advisor.review.coat import Below, SprayedCoat
from advisor.times import milliseconds
from tests.support import NOON


def coat(**said) -> SprayedCoat:
    return SprayedCoat(coating="shellac", sprayed=NOON, **said)


def test_a_coat_asks_for_the_day_before_and_the_night_after():
    at = milliseconds(NOON)
    assert spans_of([coat()]) == [(at - BEFORE, at + AFTER)]


def test_the_coat_below_asks_for_its_own_hour_alone():
    spans = spans_of([coat(below=Below(coating="shellac", sprayed=NOON - timedelta(days=300)))])
    assert len(spans) == 2
    assert sum(end - start for start, end in spans) < 4 * 86_400_000


def test_spans_that_meet_are_read_once():
    later = SprayedCoat(coating="shellac", sprayed=NOON + timedelta(hours=5))
    assert len(spans_of([coat(), later])) == 1
