"""What would have kept a coat from going wrong: each way holds when it is run again, and none mends what it cannot."""

from datetime import timedelta
from functools import cache

import pytest

from advisor.judge.verdict import State
from advisor.readings.recorded import mark_until
from advisor.review.air_track import track_of
from advisor.review.causes import causes_of
from advisor.review.coat import SprayedCoat
from advisor.review.exposure import exposures_of
from advisor.review.page.words import OFF_FIRST, told, way
from advisor.review.reviewed import Reviewed, review
from advisor.review.ways import COAT, HELD, HOUR, WARM_PIECES
from advisor.series.trace import Window
from tests.review.told_back.blind_cases import SHOP, reviewed, story_cases
from tests.support import fixture_file, local

STORIES = {case.name[:2]: case for case in story_cases()[:20]}


@pytest.fixture(scope="module")
def told_of(tmp_path_factory):
    folder = tmp_path_factory.mktemp("ways")

    @cache
    def found(number: str) -> Reviewed:
        case = STORIES[number]
        return reviewed(case, case.seen[0], folder, with_ways=True)

    return found


@pytest.mark.slow
@pytest.mark.parametrize("number", ["01", "03", "05", "10", "14", "15"])
def test_no_hour_named_would_have_spoilt_it_again(told_of, number):
    found = told_of(number)
    seen = found.exposed.seen
    hours = [each for each in found.ways if each.kind == HOUR]
    assert hours
    before = {cause.mechanism.id for cause in found.causes.supported}
    for each in hours:
        exposures = exposures_of(each.coat, seen.coating, seen.track, SHOP).by_name
        then = causes_of(exposures, seen.coating, SHOP, found.causes.defect)
        assert not before & {cause.mechanism.id for cause in then.supported}


@pytest.mark.slow
@pytest.mark.parametrize("number", sorted(STORIES))
def test_every_way_is_a_go_and_there_are_three_at_most(told_of, number):
    found = told_of(number)
    assert len(found.ways) <= 3
    assert all(each.state is State.GO for each in found.ways)
    assert bool(found.ways) <= bool(found.causes.supported)


def test_dust_is_not_mended_by_warmth(told_of):
    assert {each.kind for each in told_of("05").ways} == {HOUR}


def test_a_heater_that_went_off_is_kept_on(told_of):
    assert [each.kind for each in told_of("10").ways if each.temperature is not None] == [HELD]


def test_a_cold_piece_is_let_come_to_the_room_and_the_film_made_thinner(told_of):
    first = told_of("07").ways[0]
    assert first.kind == WARM_PIECES
    assert dict(first.mends)["wet_film"] == pytest.approx(125e-6)
    assert "125 µm" in way(first, SHOP)


def test_an_old_mix_is_mixed_anew(told_of):
    (only,) = told_of("06").ways
    assert (only.kind, way(only, SHOP)) == (COAT, "a fresh mix")


def test_what_lies_below_is_mended_by_no_hour(told_of):
    assert told_of("12").ways == ()
    assert "does not explain this" in " ".join(told(told_of("12"), SHOP))


def test_a_room_kept_warm_holds_its_moisture(told_of):
    track = told_of("10").exposed.seen.track
    start = told_of("10").coat.sprayed.timestamp()
    held = track.held_at(19.0, Window(start, start + 36 * 3600.0))
    night = start + timedelta(hours=10).total_seconds()
    cold, warm = (each.trace("air_temperature").at(night) for each in (track, held))
    damp, dry = (each.trace("relative_humidity").at(night) for each in (track, held))
    assert cold < 10.0
    assert warm == pytest.approx(19.0)
    assert dry < 0.6 * damp  # the same water in warmer air
    before = start - 3600.0
    assert held.trace("air_temperature").at(before) == track.trace("air_temperature").at(before)


def test_an_hour_in_which_the_sanding_began_is_not_offered():
    """The invented dusty day: clean till 9:05 local, sanding then, under the floor again from 10:15."""
    file = fixture_file("dusty-clean-down")
    marked = mark_until(file, file.readings[-1].at, False, SHOP.accuracy)
    coat = SprayedCoat(coating="nitrocellulose-lacquer", sprayed=local("dusty-clean-down", "10:00"))
    track = track_of(marked.readings, "shop", SHOP)
    found = review(coat, SHOP.coating(coat.coating), track, SHOP, "nibs")
    hours = [each.coat.sprayed for each in found.ways]
    assert len(hours) == 3
    assert all(not local("dusty-clean-down", "08:45") <= hour < local("dusty-clean-down", "10:30") for hour in hours)


@pytest.mark.parametrize(("number", "said"), [("01", True), ("05", False), ("12", False)])
def test_what_heats_or_dries_is_off_before_the_gun_where_vapour_burns(told_of, number, said):
    assert (OFF_FIRST in told(told_of(number), SHOP)) is said
