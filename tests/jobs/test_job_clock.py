"""The clocks of a job: next coat, window, pot, gun, mask and fan, what is passed; at 23 °C they are the sheet's."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from math import exp

import pytest

from advisor.bench.bench_gates import BUILD, LEVEL
from advisor.catalog.coatings import coating_ids, load_coating
from advisor.catalog.schedules import NO, PANEL, overcoats
from advisor.jobs.cure import SCUFF
from advisor.jobs.following_coat import (
    COATS_TODAY,
    NEVER_OVER,
    NEXT_BUILD,
    NEXT_COATS,
    NEXT_NEVER,
    PANEL_FIRST,
    dry_film_of,
    next_coating,
)
from advisor.jobs.job import Coat
from advisor.jobs.job_clock import pot_until
from advisor.judge.plan import after_coat
from advisor.say.craft.job_clock_words import warning_words
from advisor.shop.shop import Shop
from tests.jobs.job_cases import HOUR, MINUTE, UNKNOWN, clock, job, room
from tests.outlook.columns import joined
from tests.support import NOON, SHOP, every

SEALER, COLOUR, CLEAR = "waterborne-sealer", "waterborne-colour", "waterborne-clear-2k"
THREE = "waterborne-two-pack"
GAS = 8.314462618  # [J/(mol K)], CODATA 2018


def kinds(found) -> set[str]:
    return {warning.kind for warning in found.warnings}


def seconds_after(moment) -> float:
    return (moment - NOON).total_seconds()


@pytest.mark.parametrize("coating", coating_ids())
def test_at_23_degrees_the_same_coating_again_is_the_sheets(coating):
    numbers = load_coating(coating).numbers
    found = clock(job([coating]), room(23.0)).next
    assert seconds_after(found.opens) == pytest.approx(numbers["recoat_from_high"].value, abs=1)
    if load_coating(coating).burns_in:
        assert found.closes is None
    else:
        assert seconds_after(found.closes) == pytest.approx(numbers["recoat_until"].value, abs=1)
    assert found.sure
    assert not found.scuff


@pytest.mark.parametrize(
    ("done", "coating", "key"),
    [([SEALER, SEALER], COLOUR, "sand_high"), ([SEALER, SEALER, COLOUR, COLOUR], CLEAR, "before_two_pack_clear")],
)
def test_the_next_step_waits_for_what_the_coat_below_must_have_reached(done, coating, key):
    """Colour before a two-pack clear: 24 h (common practice, no source: tests/reference/trade_facts.csv)."""
    found = clock(job(done, THREE, apart=5 * HOUR), room(23.0, NOON - 48 * HOUR)).next
    assert found.coating.id == coating
    assert seconds_after(found.opens) == pytest.approx(load_coating(done[-1]).numbers[key].value, abs=1)
    assert found.scuff
    assert (found.grits.coarse, found.grits.fine) == (320, 400)


def test_a_colder_room_opens_later_and_closes_no_later():
    warm, cold = (clock(job([SEALER]), room(celsius)).next for celsius in (23.0, 15.0))
    assert cold.opens > warm.opens
    assert cold.closes == warm.closes


@pytest.mark.parametrize(("after", "scuff"), [(6 * 60 - 1, False), (6 * 60, True), (6 * 60 + 1, True)])
def test_past_the_window_it_wants_scuffing(after, scuff):
    """Six hours for a water-borne sealer (common practice, no source)."""
    assert clock(job([SEALER]), room(23.0), NOON + after * MINUTE).next.scuff is scuff


@pytest.mark.parametrize("name", ["oil-varnish", "waterborne-clear-2k"])
def test_in_the_cold_a_window_that_shuts_before_it_opens_wants_scuffing_first(name):
    """At 9 °C they may be recoated only after the sheet's window is over: they were told to need no scuff then."""
    found = clock(job([name]), room(9.0)).next
    assert seconds_after(found.closes) == pytest.approx(load_coating(name).numbers["recoat_until"].value, abs=1)
    assert found.opens > found.closes
    assert found.scuff


