"""When a planned session is told: at each lead, on a change, never twice, and never as a promise. Invented plans."""

from dataclasses import replace
from datetime import timedelta

import pytest

from advisor.catalog.coatings import coating_ids
from advisor.judge.conditions import Measured
from advisor.judge.plan import plan_for
from advisor.judge.verdict import State
from advisor.notices.announced import Announced
from advisor.notices.plan_notice import (
    LONGEST_NOTICE,
    Planned,
    Told,
    announced_now,
    as_it_looks,
    due_lead,
    end_of,
    lead_moments,
    notice_text,
    session_left,
    when_told,
    whole_session,
    words_to_come,
)
from advisor.shop.shop import US, Shop
from tests.support import NOON, SHOP, judge, typed

START = NOON + timedelta(hours=3)
END = START + timedelta(hours=2)
MINUTE, HOUR = timedelta(minutes=1), timedelta(hours=1)
TICK = timedelta(milliseconds=1)
PLAN = Planned(7, NOON - timedelta(days=2), START, "nitrocellulose-lacquer", 3, 300.0)
LEADS = {"first": 12 * HOUR, "second": 2 * HOUR, "last": 20 * MINUTE}
GO, CHANGE, WAIT = State.GO, State.CHANGE, State.WAIT


def stands(state=GO, cannot_tell=False, reason="") -> Announced:
    return Announced("plan 7", state, cannot_tell, reason or ("" if state is GO else "relative_humidity"), 0)


def word(before: timedelta, state=GO, lead="first", cannot_tell=False, reason="") -> Told:
    return Told(lead, START - before, state, cannot_tell, reason or ("" if state is GO else "relative_humidity"))


def due(before: timedelta, state=GO, *told: Told, plan=PLAN, cannot_tell=False, reason="", end=END):
    return due_lead(plan, stands(state, cannot_tell, reason), told, START - before, end, SHOP)


@pytest.mark.parametrize(("lead", "ahead"), LEADS.items())
def test_a_lead_is_due_at_its_moment_and_after_and_not_before(lead, ahead):
    """Just before, at, just after."""
    before = () if lead == "first" else (word(ahead + 3 * HOUR),)
    assert due(ahead + TICK, GO, *before) is None
    assert due(ahead, GO, *before) == lead
    assert due(ahead - TICK, GO, *before) == lead


def test_a_lead_is_told_once():
    told = word(12 * HOUR)
    assert due(12 * HOUR - MINUTE, GO, told) is None
    assert due(2 * HOUR - MINUTE, GO, told, word(2 * HOUR, lead="second")) is None
    assert due(MINUTE, GO, told, word(2 * HOUR, lead="second"), word(20 * MINUTE, lead="last")) is None


def test_of_leads_missed_together_only_the_latest_is_told():
    """The daemon was off from yesterday until ten minutes before."""
    assert due(HOUR, GO) == "second"
    assert due(10 * MINUTE, GO) == "last"
    assert due(10 * MINUTE, GO, word(10 * MINUTE, lead="last")) is None


def test_leads_gone_by_when_the_plan_was_made_are_not_told():
    for made, lead in ((12 * HOUR + TICK, "first"), (12 * HOUR, None), (11 * HOUR, None)):
        assert due(11 * HOUR, GO, plan=replace(PLAN, made_at=START - made)) == lead
    fresh = replace(PLAN, made_at=START - 10 * MINUTE)
    assert due(5 * MINUTE, GO, Told("added", fresh.made_at, GO, False, ""), plan=fresh) is None


def test_a_word_shortly_before_stands_for_a_lead_but_never_for_the_last_one():
    assert due(2 * HOUR, CHANGE, word(4 * HOUR, CHANGE, "worse")) is None
    assert due(2 * HOUR, CHANGE, word(4 * HOUR + TICK, CHANGE, "worse")) == "second"
    assert due(20 * MINUTE, CHANGE, word(21 * MINUTE, CHANGE, "worse")) == "last"


def test_a_lead_that_a_word_stands_for_does_not_come_up_later():
    """WAIT told an hour before the second lead; better after it by a reason told within two hours: nothing."""
    change, wait = word(3 * HOUR + 3 * MINUTE, CHANGE, "worse"), word(3 * HOUR, WAIT, "worse")
    assert due(80 * MINUTE, CHANGE, change, wait) is None
    assert due(60 * MINUTE, CHANGE, change, wait) == "better"


@pytest.mark.parametrize(
    ("was", "now"), [((GO, False), (CHANGE, False)), ((CHANGE, False), (WAIT, False)), ((WAIT, False), (WAIT, True))]
)
def test_worse_is_told_at_once_even_if_told_within_two_hours(was, now):
    same = word(95 * MINUTE, now[0], "worse", now[1])
    last = word(91 * MINUTE, was[0], "better", was[1])
    assert due(90 * MINUTE, now[0], same, last, cannot_tell=now[1]) == "worse"
    assert due(90 * MINUTE, was[0], same, last, cannot_tell=was[1]) is None


