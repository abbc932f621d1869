"""What the tool says: short, plain, in the reader's units, with the reason and a way to a GO."""

import textwrap

import pytest

from advisor.catalog.coatings import coating_ids, load_coating
from advisor.catalog.limits import marks as table_of_marks
from advisor.judge.conditions import Conditions
from advisor.judge.verdict import State, cautions_for
from advisor.readings import reading as marks
from advisor.say import phrases, words
from advisor.shop.shop import Shop
from tests.support import SHOP, typed, verdict_for

US_SHOP = Shop(units="us", coatings=("shellac",), zone="America/New_York")


def told(coating: str, conditions: Conditions, shop: Shop = SHOP, width: int = 1000) -> list[str]:
    paragraphs = words.told(verdict_for(coating, conditions, shop), shop)
    return [line for text in paragraphs for line in textwrap.wrap(text, width, subsequent_indent="  ")]


def test_a_us_shop_reads_fahrenheit():
    text = " ".join(told("nitrocellulose-lacquer", typed(14, 0.55, 14, shop=US_SHOP), US_SHOP))
    assert "Air 57.2 °F: 7.2 °F too cold (GO from 64.4 °F, WAIT below 59 °F)" in text
    assert "°C" not in text


def test_an_assumed_surface_is_named_as_guessed_and_asked_about_where_it_matters():
    dry, damp = (" ".join(told("shellac", typed(21, humidity))) for humidity in (0.45, 0.745))
    assert "surface 19 (guessed)" in dry
    assert "--piece-in" not in dry
    assert damp.count("--piece-in 24h") == 1
    assert "--piece-in" not in " ".join(told("shellac", typed(21, 0.745, piece_in=86400)))


@pytest.mark.parametrize("value", [0.6004, 0.6049, 0.604])
def test_a_humidity_beside_its_limit_is_shown_finely_enough_to_see_the_side(value):
    said = " ".join(told("nitrocellulose-lacquer", typed(22, value, 22)))
    assert "Humidity 60 %" not in said
    assert ": 0 % RH too" not in said


def test_a_temperature_beside_its_limit_too():
    said = " ".join(told("waterborne-clear-2k", typed(14.998, 0.5, 15)))
    assert "Air 14.998 °C: 3 °C too cold (GO from 18 °C, WAIT below 15 °C)" in said


@pytest.mark.slow
def test_every_verdict_fits_in_under_ten_lines_at_80_columns():
    for coating in coating_ids():
        for air in (None, 0, 15, 22, 29, 35):
            for humidity in (None, 0.1, 0.5, 0.7, 0.96):
                for surface in (None, 3, 22):
                    for piece_in in (None, 600.0):
                        known = typed(air, humidity, surface, piece_in)
                        lines = told(coating, known, width=80)
                        assert len(lines) <= 9, lines  # under ten; with the `As of` line the command takes one fewer
                        said = " ".join(" ".join(lines).split())
                        heats = any(word in said for word in ("Warm the room", "Warm room", "Dry the air"))
                        assert not heats or "proved fit for the spray zone" in said, lines


@pytest.mark.parametrize("coating_id", coating_ids())
def test_every_verdict_carries_a_short_caution_and_every_coating_its_full_one(coating_id):
    coating = load_coating(coating_id)
    short = phrases.short_caution(coating)
    assert len(short) <= phrases.LONGEST_SHORT_CAUTION
    assert told(coating_id, typed(22, 0.45), width=1000)[-1] == short
    full = " ".join(phrases.CAUTION_WORDS[key] for key in cautions_for(coating))
    assert "never about the air being fit to breathe" in full
    assert "safety data sheet, local codes and licensed practice decide" in full
    assert ("no warning smell" in full) == coating.isocyanate
    assert ("no flame, spark" in full) == coating.flammable
    assert ("Oily rags" in full) == (coating.hardens_by == "oxidation")
    assert ("no warning smell" in short) == coating.isocyanate


def test_every_mark_has_its_words_and_its_remedy():
    reasons = {value for name, value in vars(marks).items() if name.isupper() and isinstance(value, str)}
    reasons -= {marks.GOOD, marks.SUSPECT, marks.BAD}
    known = table_of_marks()
    assert all(known[reason].in_short and known[reason].sentence and known[reason].remedy for reason in reasons)


def test_a_summary_is_one_line_with_the_distance():
    verdict = verdict_for("nitrocellulose-lacquer", typed(22, 0.68, 22))
    assert verdict.state is State.CHANGE
    assert words.summary(verdict, SHOP) == "GO WITH CHANGES: 8 % RH too damp."
    assert words.summary(verdict_for("shellac", Conditions("shop")), SHOP).startswith("WAIT, cannot tell")


def test_an_unknown_is_told_once_for_each_cause():
    lines = told("shellac", Conditions("shop"))
    assert sum("reading" in line for line in lines) == 1