def test_varnish_is_scuffed_before_every_coat():
    assert clock(job(["oil-varnish"], "varnish"), room(23.0)).next.scuff
    assert not clock(job(["oil-varnish"]), room(23.0)).next.scuff


def test_the_first_coat_waits_for_nothing_but_sanding():
    found = clock(job([], THREE), UNKNOWN)
    assert (found.next.coating.id, found.next.number, found.next.stage, found.next.scuff) == (SEALER, 1, None, True)
    assert (found.last, found.cured, found.pot, found.mask_until, found.warnings) == (None, None, None, None, ())
    assert found.soonest is None
    assert clock(job([]), UNKNOWN).next is None


def test_without_readings_the_opening_is_not_known_and_the_closing_is_the_earliest():
    found = clock(job([SEALER]), UNKNOWN).next
    assert (found.opens, found.never, found.sure) == (None, False, False)
    assert seconds_after(found.closes) == pytest.approx(0.7 * 6 * 3600, abs=1)


def test_in_a_room_too_cold_to_harden_it_never_opens():
    found = clock(job([SEALER]), room(8.0)).next
    assert (found.opens, found.never) == (None, True)


def test_a_hole_in_the_record_makes_it_the_latest():
    whole = room(23.0, hours=60.0)
    since = whole.times - NOON.timestamp()
    holed = whole.without((since > 0) & (since < 4e4), "")
    found = clock(job(["oil-varnish"]), holed, NOON + 24 * HOUR).next
    assert seconds_after(found.opens) == pytest.approx(24 * 3600 + 4e4, abs=700)
    assert not found.sure
    assert clock(job(["oil-varnish"]), holed, NOON + 6 * HOUR).next.opens is None


def test_a_full_day_moves_the_next_coat_to_tomorrow():
    """Three coats of nitrocellulose a day (coating table; common practice, no source), by the shop's own midnight."""
    three = job(["nitrocellulose-lacquer"] * 3, apart=2 * HOUR)
    assert clock(job(["nitrocellulose-lacquer"] * 2, apart=2 * HOUR), room(23.0)).next.opens == NOON + HOUR
    assert clock(three, room(23.0)).next.opens == datetime(2025, 10, 15, tzinfo=UTC)
    berlin = clock(three, room(23.0), shop=Shop(zone="Europe/Berlin"))
    assert berlin.next.opens == datetime(2025, 10, 14, 22, tzinfo=UTC)
    assert COATS_TODAY not in kinds(berlin)
    assert COATS_TODAY in kinds(clock(job(["nitrocellulose-lacquer"] * 4), room(23.0)))


@pytest.mark.parametrize(
    ("celsius", "hours"),
    [(23.0, 2.0), (33.0, 2.0 / exp(55_000 / GAS * (1 / 296.15 - 1 / 306.15))),
     (13.0, 2.0 / exp(30_000 / GAS * (1 / 296.15 - 1 / 286.15)))],
)  # fmt: skip
def test_a_pot_lives_by_the_rooms_warmth_unkind_both_ways(celsius, hours):
    """By the Arrhenius law written out: 55 kJ/mol above 23 °C, 30 below; two hours by the sheet."""
    found = pot_until(load_coating(CLEAR), NOON, room(celsius), NOON, Shop())
    assert seconds_after(found.until) == pytest.approx(hours * 3600, abs=2)
    assert found.guessed is None


def test_a_pot_that_stood_in_a_warm_hour_dies_sooner():
    cool = room(23.0, NOON + HOUR)
    both = joined([room(33.0, hours=25.0), replace(cool, times=cool.times[1:], values=cool.values[1:])])
    now = NOON + HOUR
    found = pot_until(load_coating(CLEAR), NOON, both, now, Shop())
    assert NOON < found.until < pot_until(load_coating(CLEAR), NOON, room(23.0), now, Shop()).until


@pytest.mark.parametrize(("material", "taken"), [(None, 30.0), (15.0, 23.0), (23.0, 23.0), (28.0, 28.0)], ids=str)
def test_an_unknown_room_is_taken_as_warm(material, taken):
    found = pot_until(load_coating(CLEAR), NOON, UNKNOWN, NOON, Shop(), material)
    known = pot_until(load_coating(CLEAR), NOON, room(taken), NOON, Shop())
    assert found.guessed == taken
    assert found.until == known.until


