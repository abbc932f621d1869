"""May the next coat be sprayed now: never yes unless the clock is reached, the air is no WAIT and a hand tried it."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.catalog.coatings import coating_ids, load_coating
from advisor.catalog.schedules import NO, overcoats, schedules
from advisor.jobs.job import Coat, Observation
from advisor.jobs.job_clock import PotLife
from advisor.jobs.next_coat import AirSaid, next_coat
from advisor.say.craft.next_coat_words import MOST_LINES, answer_words, clock_record, why_words
from advisor.say.fitting import height
from advisor.say.phrases import hand_test
from advisor.shop.shop import US, Shop
from tests.jobs.job_cases import HOUR, MINUTE, UNKNOWN, clock, job, room
from tests.outlook.columns import room_of
from tests.support import NOON, SHOP, examples

SEALER, COLOUR, CLEAR, LACQUER = (
    "waterborne-sealer", "waterborne-colour", "waterborne-clear-2k", "nitrocellulose-lacquer",
)  # fmt: skip
TWO_PACK = "waterborne-two-pack"
GOOD, BAD, DARK = AirSaid(False, "Air: GO."), AirSaid(True, "Air: WAIT; too damp."), AirSaid(None, "Air: cannot tell.")
WARM = room(23.0)
SECOND = timedelta(seconds=1)


def answer(done, air=WARM, now=NOON, *, said=GOOD, tried=True, shop=SHOP, asked=None, **more):
    then = clock(done, air, now, shop, asked)
    found = next_coat(then, shop, said, tried, one_more=asked is not None, **more)
    return replace(found, why=tuple(why_words(found, then, shop)))


@pytest.mark.parametrize(("after", "allowed"), [(HOUR - SECOND, False), (HOUR, True), (HOUR + SECOND, True)])
def test_the_clock_opens_at_the_sheets_hour_and_only_for_a_hand_that_tried(after, allowed):
    """Sealer over itself after an hour at 23 °C (coating table)."""
    done = job([SEALER], TWO_PACK)
    found = answer(done, now=NOON + after)
    assert found.allowed is allowed
    assert found.from_ == NOON + HOUR
    assert found.exit_code == (0 if allowed else 1)
    assert bool(found.why) is not allowed
    untried = answer(done, now=NOON + after, tried=False)
    assert untried.allowed is (None if allowed else False)
    assert untried.exit_code == (3 if allowed else 1)


def test_why_not_before_names_the_time_and_what_is_tried_then():
    found = answer(job([SEALER], TWO_PACK), shop=Shop(zone="UTC"))
    assert found.why[0] == "Not before 13:00; then try it: sands to powder, not cool to the touch."


def test_the_window_of_the_clock_is_the_answers():
    found = answer(job([SEALER], TWO_PACK), now=NOON + 7 * HOUR)
    assert (found.until, found.scuff) == (NOON + 6 * HOUR, True)
    assert answer(job([SEALER], TWO_PACK), now=NOON + 2 * HOUR).scuff is False


def test_an_unknown_room_is_no_yes_and_no_no():
    found = answer(job([SEALER], TWO_PACK), UNKNOWN, NOON + 2 * HOUR)
    assert (found.allowed, found.from_, found.scuff, found.exit_code) == (None, None, None, 3)
    assert "not known" in found.why[0]
    assert answer(job([SEALER], TWO_PACK), UNKNOWN, NOON + 2 * HOUR, said=BAD).exit_code == 1


def test_a_room_too_cold_to_harden_is_a_no():
    found = answer(job([SEALER], TWO_PACK), room(8.0), NOON + 48 * HOUR)
    assert (found.allowed, found.from_) == (False, None)
    assert "warm the room" in found.why[0]


def test_a_gap_in_the_record_is_a_cannot_tell_until_it_is_surely_reached():
    """Varnish wants 24 h; the first 11 were not read: at 30 h it may be, at 36 h it is."""
    read = [second for second in WARM.times if not 0 < second - NOON.timestamp() < 4e4]
    holed = room_of(read, [23.0] * len(read))
    done = job(["oil-varnish"], "varnish")
    assert answer(done, holed, NOON + 13 * HOUR).allowed is False  # not even if the gap had been hot
    assert answer(done, holed, NOON + 30 * HOUR).allowed is None
    assert "gap" in answer(done, holed, NOON + 30 * HOUR).why[0]
    assert answer(done, holed, NOON + 36 * HOUR).allowed is True


@pytest.mark.parametrize(("said", "allowed"), [(GOOD, True), (BAD, False), (DARK, None), (None, None)])
def test_the_air_decides_too(said, allowed):
    found = answer(job([SEALER], TWO_PACK), now=NOON + 2 * HOUR, said=said)
    assert found.allowed is allowed
    if said is not None and not allowed:
        assert found.why == (said.words,)


def test_a_bare_piece_has_no_clock_but_wants_a_hand_too():
    done = job([], TWO_PACK)
    assert answer(done, UNKNOWN).allowed is True
    assert answer(done, UNKNOWN, tried=False).allowed is None
    assert answer(done, UNKNOWN, said=BAD).allowed is False
    assert (answer(done, UNKNOWN).from_, answer(done, UNKNOWN).until) == (None, None)


def test_a_step_below_that_is_not_logged_is_no_yes():
    found = answer(job([COLOUR, COLOUR], TWO_PACK, apart=2 * HOUR), now=NOON + 30 * HOUR)
    assert found.allowed is None
    assert "seal 0 of 2" in found.why[0]
    jumped = answer(job([SEALER], TWO_PACK), now=NOON + 30 * HOUR, asked=CLEAR)
    assert "seal 1 of 2" in " ".join(jumped.why)
    assert jumped.allowed is None


def test_a_complete_schedule_is_a_no_and_one_more_is_asked_by_name():
    three = job(["shellac", *[LACQUER] * 3], "shellac-lacquer", apart=9 * HOUR, wet_film=7.5e-5)
    found = answer(three, now=NOON + 12 * HOUR)
    assert (found.allowed, found.exit_code) == (False, 1)
    assert found.why == ("All coats of its schedule are on. One more clear is usual: name it with --coating.",)
    assert answer(three, now=NOON + 12 * HOUR, asked=LACQUER).allowed is True
    assert answer(three, now=NOON + 12 * HOUR, asked="shellac").allowed is False
    five = job(["shellac", *[LACQUER] * 5], "shellac-lacquer", apart=9 * HOUR, wet_film=3e-5)
    assert answer(five, now=NOON + 12 * HOUR, asked=LACQUER).allowed is False
    assert "is done" in answer(replace(three, finished_at=NOON), now=NOON + 12 * HOUR, asked=LACQUER).why[0]


@pytest.mark.slow
@pytest.mark.parametrize("under", coating_ids())
@pytest.mark.parametrize("over", coating_ids())
def test_what_never_goes_over_another_is_never_allowed(under, over):
    found = answer(job([under]), room(23.0, hours=24 * 90), NOON + 24 * 60 * HOUR, asked=over)
    if overcoats()[under, over].standing == NO:
        assert (found.allowed, found.from_) == (False, None)
        assert found.why[0].startswith("Not next: ")
    else:
        assert found.from_ is not None


def test_over_a_coat_that_wants_a_panel_only_a_good_panel_of_it_lets_through():
    """Precatalysed over shellac: a panel first (coating table)."""
    done, later = job(["shellac"]), NOON + 3 * HOUR
    over = "precatalysed-lacquer"
    assert answer(done, now=later, asked=over).allowed is None
    panel = Coat(id=2, job=1, number=2, coating=over, panel=True, started_at=NOON + HOUR, ended_at=NOON + HOUR)
    unseen = replace(done, coats=(*done.coats, panel))
    assert answer(unseen, now=later, asked=over).allowed is None
    for good, allowed in ((True, True), (False, False)):
        seen = Observation(1, 1, 2, later, None, good, None, "", None, "")
        assert answer(replace(unseen, observations=(seen,)), now=later, asked=over).allowed is allowed
    early = replace(panel, started_at=NOON - 9 * HOUR, ended_at=NOON - 9 * HOUR)
    before = replace(done, coats=(early, *done.coats), observations=(seen,))
    assert answer(before, now=later, asked=over).allowed is None, "a panel from before the shellac shows nothing of it"


@pytest.mark.parametrize(
    ("mixed", "allowed"), [(4 * HOUR, False), (2 * HOUR, False), (116 * MINUTE, False), (115 * MINUTE, True)]
)
def test_a_pot_must_outlive_the_coat(mixed, allowed):
    """Two hours at 23 °C for the water-borne two-pack; a coat takes five minutes."""
    done, now = job([CLEAR], mixed_at=NOON - HOUR), NOON + 5 * HOUR
    pot = PotLife(now - mixed, now - mixed + 2 * HOUR)
    assert answer(done, now=now, pot=pot).allowed is allowed
    assert answer(done, now=now).allowed is False, "the pot of the last coat is dead"
    assert "mix anew" in answer(done, now=now).why[0]


def test_a_mix_too_old_is_a_no():
    """Shellac keeps six months (coating table)."""
    done, now = job(["shellac"]), NOON + 3 * HOUR
    for days, allowed in ((180, True), (190, False)):
        assert answer(done, now=now, pot=PotLife(now - timedelta(days=days), None)).allowed is allowed


def test_a_day_that_had_its_coats_is_a_no_even_where_the_room_is_not_known():
    """Three coats of nitrocellulose a day (coating table)."""
    three = job([LACQUER] * 3, apart=2 * HOUR, wet_film=3e-5)
    found = answer(three, now=NOON + 2 * HOUR)
    assert (found.allowed, found.from_) == (False, datetime(2025, 10, 15, tzinfo=UTC))
    assert "Today had its 3 coats" in found.why[0]
    assert answer(three, UNKNOWN, NOON + 2 * HOUR).allowed is False
    assert answer(job([LACQUER] * 2, apart=2 * HOUR, wet_film=3e-5), now=NOON + 2 * HOUR).allowed is True


def test_build_over_the_sheets_is_a_no():
    """Four coats of 35 µm leave room for none under 150."""
    assert answer(job([CLEAR] * 4, apart=5 * HOUR), now=NOON + 48 * HOUR).allowed is False
    assert answer(job([CLEAR] * 3, apart=5 * HOUR), now=NOON + 48 * HOUR).allowed is True


def test_a_coat_that_came_too_soon_wants_its_night_and_the_coat_below_its_time():
    """Sixteen hours from its end, and an hour for the sealer below."""
    done = job([SEALER, SEALER], TWO_PACK, apart=25 * MINUTE)
    for after, allowed in ((16 * HOUR - SECOND, False), (16 * HOUR, True)):
        found = answer(done, now=NOON + after)
        assert (found.allowed, found.from_) == (allowed, NOON + 16 * HOUR)
    hard = job([CLEAR, LACQUER], apart=125 * MINUTE)
    found = answer(hard, room(23.0, hours=24 * 20), NOON + 24 * HOUR)
    assert found.allowed is False
    assert found.from_ == NOON - 125 * MINUTE + timedelta(days=14)


def test_the_clocks_record_has_the_same_answer_but_for_air_and_hand():
    for now in (NOON, NOON + 2 * HOUR, NOON + 8 * HOUR):
        found = clock(job([SEALER], TWO_PACK), WARM, now)
        record, whole = clock_record(found, SHOP), next_coat(found, SHOP, GOOD, True)
        mine = record["next_coat"]
        assert (mine["from"], mine["until"], mine["scuff"]) == (
            record["next"]["from"], record["next"]["until"], record["next"]["scuff"],
        )  # fmt: skip
        assert mine["from"] == f"{whole.from_:%Y-%m-%dT%H:%M:%SZ}"
        assert mine["allowed"] is (None if whole.allowed else False)


def test_the_hand_test_fits_the_coat_and_sends_nobody_to_smell_isocyanate():
    for name in coating_ids():
        coating = load_coating(name)
        test = hand_test(coating)
        assert not (coating.isocyanate and "smell" in test)
        assert ("powder" in test) is not coating.burns_in


@pytest.mark.slow
@pytest.mark.parametrize("name", schedules())
@pytest.mark.parametrize("air", [WARM, room(9.0), UNKNOWN], ids=["warm", "cold", "unknown"])
def test_the_answer_stands_first_and_fits(name, air):
    steps = schedules()[name].steps
    every = [step.coating for step in steps for _ in range(step.most)]
    shop = Shop(units=US, zone="America/New_York")
    for count in range(len(every) + 1):
        for tried in (True, False):
            found = clock(replace(job(every[:count], name), piece="lid " * 10), air, NOON + 5 * HOUR)
            result = next_coat(found, shop, GOOD, tried)
            said = answer_words(result, found, None, shop)
            assert height(said) <= MOST_LINES
            assert said[0].startswith({True: "YES", False: "NO,", None: ("CANNOT", "NOT YET A YES")}[result.allowed])


@given(
    st.lists(st.sampled_from(coating_ids()), max_size=4),
    st.sampled_from([None, *schedules()]),
    st.sampled_from([WARM, room(9.0), room(30.0), UNKNOWN]),
    st.integers(0, 60 * 72),
    st.sampled_from([GOOD, BAD, DARK, None]),
    st.booleans(),
    st.sampled_from([None, *coating_ids()]),
    st.integers(1, 600),
)
@settings(max_examples=examples(300))
def test_it_is_never_a_yes_unless_tried_reached_and_in_fit_air(coats, name, air, minutes, said, tried, asked, apart):
    now = NOON + minutes * MINUTE
    done = job(coats, name, apart=apart * MINUTE)
    found = clock(done, air, now, SHOP, asked)
    result = next_coat(found, SHOP, said, tried, one_more=asked is not None)
    if result.allowed:
        assert tried
        assert said is GOOD
        assert found.next is not None
        assert not found.next.unlogged
        if coats:
            assert found.next.stage.reached is True
            assert result.from_ is not None
            assert result.from_ <= now
        assert result.why == ()
    else:
        assert result.why
    assert result.exit_code == {True: 0, False: 1, None: 3}[result.allowed]
