"""Coats on the invented days: what spoilt them is named with its number, and what would have avoided it is a GO."""

from datetime import timedelta
from functools import cache

import pytest

from advisor.judge.conditions import OUTDOORS
from advisor.judge.verdict import State
from advisor.readings.recorded import mark_until
from advisor.review.air_track import track_of
from advisor.review.causes import Outcome, Standing
from advisor.review.coat import SprayedCoat
from advisor.review.of_the_coat import pot_of
from advisor.review.page.words import told
from advisor.review.reviewed import Reviewed, review
from advisor.review.ways import HOUR
from advisor.series.air_track import AirTrack
from advisor.times import milliseconds
from tests.support import SHOP, fixture_file, judge, local


@cache
def track(day: str) -> AirTrack:
    file = fixture_file(day)
    end = milliseconds(local(day, "23:59"))
    return track_of(mark_until(file, end, False, SHOP.accuracy).readings, "shop", SHOP)


def read_back(day: str, clock: str, coating: str, defect: str | None, sibling: str | None = None, **said) -> Reviewed:
    coat = SprayedCoat(coating=coating, sprayed=local(day, clock), **said)
    beside = None if sibling is None else local(day, sibling)
    return review(coat, SHOP.coating(coating), track(day), SHOP, defect, sibling=beside)


@cache
def blushed() -> Reviewed:
    return read_back("humid-evening", "20:30", "nitrocellulose-lacquer", "blush", "12:00", thinner="hot")


def test_blush_in_the_damp_evening_is_water_in_the_film():
    first = blushed().causes.supported[0]
    assert first.mechanism.id == "damp-film"
    assert first.measured > 2.0 * first.limit
    film = blushed().exposed.by_name[first.exposure]
    assert film.figure("seconds_below_dew") > 30.0
    assert 1e-4 < film.figure("condensed") < 2e-2  # [kg/m2]
    assert film.figure("water_to_slow_solvent_at_set") > film.figure("clear_up_to")


def test_the_coat_of_noon_is_cleared():
    beside = blushed().sibling
    assert beside.cleared is True
    assert beside.causes.judged[0].standing is not Standing.SUPPORTED
    assert beside.exposed.by_name.keys() == blushed().exposed.by_name.keys()


@pytest.mark.parametrize(
    ("day", "clock", "coating", "defect"),
    [
        ("humid-evening", "20:30", "nitrocellulose-lacquer", "blush"),
        ("cold-morning", "07:30", "waterborne-clear-1k", "cracking"),
    ],
)
def test_three_changes_are_judged_a_go(day, clock, coating, defect):
    ways = read_back(day, clock, coating, defect).ways
    assert len(ways) == 3
    assert all(way.state is State.GO for way in ways)
    assert {way.kind == HOUR for way in ways} == {True, False}
    for way in ways:
        if way.kind == HOUR:  # judged once more, as `check --at` would on the log itself
            coat = way.coat
            conditions = track(day).conditions(coat.sprayed.timestamp(), SHOP)
            assert not [place for place, _ in conditions.values if place == OUTDOORS]
            assert judge(conditions, SHOP.coating(coating), SHOP, coat.sprayed, pot_of(coat)).state is State.GO


def test_nibs_after_sanding_are_dust_and_another_hour_is_named():
    found = read_back("dusty-clean-down", "09:50", "nitrocellulose-lacquer", "nibs")
    assert [cause.mechanism.id for cause in found.causes.supported] == ["dust"]
    assert found.causes.supported[0].measured > 40.0  # times the floor under which nothing is accused
    assert found.ways
    later = max(way.coat.sprayed for way in found.ways)
    assert later > local("dusty-clean-down", "10:30")


def test_water_borne_in_the_cold_morning_is_a_film_under_its_mfft():
    found = read_back("cold-morning", "07:30", "waterborne-clear-1k", "cracking")
    first = found.causes.supported[0]
    assert (first.mechanism.id, first.limit, first.unit) == ("cold-film", 12.0, "°C")
    assert first.measured < 11.0
    powdery = read_back("cold-morning", "07:30", "waterborne-clear-1k", "dry-spray")
    assert powdery.causes.supported[0].mechanism.id == "cold-film"


def test_fisheyes_in_good_air_are_not_the_airs():
    found = read_back("good-day", "12:00", "nitrocellulose-lacquer", "fisheyes")
    assert found.causes.outcome is Outcome.NOT_THE_AIR
    assert "the air does not explain this" in " ".join(told(found, SHOP))
    assert "contamination" in [other.id for other in found.causes.others]


@pytest.mark.parametrize(("clock", "reason"), [("12:30", "pinned"), ("20:00", "stuck"), ("14:20", "gap")])
def test_a_bad_sensor_cannot_tell(clock, reason):
    found = read_back("sensor-faults", clock, "nitrocellulose-lacquer", "blush")
    assert found.cannot_tell
    assert not found.causes.supported
    assert reason in [cause.reason for cause in found.causes.judged]


def test_without_a_defect_every_supported_mechanism_is_told():
    found = read_back("humid-evening", "20:30", "nitrocellulose-lacquer", None, thinner="hot")
    assert [cause.mechanism.id for cause in found.causes.supported] == ["damp-film"]
    good = read_back("good-day", "12:00", "nitrocellulose-lacquer", None)
    assert not good.causes.supported


def test_a_coat_reviewed_the_same_evening_does_not_know_its_night():
    night = read_back("humid-evening", "20:30", "waterborne-clear-2k", "soft").exposed.by_name["lowest_while_curing"]
    assert night.covered < 0.2
    assert night.reason == "gap"
    assert sum(gap.end - gap.start for gap in night.gaps) > timedelta(hours=10).total_seconds()