def test_a_warm_tin_counts_in_a_cool_room_and_a_cold_one_does_not():
    warm, cold, none = (
        pot_until(load_coating(CLEAR), NOON, room(20.0), NOON, Shop(), material).until
        for material in (28.0, 12.0, None)
    )
    assert warm < none
    assert cold == none


def test_the_gun_is_clean_a_quarter_of_an_hour_before_the_pot_dies():
    found = clock(job([CLEAR], mixed_at=NOON - HOUR), room(23.0)).pot
    assert found.until == NOON + HOUR
    assert found.clean_by == NOON + 45 * MINUTE
    assert found.mixed_said
    unsaid = clock(job([CLEAR]), room(23.0)).pot
    assert (unsaid.until, unsaid.mixed_said) == (NOON + 2 * HOUR - 5 * MINUTE, False)


def test_a_pot_of_which_nobody_said_when_counts_from_the_first_coat_that_could_be_of_it():
    """A later coat makes it no younger, and a coat from before the sheet's two hours was of another one."""
    for apart, before in ((HOUR, 60.0), (2 * HOUR, 120.0), (2 * HOUR + MINUTE, 0.0)):
        found = clock(job([CLEAR] * 2, apart=apart), room(23.0)).pot
        assert found.until == NOON - 5 * MINUTE - before * MINUTE + 2 * HOUR
        assert not found.mixed_said


def test_a_pot_is_told_for_a_day_and_only_where_it_dies():
    assert clock(job([SEALER]), room(23.0)).pot is None
    assert clock(job([CLEAR]), room(23.0), NOON + 25 * HOUR).pot is not None
    assert clock(job([CLEAR]), room(23.0), NOON + 27 * HOUR).pot is None


def test_mask_and_fan_run_from_the_last_coat_a_test_panel_too():
    done = job([SEALER, CLEAR])
    panel = replace(done.coats[1], panel=True)
    found = clock(replace(done, coats=(done.coats[0], panel)), room(23.0))
    after = after_coat(load_coating(CLEAR), SHOP)
    assert found.fan_until == NOON + timedelta(seconds=round(after.fan))
    assert found.mask_until == NOON + timedelta(seconds=round(after.mask))
    assert found.mask_until > found.fan_until, "isocyanate: not before the coat can be handled"
    assert found.last.coating == SEALER
    assert found.pot.coating.id == CLEAR


@pytest.mark.parametrize(("count", "expected"), [(2, set()), (3, {NEXT_COATS}), (4, {"coats"})])
def test_coats_over_the_sheet_are_told_and_the_one_that_would_be(count, expected):
    """Three coats of precatalysed lacquer (coating table; common practice, no source)."""
    thin = job(["precatalysed-lacquer"] * count, apart=2 * HOUR, wet_film=5e-5)
    assert kinds(clock(thin, room(23.0))) & {"coats", NEXT_COATS} == expected


@pytest.mark.parametrize(("wet", "expected"), [(1.5e-4, set()), (1.51e-4, {"wet_film"})])
def test_a_wet_film_over_the_most_is_told(wet, expected):
    """Never over 150 µm of water-borne two-pack (coating table)."""
    assert kinds(clock(job([CLEAR], wet_film=wet), room(23.0))) & {"wet_film"} == expected


def test_build_is_told_as_passed_and_before_it_is():
    """At 110 µm wet and 32 % solids: 35 µm a coat, 150 at most."""
    assert not kinds(clock(job([CLEAR] * 3, apart=5 * HOUR), room(23.0)))
    assert kinds(clock(job([CLEAR] * 4, apart=5 * HOUR), room(23.0))) == {NEXT_BUILD}
    assert kinds(clock(job([CLEAR] * 5, apart=5 * HOUR), room(23.0))) == {"total_dry_film"}


