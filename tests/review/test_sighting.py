"""When and where a defect was first seen ranks what can have made it, and rules out what cannot yet have shown."""

import pytest

from advisor.catalog.mechanisms import DAYS, HOURS, MINUTES, MORNING, mechanisms
from advisor.errors import UsageError
from advisor.review.causes import LOOKS, Standing, causes_of
from advisor.review.coat import Exposure, Sighting, seen_at, sighting
from tests.review.test_causes import unread
from tests.support import SHOP

LACQUER = SHOP.coating("nitrocellulose-lacquer")


@pytest.mark.parametrize(
    ("text", "after", "found", "where"),
    [
        ("2min, all over", 120.0, MINUTES, "all-over"),
        ("edges", None, "", "edges"),
        ("Next morning", None, MORNING, ""),
        ("39 min", 2340.0, MINUTES, ""),
        ("40min", 2400.0, HOURS, ""),
        ("10 h, heavy parts", 36_000.0, MORNING, "heavy-parts"),
        ("2 days", 172_800.0, DAYS, ""),
        ("4 months, one side", 10_368_000.0, DAYS, "one-side"),
    ],
)
def test_it_is_said_as_a_sprayer_says_it(text, after, found, where):
    assert sighting(text) == Sighting(after, found, where)


@pytest.mark.parametrize("text", ["", " , ", "soon", "2 fortnights", "99999 h", "left leg", "\x1b[31m", "-2min"])
def test_anything_else_is_refused_in_one_line(text):
    with pytest.raises(UsageError) as refused:
        sighting(text)
    assert "\x1b" not in str(refused.value)


def test_a_jobs_own_words_of_a_spot_count_where_they_are_known():
    assert seen_at(600.0, "All over").where == "all-over"
    assert seen_at(600.0, "left leg").where == ""
    assert seen_at(-5.0, "").after == 0.0


def blush(**found: float) -> dict[str, Exposure]:
    """A white coat: exposures over or under their limits, the rest as unread."""
    given = {
        name: Exposure(name, value, "ratio" if name == "water_in_film" else "K", 0.3, name == "water_in_film")
        for name, value in found.items()
    }
    return {**unread(), **given}


@pytest.mark.parametrize(
    ("seen", "first"),
    [
        (Sighting(120.0, MINUTES, "all-over"), "damp-film"),
        (Sighting(120.0, MINUTES, "heavy-parts"), "cold-piece"),
        (Sighting(None, MORNING), "dew-later"),
    ],
)
def test_white_all_over_is_damp_air_on_heavy_parts_a_cold_piece_and_next_morning_dew(seen, first):
    exposures = blush(water_in_film=6.0, piece_over_dew=-1.0, lowest_over_dew_later=-2.0)
    assert causes_of(exposures, LACQUER, SHOP, "blush", seen).supported[0].mechanism.id == first


def test_without_a_sighting_dew_in_the_night_is_no_cause_of_white():
    found = causes_of(blush(lowest_over_dew_later=-2.0), LACQUER, SHOP, "blush")
    assert "dew-later" not in {each.mechanism.id for each in found.judged}


def test_white_spots_are_water_from_the_line_whatever_the_air():
    found = causes_of(blush(water_in_film=6.0), LACQUER, SHOP, "blush", Sighting(120.0, MINUTES, "spots"))
    damp = next(each for each in found.judged if each.mechanism.id == "damp-film")
    assert (damp.standing, damp.reason) == (Standing.AGAINST, LOOKS)
    assert found.others[0].id == "air-line"


@pytest.mark.parametrize(("gun", "told"), [(None, True), ("compressor", True), ("turbine", False), ("none", False)])
def test_only_a_compressor_has_a_tank_to_drain(gun, told):
    found = causes_of(unread(), LACQUER, SHOP, "fisheyes", gun=gun)
    assert ("air-line" in {each.id for each in found.others}) is told


def test_what_is_far_past_its_own_limit_stands_before_what_is_surely_but_hardly_past():
    """3 K under is a whole width; half a point of humidity a twentieth, and sensors sure of either rank no more."""
    exposures = {
        **unread(),
        "air_at_spraying": Exposure("air_at_spraying", 14.0, "°C", 0.05),
        "humidity_while_drying": Exposure("humidity_while_drying", 0.95, "fraction", 0.03),
    }
    found = causes_of(exposures, SHOP.coating("waterborne-clear-2k"), SHOP, "soft")
    assert [each.mechanism.id for each in found.supported] == ["damp-air", "slow-closing"]
    assert found.supported[1].sure > found.supported[0].sure


def test_every_look_is_of_a_defect_that_its_mechanism_makes():
    for each in mechanisms().values():
        assert set(each.looks) <= set(each.defects), each.id
