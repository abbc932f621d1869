"""Readings become conditions: the newest word decides, a sister stands in, the log tells the piece."""

from dataclasses import replace

import pytest

from advisor.judge.conditions import surface_of_piece
from advisor.physics.air import moist_air
from advisor.readings.quality import MINUTE
from advisor.readings.reading import Reading, Reject, Series
from advisor.shop.shop import Shop
from advisor.sources.conditions import conditions_as_of
from advisor.times import milliseconds, moment_of
from tests.support import NOON, SHOP, verdict_for

NOW = milliseconds(NOON)


def reading(value, minutes_ago=0.0, quantity="air_temperature", sensor="shelf", place="shop", reason="", level=None):
    at = NOW - int(minutes_ago * MINUTE)
    return Reading(Series(sensor, place, quantity), value, at, "", level or ("bad" if reason else "good"), reason)


def known(*readings, shop=SHOP, **more):
    ordered = sorted(readings, key=lambda entry: entry.at)
    return conditions_as_of(ordered, NOON, "shop", shop, **more)


def test_a_moment_survives_the_way_to_milliseconds_and_back():
    assert moment_of(milliseconds(NOON)) == NOON


def test_the_newest_reading_counts_with_its_age():
    measured = known(reading(20.0, 5), reading(21.0, 2)).at_work("air_temperature")
    assert (measured.value, measured.age) == (21.0, 120.0)


def test_an_older_good_reading_does_not_stand_in_for_a_newer_bad_one():
    measured = known(reading(20.0, 1), reading(None, 0, reason="missing")).at_work("air_temperature")
    assert measured.value is None
    assert measured.reason == "missing"


def test_a_good_sister_does_stand_in():
    measured = known(reading(None, 0, reason="missing"), reading(20.5, 1, sensor="wall")).at_work("air_temperature")
    assert measured.value == 20.5


def test_agreeing_sisters_are_averaged_with_the_worse_accuracy():
    shop = Shop(sensors={"wall": {"air_temperature": 1.0}})
    measured = known(reading(20.0), reading(21.0, sensor="wall"), shop=shop).at_work("air_temperature")
    assert (measured.value, measured.uncertainty) == (20.5, 1.0)


def test_a_silent_sister_is_left_out():
    measured = known(reading(20.0), reading(30.0, 60, sensor="wall")).at_work("air_temperature")
    assert measured.value == 20.0


@pytest.mark.parametrize(("stored", "state"), [(0.48, "go"), (0.55, "go"), (0.82, "wait")])
def test_a_stored_message_does_not_displace_a_live_word_but_counts_where_it_is_worse(stored, state):
    """A retained value may be older or newer than what was heard live: nobody knows, so the worse of both counts."""
    pair = known(
        reading(22.0, 2),
        reading(0.48, 2, quantity="relative_humidity"),
        reading(stored, 1, quantity="relative_humidity", reason="not-live", level="suspect"),
    )
    assert verdict_for("shellac", pair).state == state
    alone = known(
        reading(22.0, 2), reading(stored, 1, quantity="relative_humidity", reason="not-live", level="suspect")
    )
    assert verdict_for("shellac", alone).cannot_tell


def test_other_places_do_not_speak_for_this_one():
    assert known(reading(20.0, place="outdoors")).at_work("air_temperature").value is None


@pytest.mark.parametrize(("after", "stands"), [(-MINUTE, False), (0, False), (1, True), (MINUTE, True)])
def test_an_unreadable_line_stands_for_what_it_may_have_said(after, stands):
    """It may have been any sensor's newest word; a reading of the same moment or later speaks for itself."""
    lost = Reject("line 9", "half-line", "", NOW + after)
    conditions = known(reading(20.0), reading(0.5, quantity="relative_humidity"), rejects=(lost,))
    reasons = {measured.reason for measured in conditions.values.values()}
    assert reasons == ({"half-line"} if stands else {""})


def test_sensors_further_apart_than_they_are_sure_are_not_averaged():
    """30 % and 90 % are not 60 %: each is judged, and the worse counts."""
    pair = known(
        reading(22.0),
        reading(0.30, quantity="relative_humidity"),
        reading(0.90, quantity="relative_humidity", sensor="wall"),
    )
    assert pair.at_work("relative_humidity").rivals == (0.30, 0.90)
    verdict = verdict_for("shellac", pair)
    assert (verdict.state, verdict.exit_code) == ("wait", 1)


def test_humidity_follows_from_a_dew_point_sensor():
    conditions = known(reading(22.0), reading(10.5, quantity="dew_point"))
    humidity = conditions.at_work("relative_humidity")
    assert moist_air.dew_point(22.0, humidity.value) == pytest.approx(10.5, abs=1e-6)
    assert 0.02 < humidity.uncertainty < 0.06


def test_a_bad_dew_point_gives_no_humidity():
    conditions = known(reading(22.0), reading(None, quantity="dew_point", reason="missing"))
    assert conditions.at_work("relative_humidity").value is None


def test_a_dew_point_a_little_over_the_air_is_saturated_air():
    conditions = known(reading(22.0), reading(22.3, quantity="dew_point"))
    assert conditions.at_work("relative_humidity").value == pytest.approx(1.0)


def test_the_piece_follows_the_log_once_it_is_three_hours_long():
    warming = [reading(15.0 + (240 - minute) / 40, minute) for minute in range(241)]
    piece = surface_of_piece(known(*warming), SHOP)
    assert piece.basis == "logged_air"
    # air now 21 °C, its mean over the last hour or so a good degree lower, and half a kelvin under that
    assert 18.5 < piece.value < 20.3
    assert piece.uncertainty == 1.0


def test_cooling_air_takes_the_piece_with_it():
    """A piece is taken no warmer than the air of this moment."""
    cooling = [reading(15.0 + minute / 40, minute) for minute in range(241)]
    assert surface_of_piece(known(*cooling), SHOP).value == pytest.approx(14.5)


@pytest.mark.parametrize("minutes", [range(175), range(0, 241, 60)])
def test_a_short_or_gappy_log_does_not_tell_the_piece(minutes):
    assert known(*[reading(20.0, minute) for minute in minutes]).logged_air is None


def test_bad_readings_do_not_enter_the_mean():
    steady = [reading(20.0, minute) for minute in range(241)]
    spoiled = [
        replace(entry, value=90.0, level="bad", reason="out-of-range") if n % 50 == 7 else entry
        for n, entry in enumerate(steady)
    ]
    assert known(*spoiled).logged_air == pytest.approx(20.0)


def test_pressure_follows_the_altitude():
    assert known(reading(20.0), shop=Shop(altitude=1000.0)).pressure == pytest.approx(89_875, abs=1.0)