def test_five_coats_of_the_schedule_that_levels_them_are_told_to_be_levelled_and_not_as_too_many():
    """176 µm as sprayed, 136 levelled; the fourth coat is not warned of the fifth."""
    below = [SEALER] * 2 + [COLOUR] * 2
    assert not kinds(clock(job([*below, *[CLEAR] * 4], schedule=THREE), room(23.0))) & {NEXT_BUILD, LEVEL}
    found = clock(job([*below, *[CLEAR] * 5], schedule=THREE), room(23.0))
    assert kinds(found) & {BUILD, LEVEL} == {LEVEL}
    assert "About 176 µm of Water-borne clear, two-pack dry: level and rub it out, to at most 150 µm." in [
        warning_words(warning, Shop(), NOON) for warning in found.warnings
    ]


def test_what_lies_beneath_a_lacquer_is_part_of_its_build():
    """Three coats of 25 µm over two of 24 of a sealer: 122, and 110 at most; the lacquer alone would be 74."""
    found = clock(job([SEALER, SEALER, *["precatalysed-lacquer"] * 3]), room(23.0))
    assert BUILD in kinds(found)
    assert BUILD not in kinds(clock(job(["precatalysed-lacquer"] * 3), room(23.0)))
    said = next(warning_words(warning, Shop(), NOON) for warning in found.warnings if warning.kind == BUILD)
    assert said.startswith("About 122 µm dry, Precatalysed lacquer and all beneath, at most 110 µm")


def test_dry_film_is_of_what_was_read_and_how_it_was_thinned():
    """100 µm at 34 % solids thinned 10 %: 30.9 µm."""
    coat = Coat(id=1, job=1, number=1, coating=CLEAR, started_at=NOON, ended_at=NOON, wet_film=1e-4, thinning=0.1)
    assert dry_film_of(coat, load_coating(CLEAR)) == pytest.approx(30.909e-6, rel=1e-4)
    assert dry_film_of(replace(coat, thinning=None), load_coating(CLEAR)) == pytest.approx(32e-6)


@every("under", coating_ids())
@every("over", coating_ids())
def test_a_coat_that_may_not_go_over_another_is_told(under, over):
    found = clock(job([under, over]), room(23.0))
    standing = overcoats()[under, over].standing
    assert (NEVER_OVER in kinds(found)) is (standing == NO)
    shop = Shop(coatings=(over,))
    coming = clock(job([under]), room(23.0), shop=shop)
    assert coming.next.coating.id == under  # without a schedule as before
    assert not kinds(coming) & {NEXT_NEVER, PANEL_FIRST}


def test_what_comes_next_over_the_wrong_coat_is_told():
    done = job(["oil-varnish"], "shellac-lacquer")
    wrong = clock(replace(done, coats=(replace(done.coats[0], step="seal"),)), room(23.0))
    assert NEXT_NEVER in kinds(wrong)
    done = job([SEALER], "colour-solvent-two-pack")
    sealed = clock(replace(done, coats=(replace(done.coats[0], step="colour"),) * 2), room(23.0))
    assert overcoats()[SEALER, "solvent-polyurethane-2k"].standing == PANEL
    assert PANEL_FIRST in kinds(sealed)


def test_the_next_coating_is_the_jobs_own_then_the_shops_then_the_familys():
    mine = replace(load_coating(SEALER), id="my-sealer")
    shop = Shop(coatings=("my-sealer",), data_sheets={"my-sealer": mine})
    assert clock(job([], THREE), UNKNOWN).next.coating.id == SEALER
    assert clock(job([], THREE), UNKNOWN, shop=shop).next.coating.id == "my-sealer"
    assert clock(job([SEALER], THREE), UNKNOWN, shop=shop).next.coating.id == SEALER
    assert next_coating(job([]), None, shop).id == "my-sealer"


def test_the_soonest_is_the_next_moment_to_come():
    found = clock(job([CLEAR], mixed_at=NOON - HOUR), room(23.0))
    assert found.soonest == found.pot.clean_by == NOON + 45 * MINUTE
    later = clock(job([CLEAR], mixed_at=NOON - HOUR), room(23.0), NOON + 46 * MINUTE)
    assert later.soonest == later.pot.until == NOON + 60 * MINUTE
    assert any(stage.stage == SCUFF for stage in later.cured.stages)