def test_better_is_not_told_twice_for_one_reason_within_two_hours():
    go, wait = word(8 * HOUR), word(7 * HOUR, WAIT, "worse")
    assert due(6 * HOUR + TICK, GO, go, wait) is None
    assert due(6 * HOUR, GO, go, wait) == "better"
    assert due(6 * HOUR + TICK, CHANGE, go, wait, reason="blush") == "better"


def test_a_change_on_its_way_to_a_go_is_not_told():
    on_trial = Announced("plan 7", CHANGE, False, "", 0)
    assert due_lead(PLAN, on_trial, (word(7 * HOUR, WAIT),), START - 6 * HOUR, END, SHOP) is None
    assert due(6 * HOUR, CHANGE, word(7 * HOUR, WAIT)) == "better"


def test_a_word_stamped_in_the_future_counts_for_nothing():
    """The clock was wrong when it was said."""
    assert due(6 * HOUR, GO, word(5 * HOUR), word(7 * HOUR, WAIT, "worse")) == "better"
    assert due(2 * HOUR, GO, word(5 * HOUR, CHANGE), word(1 * HOUR, GO)) == "second"


@pytest.mark.parametrize("ahead", [12 * HOUR, 2 * HOUR, 20 * MINUTE, HOUR])
def test_an_acknowledged_plan_hears_worse_news_alone(ahead):
    seen = replace(PLAN, seen_at=START - 13 * HOUR)
    said = word(13 * HOUR, CHANGE, "added")
    assert due(ahead, GO, said, plan=seen) is None
    assert due(ahead, CHANGE, said, plan=seen) is None
    assert due(ahead, WAIT, said, plan=seen) == "worse"
    assert due(ahead, WAIT, word(13 * HOUR, WAIT, "added"), plan=seen, cannot_tell=True) == "worse"


def test_after_its_start_one_word_when_it_turns_to_wait_and_nothing_else():
    last = word(20 * MINUTE, GO, "last")
    assert due(TICK, WAIT, last) == "worse"
    assert due(timedelta(0), WAIT, last) == "running"
    assert due(timedelta(0), CHANGE, last) is None
    assert due(-HOUR, WAIT, last, word(-MINUTE, WAIT, "running")) is None
    assert due(-HOUR, WAIT, word(20 * MINUTE, WAIT, "last")) is None, "begun against the word"
    assert due(-2 * HOUR, WAIT, last) == "running"
    assert due(-2 * HOUR - TICK, WAIT, last) is None, "over"
    assert due(-10 * MINUTE, WAIT, last, plan=replace(PLAN, seen_at=START)) == "running"


def test_nothing_told_before_and_made_late_a_wait_is_worth_a_word():
    late = replace(PLAN, made_at=START - 10 * MINUTE)
    assert due(5 * MINUTE, WAIT, plan=late) == "worse"
    assert due(5 * MINUTE, GO, plan=late) is None


def test_leads_follow_the_shop_and_stay_in_order():
    own = Shop(limits={"plan_lead_first": 3600.0, "plan_lead_second": 7200.0})
    assert [lead for lead, _ in lead_moments(PLAN, own)] == ["second", "first", "last"]
    assert lead_moments(PLAN, own)[0][1] == START - 2 * HOUR


def test_the_words_to_come_are_those_that_will_really_come():
    second, last = START - 2 * HOUR, START - 20 * MINUTE
    assert words_to_come(PLAN, PLAN.made_at, SHOP) == (START - 12 * HOUR, second, last)
    assert words_to_come(PLAN, START - 12 * HOUR, SHOP) == (second, last)
    assert words_to_come(PLAN, START - 4 * HOUR - TICK, SHOP) == (second, last)
    assert words_to_come(PLAN, START - 4 * HOUR, SHOP) == (last,), "this word stands for the second lead"
    assert words_to_come(PLAN, last - TICK, SHOP) == (last,)
    assert words_to_come(PLAN, last, SHOP) == ()


# --- what is announced ---


def announced(previous, minutes_before, humidity, told=(), shop=SHOP):
    at = START - minutes_before * MINUTE
    coating = shop.coating(PLAN.coating)
    verdict = judge(typed(22.0, humidity, 21.5), coating, shop, at)
    ms = round(at.timestamp() * 1000)
    return announced_now(previous, PLAN, told, verdict, lambda: verdict.state, ms, shop)


def test_first_sight_takes_the_verdict_as_it_is():
    assert announced(None, 720, 0.50).state is GO
    assert announced(None, 720, 0.85).state is WAIT


def test_better_needs_its_quarter_of_an_hour_and_worse_none():
    one = announced(None, 100, 0.85)
    for minute in range(99, 84, -1):
        one = announced(one, minute, 0.50)
        assert one.state is WAIT, minute
    one = announced(one, 84, 0.50)
    assert one.state is GO
    assert announced(one, 83, 0.85).state is WAIT


