"""What is said of a job's clocks: ten lines of 80 columns whatever the job, and never a word that frees the air."""

import textwrap
from dataclasses import replace

import pytest

from advisor.catalog.coatings import coating_ids, load_coating
from advisor.catalog.schedules import schedules
from advisor.say.craft.job_clock_words import MOST_LINES, next_words, pot_words, told, told_together
from advisor.shop.shop import US, Shop
from tests.jobs.job_cases import HOUR, MINUTE, UNKNOWN, clock, job, room
from tests.support import NOON, SHOP, every

SEALER, CLEAR = "waterborne-sealer", "waterborne-clear-2k"
SAID = {
    "thinner": "medium", "thinning": 0.1, "retarder": 0.05, "hardener": 5e-5, "needle": 1.4e-3,
    "gun_pressure": 172_000.0, "wet_film": 1.3e-4,
}  # fmt: skip


def height(paragraphs) -> int:
    lines = [line for text in paragraphs for line in textwrap.wrap(text, 80, subsequent_indent="  ")]
    assert all(len(line) <= 80 for line in lines)
    return len(lines)


@pytest.mark.slow
@pytest.mark.parametrize("under", coating_ids())
@pytest.mark.parametrize("over", coating_ids())
@pytest.mark.parametrize("air", [room(23.0), room(9.0), UNKNOWN], ids=["warm", "cold", "unknown"])
def test_any_two_coats_fit_in_ten_lines(under, over, air):
    done = replace(job([under, *[over] * 6], apart=MINUTE, **SAID), piece="lid " * 20)
    found = clock(done, air)
    said = told(found, Shop(units=US, zone="America/New_York"), head="Kept: " + "word " * 30)
    assert 0 < height(said) <= MOST_LINES
    assert "at least, no clearance" in " ".join(said)
    if found.pot is not None:
        assert any("gun" in text for text in said)
    assert 0 < height(told_together([found] * 5, SHOP)) <= MOST_LINES


@every("name", schedules())
@every("air", [room(23.0), room(9.0), UNKNOWN], ids=["warm", "cold", "unknown"])
def test_every_schedule_is_told_at_every_coat(name, air):
    steps = schedules()[name].steps
    every = [step.coating for step in steps for _ in range(step.most)]
    for count in range(len(every) + 1):
        said = told(clock(job(every[:count], name), air), SHOP)
        assert height(said) <= MOST_LINES
        assert ("All coats are on" in " ".join(said)) is (count >= len(every) - steps[-1].most + steps[-1].least)


def test_the_next_coat_names_step_window_and_grit():
    found = clock(job([SEALER], "waterborne-two-pack"), room(23.0))
    trial = "then try it: sands to powder, not cool to the touch"
    said = f"seal 2 of 2-4, Water-borne sealer, not before 13:00; {trial}; from 18:00 on scuff-sand 320-400 first"
    assert next_words(found.next, NOON, Shop(zone="UTC")) == said
    assert next_words(found.next, NOON + 2 * HOUR, Shop(zone="UTC")) == said, "the clock never says `now`"
    closed = clock(job([SEALER], "waterborne-two-pack"), room(23.0), NOON + 7 * HOUR)
    said = f"seal 2 of 2-4, Water-borne sealer, not before 13:00; {trial}; sand 320-400 first"
    assert next_words(closed.next, NOON + 7 * HOUR, SHOP) == said


def test_what_is_not_known_or_never_comes_is_said_so():
    unknown = next_words(clock(job([SEALER]), UNKNOWN).next, NOON, SHOP)
    assert "cannot tell from when (sheet: 60 min at 23 °C); from 16:12 on scuff-sand first" in unknown
    assert "never in a room as cold as now" in next_words(clock(job([SEALER]), room(8.0)).next, NOON, SHOP)
    done = job(["oil-varnish"], "shellac-lacquer")
    varnished = replace(done, coats=(replace(done.coats[0], step="seal"),))
    assert "not straight over what is on it" in next_words(clock(varnished, room(23.0)).next, NOON, SHOP)


def test_a_pot_says_until_when_what_is_not_sure_and_that_it_is_dead():
    shop = Shop(zone="UTC")
    found = clock(job([CLEAR], mixed_at=NOON - HOUR), room(23.0)).pot
    assert pot_words(found, NOON, shop) == "Pot good to 13:00, gun clean by 12:45."
    assert "died 13:00: not to be sprayed" in pot_words(found, NOON + HOUR, shop)
    unsure = pot_words(clock(job([CLEAR]), UNKNOWN).pot, NOON, shop)
    assert "counted from its first coat" in unsure
    assert "room not known, taken as 30 °C" in unsure


def test_several_jobs_stand_by_what_comes_soonest_and_the_rest_are_counted():
    soon, late = clock(job([CLEAR]), room(23.0)), clock(job(["oil-varnish"]), room(23.0), NOON + HOUR)
    late = replace(late, job=replace(late.job, piece="box"))
    shop = Shop(zone="UTC")
    said = told_together([late, soon], shop)
    assert "lid" in said[0]
    assert "box" in said[1]
    assert "UTC" in told_together([late, soon], SHOP)[0]
    many = told_together([soon] * 30, shop)
    assert many[-1].startswith("And ")
    assert len(many) - 1 + int(many[-1].split()[1]) == 30


def test_a_job_without_a_coat_says_so():
    assert told(clock(job([]), UNKNOWN), SHOP) == ["1 lid: no coat yet."]
    assert load_coating(SEALER).name in " ".join(told(clock(job([], "waterborne-two-pack"), UNKNOWN), SHOP))
