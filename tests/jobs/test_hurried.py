"""A coat sprayed before the coat below was ready is told so at once, as of its start; a coat in time is not."""

from dataclasses import replace
from datetime import timedelta

import pytest

from advisor.catalog.schedules import NO
from advisor.jobs.following_coat import NEVER_OVER, TOO_SOON, UNSURE_WAIT
from advisor.jobs.job_clock import above, below, hurried
from advisor.say.craft.job_clock_words import MOST_LINES, told, warning_words
from advisor.say.fitting import height
from advisor.shop.shop import US, Shop
from tests.jobs.job_cases import HOUR, MINUTE, UNKNOWN, clock, job, room
from tests.support import NOON, SHOP

SEALER, COLOUR, CLEAR_1K, CLEAR_2K, LACQUER = (
    "waterborne-sealer", "waterborne-colour", "waterborne-clear-1k", "waterborne-clear-2k", "nitrocellulose-lacquer",
)  # fmt: skip
WARM = room(23.0, hours=24 * 60)
SHOP_UTC = Shop(zone="UTC")


def after(under: str, over: str, waited: timedelta, air=WARM, now=NOON):
    """What is said of a coat that began so long after the one below it ended; it ends at noon, after five minutes."""
    done = job([under, over], apart=waited + 5 * MINUTE)
    return hurried(done, done.coats[-1], air, now, SHOP_UTC)


@pytest.mark.parametrize(
    ("waited", "kind"),
    [(20 * MINUTE, TOO_SOON), (HOUR - timedelta(seconds=1), TOO_SOON), (HOUR, None), (HOUR + MINUTE, None)],
)
def test_a_clear_over_a_colour_that_wants_an_hour(waited, kind):
    found = after(COLOUR, CLEAR_1K, waited)
    assert (found and found.kind) == kind
    if found is not None:
        assert (found.measured, found.limit) == (waited.total_seconds(), 3600.0)
        assert found.opened == NOON - 5 * MINUTE - waited + HOUR


def test_lacquer_two_hours_after_a_two_pack_is_told_what_it_needed_and_what_to_do():
    """Fourteen days, and dewaxed shellac between (coating table)."""
    said = warning_words(after(CLEAR_2K, LACQUER, 2 * HOUR), SHOP_UTC, NOON)
    assert said.startswith("Too soon: Nitrocellulose lacquer 2 h after Water-borne clear, two-pack; that wants 14 days")
    for words in ("dewaxed shellac", "Leave it, air moving, 20-25 °C, look tomorrow; no more coats on it", "wrinkle"):
        assert words in said
    assert "68-77 °F" in warning_words(after(CLEAR_2K, LACQUER, 2 * HOUR), Shop(units=US), NOON)


def test_a_colder_room_wants_longer():
    assert after(SEALER, SEALER, 65 * MINUTE) is None
    assert after(SEALER, SEALER, 65 * MINUTE, room(15.0)).kind == TOO_SOON


def test_a_room_nobody_read_is_a_cannot_tell_and_no_blame():
    """An hour by the sheet; never in under 0.7 of it (`earliest_of_sheet`)."""
    for minutes, kind in ((41, TOO_SOON), (43, UNSURE_WAIT), (600, UNSURE_WAIT)):
        found = after(SEALER, SEALER, minutes * MINUTE, UNKNOWN)
        assert found.kind == kind
        said = warning_words(found, SHOP, NOON)
        assert "cannot tell" in said.lower()
        assert ("Too soon" in said) is (kind == TOO_SOON)


def test_a_coat_over_one_it_never_goes_over_may_crack_or_lift():
    found = after("oil-varnish", LACQUER, 9999 * HOUR)
    assert (found.kind, found.over.standing) == (NEVER_OVER, NO)
    said = warning_words(found, SHOP, NOON)
    assert said.startswith("Stop: ")
    assert "may crack or lift: no more coats; try it on a panel, or strip it" in said


def test_the_first_coat_and_a_panel_wait_for_nothing():
    done = job([SEALER, SEALER], apart=6 * MINUTE)
    assert hurried(done, done.coats[0], WARM, NOON, SHOP) is None
    panel = replace(done.coats[1], panel=True)
    assert hurried(replace(done, coats=(done.coats[0], panel)), panel, WARM, NOON, SHOP) is None


def test_a_coat_logged_late_is_judged_as_of_its_start_by_what_lay_below_then():
    done = job([SEALER, SEALER, SEALER], apart=25 * MINUTE)
    first, second, third = done.coats
    assert below(done, second) == (first,)
    assert above(done, second) == third
    for now in (NOON, NOON + 240 * HOUR):
        found = hurried(done, second, WARM, now, SHOP)
        assert (found.kind, found.measured) == (TOO_SOON, 1200.0)


def test_the_clock_says_it_while_it_is_the_newest_coat_and_moves_the_next_one():
    done = job([SEALER, SEALER], "waterborne-two-pack", apart=25 * MINUTE)
    found = clock(done, WARM)
    assert found.warnings[0].kind == TOO_SOON
    assert found.next.opens == NOON + 16 * HOUR
    assert found.next.scuff, "by then the window of six hours is shut"
    said = told(found, SHOP_UTC)
    assert said[1].startswith("Too soon: ")
    tomorrow = warning_words(found.warnings[0], SHOP_UTC, NOON + 17 * HOUR)
    assert "look at it" in tomorrow
    assert "tomorrow" not in tomorrow
    three = job([SEALER, SEALER, SEALER], "waterborne-two-pack", apart=25 * MINUTE)
    later = replace(three.coats[2], started_at=NOON + 20 * HOUR, ended_at=NOON + 20 * HOUR)
    over = clock(replace(three, coats=(*three.coats[:2], later)), WARM, NOON + 21 * HOUR)
    assert TOO_SOON not in {warning.kind for warning in over.warnings}


def test_it_is_never_dropped_to_save_a_line():
    done = replace(job([CLEAR_2K, LACQUER], apart=10 * MINUTE), piece="lid " * 20)
    head, note = "Kept: " + "word " * 30, "Keep filters and rags of the two kinds apart: they may catch fire. " * 2
    for air in (WARM, room(9.0), UNKNOWN):
        said = told(clock(done, air), Shop(units=US, zone="America/New_York"), head, [note])
        assert height(said) <= MOST_LINES
        assert any(text.startswith("Too soon: ") for text in said)