def test_what_was_told_since_it_is_watched_stands_after_a_restart():
    assert announced(None, 100, 0.50, (word(2 * HOUR, WAIT),)).state is WAIT
    assert announced(None, 100, 0.50, (word(13 * HOUR, WAIT, "added"),)).state is GO, "said days ago"


def test_the_session_judged_is_the_one_that_is_left():
    coating = SHOP.coating(PLAN.coating)
    whole = whole_session(PLAN, coating, SHOP)
    period = timedelta(seconds=whole.open_for + whole.pause)
    assert end_of(PLAN, coating, SHOP) == START + timedelta(seconds=whole.length)
    for when, coats in ((-HOUR, 3), (0 * HOUR, 3), (period - TICK, 3), (period, 2), (2 * period, 1), (9 * period, 1)):
        assert session_left(PLAN, coating, SHOP, START + when) == plan_for(coating, SHOP, coats, 300.0)


# --- the words ---


def text(before, humidity, state=None, lead="first", outdoors=None, shop=SHOP, coating=PLAN.coating):
    known = typed(22.0, humidity, shop=shop)
    if outdoors is not None:
        air, rh = outdoors
        values = {("outdoors", "air_temperature"): Measured(air, 0.5, 0.0),
                  ("outdoors", "relative_humidity"): Measured(rh, 0.03, 0.0)}  # fmt: skip
        known = replace(known, values={**known.values, **values})
    sheet = shop.coating(coating)
    verdict = judge(known, sheet, shop, START - before, plan=plan_for(sheet, shop, 3, 300.0))
    one = Announced("plan 7", state or verdict.state, verdict.cannot_tell, "x", 0)
    return notice_text(replace(PLAN, coating=coating), lead, one, verdict, START - before, shop)


def test_far_ahead_it_says_what_the_air_is_now_and_when_it_is_read_again():
    said = text(2 * HOUR, 0.48)
    assert said.startswith("As the air is now: GO for Nitrocellulose lacquer, 15:00 UTC, 3 coats (plan 7).")
    assert "Room 22 °C, 48 %; air outdoors not known. Read again 14:40 UTC." in said
    assert text(20 * MINUTE + TICK, 0.48).startswith("As the air is now: ")


def test_within_the_last_lead_it_says_go_or_wait():
    said = text(20 * MINUTE, 0.48, lead="last")
    assert said.startswith("GO: Nitrocellulose lacquer, 15:00 UTC, 3 coats (plan 7).")
    assert "After 10 min of fan, read again." in said
    said = text(20 * MINUTE, 0.85, lead="last")
    assert said.startswith("WAIT: ")
    assert "Humidity 85 %: 25 % RH too damp" in said
    assert said.endswith("Before opening: advisor check.")


def test_what_is_better_but_not_for_long_stays_as_announced_and_says_so():
    said = text(20 * MINUTE, 0.48, state=WAIT)
    assert said.startswith("WAIT: ")
    assert "Better just now, not yet for sure." in said


def test_after_the_start_it_says_begun():
    assert text(-10 * MINUTE, 0.85, lead="running").startswith(
        "WAIT: Nitrocellulose lacquer, begun 15:00 UTC (plan 7)."
    )


def test_another_day_is_named():
    assert "Tue 15:00 UTC" in text(16 * HOUR, 0.48)


@pytest.mark.slow
@pytest.mark.parametrize("coating", coating_ids())
@pytest.mark.parametrize("outdoors", [None, (8.0, 0.9), (27.0, 0.85), (15.0, 0.5)])
@pytest.mark.parametrize("units", ["metric", US])
def test_no_notice_is_longer_than_200_characters(coating, outdoors, units):
    shop = Shop(units=units, zone="Europe/London")
    for before, lead in ((12 * HOUR, "first"), (10 * MINUTE, "last"), (-10 * MINUTE, "running")):
        for humidity in (0.48, 0.98):
            said = text(before, humidity, lead=lead, outdoors=outdoors, shop=shop, coating=coating)
            assert len(said) <= LONGEST_NOTICE
            assert "(plan 7)" in said
            assert "15:00" in said or "16:00" in said
            assert said.endswith((".", "check."))


def test_as_it_looks_is_no_promise():
    coating = SHOP.coating(PLAN.coating)
    for humidity, state in ((0.48, "GO"), (0.85, "WAIT")):
        said = as_it_looks(judge(typed(22.0, humidity), coating, SHOP, NOON), SHOP)
        assert said.startswith(f"Now it would be {state}. ")
        assert said.endswith("The air at the time decides, not this.")


def test_when_notices_come_is_told_with_their_days():
    assert when_told(PLAN, SHOP) == ("Notices at Tue 03:00 UTC, Tue 13:00 UTC and Tue 14:40 UTC, and when it changes.")
    late = replace(PLAN, made_at=START - HOUR)
    assert when_told(late, SHOP) == "Notices at 14:40 UTC, and when it changes."
    assert when_told(replace(PLAN, made_at=START - MINUTE), SHOP) == "Notices when it changes."
