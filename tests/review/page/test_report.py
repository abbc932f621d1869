"""A report is one page that needs nothing else, says what was measured, and takes no name for markup."""

from dataclasses import replace
from html import escape

import pytest

from advisor.review.causes import Standing
from advisor.review.page.picture import shown_spans
from advisor.review.page.report import report
from advisor.review.page.report_words import EXPOSURES, STANDINGS, number_and_unit, silent
from advisor.shop.shop import US
from tests.review.page.pages import SHOP_IN_LONDON, Seen, damp, dusty, faulty, named, page
from tests.support import SHOP

PAGES = ("damp", "faulty", "dusty")
HOSTILE = "<script>alert('x')</script> \"chair\" & <img src=http://x onerror=y> \x1b[31m"


@pytest.mark.slow
@pytest.mark.parametrize("which", PAGES)
def test_a_page_parses_and_closes_what_it_opens(which):
    seen = Seen(page(which))
    assert not seen.open
    assert [tag for tag, _ in seen.tags].count("h1") == 1
    ids = [attributes["id"] for _, attributes in seen.tags if "id" in attributes]
    assert len(ids) == len(set(ids))


@pytest.mark.parametrize("which", PAGES)
def test_a_page_refers_to_nothing_outside_itself(which):
    text = page(which)
    for word in ("http", "src=", "<link", "<script", "@import", "xmlns", "javascript"):
        assert word not in text
    references = [value for _, attributes in Seen(text).tags for name, value in attributes.items() if "href" in name]
    ids = {attributes.get("id") for _, attributes in Seen(text).tags}
    assert all(value.startswith("#") and value[1:] in ids for value in references)
    urls = [part.split(")", 1)[0] for part in text.split("url(")[1:]]
    assert all(url.startswith("#") and url[1:] in ids for url in urls)


@pytest.mark.parametrize("which", PAGES)
def test_every_picture_is_told_in_words(which):
    seen = Seen(page(which))
    pictures = [attributes for _, attributes in seen.tags if attributes.get("role") == "img"]
    assert len(pictures) == 2  # a wide and a narrow one
    assert [tag for tag, _ in seen.tags].count("svg") == 2
    for attributes in pictures:
        assert len(attributes["aria-label"]) > 100


def test_the_words_of_the_picture_carry_its_numbers():
    alt = next(attributes["aria-label"] for _, attributes in Seen(page("damp")).tags if attributes.get("role") == "img")
    for word in ("20:30", "12:00", "under the dew point", "over the dew point", "humidity 54 % to 87 %"):
        assert word in alt
    hidden = page("faulty").split('aria-label="', 1)[1].split('"', 1)[0]
    assert "no film computed" in hidden
    assert "at the end stop" in hidden


def test_a_page_says_what_the_review_says():
    text = Seen(page("damp")).text
    for words in (
        "Blush: the air did it, or had its part.", "Water in the wet film", "points to it", "at most 1",
        "speaks against it", "is cleared", "Mist with retarder thinner", "Sprayed at 16:30", "g/m2 of dew",
        "The safety data sheet, local codes and licensed practice decide.", "Old, wrong or wet thinner",
    ):  # fmt: skip
        assert words in text
    assert "●" in text
    assert "○" in text


def test_a_bad_sensor_is_named_with_its_hours_and_nothing_is_cleared():
    text = Seen(page("faulty")).text
    assert "cannot tell" in text
    assert "Nothing of the air can be ruled out" in text
    assert "Humidity, Tue 21 Oct 2025 13:20 to 13:30: at the end stop." in text
    assert "Air temperature, Tue 21 Oct 2025 13:59 to 14:40: no reading." in text
    assert "First mend or move the sensor" in text


def test_nothing_is_said_of_other_air_where_the_one_cause_stands():
    assert "ruled out" not in page("dusty")
    assert "What the air did not do" not in page("dusty")


def test_heat_and_cleaners_are_off_before_the_gun_where_the_air_is_to_be_changed():
    assert "off, or proved fit for the spray zone" in page("damp")
    assert "off, or proved fit for the spray zone" not in page("faulty")


def test_fresh_two_pack_dust_is_cautioned_where_there_is_isocyanate():
    assert "carries isocyanate" in page("faulty")
    assert "isocyanate" not in page("damp")


def test_a_hostile_name_stays_text():
    text = report(named(HOSTILE), (named(HOSTILE),), HOSTILE, SHOP_IN_LONDON)
    seen = Seen(text)
    assert not seen.open
    assert not {"script", "img"} & {tag for tag, _ in seen.tags}
    assert "<script" not in text
    assert "\x1b" not in text
    assert escape("<script>alert('x')</script>") in text
    assert seen.text.count("<script>alert('x')</script>") >= 3  # name, place, the other coat


def test_a_reader_of_fahrenheit_reads_no_celsius():
    text = report(damp(), (), "shop", replace(SHOP_IN_LONDON, units=US))
    assert "°C" not in text
    assert "°F over dew" in text


def test_every_exposure_and_every_standing_has_a_name():
    for found in (damp(), faulty(), dusty()):
        assert found.exposed.by_name.keys() <= EXPOSURES.keys()
    assert STANDINGS.keys() == set(Standing)


@pytest.mark.parametrize(
    ("value", "unit", "exposure", "shown"),
    [
        (None, "K", "film_over_dew", ("–", "")),
        (-2.13, "K", "film_over_dew", ("−2.1", "°C over dew")),
        (2.13, "K", "heat_while_wet", ("2.1", "°C")),
        (0.62, "fraction", "humidity_at_spraying", ("62", "%")),
        (5400.0, "s", "recoat_gap", ("1 h 30 min", "")),
        (24.0, "s", "cup", ("24", "s")),
        (6.22, "ratio", "water_in_film", ("6.2", "times")),
        (1e-4, "m", "wet_film", ("100", "µm")),
        (2e5, "Pa", "gun_pressure", ("2", "bar")),
        (1.0, "count", "goes_not_over", ("no", "")),
    ],
)
def test_a_number_and_its_unit_stand_apart(value, unit, exposure, shown):
    assert number_and_unit(value, unit, exposure, SHOP) == shown


def test_a_day_that_was_read_whole_has_nothing_silent():
    assert silent(dusty().exposed, shown_spans(dusty()), SHOP) == []
