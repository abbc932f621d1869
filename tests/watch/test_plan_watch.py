"""Planned sessions through the whole daemon: a simulated afternoon gives exactly these notices, killed or not."""

import json
import sqlite3
from datetime import timedelta

import numpy as np
import pytest

from advisor.cli.app import run
from advisor.judge.verdict import State
from advisor.logbook import outbox
from advisor.logbook.plan_log import DROPPED, SEEN, keep_plan, open_plans, stamp_plan, told_of
from advisor.logbook.store import transaction
from advisor.notices.plan_notice import LONGEST_NOTICE
from advisor.shop.shop import Notices, Shop
from advisor.times import milliseconds
from tests.support import NOON
from tests.watch.drills.shift import LACQUER, START, Shift

HOUR, MINUTE = timedelta(hours=1), timedelta(minutes=1)
# minutes after noon, humidity [%], straight between: a good noon, a damp hour, dry again, damp after the first coat
AFTERNOON = ((0, 48), (55, 48), (60, 80), (145, 80), (150, 50), (255, 50), (260, 80), (330, 80))
KILLS = (
    (60, 61), (119, 120, 121), (147, 150, 157, 164, 165, 166), (219, 220, 221), (259, 260, 261),
    tuple(range(5, 330, 9)), tuple(range(140, 185)),
)  # fmt: skip


@pytest.fixture
def shift(tmp_path):
    return Shift(tmp_path)


def afternoon(shift: Shift, killed_at: tuple[int, ...] = ()) -> list[str]:
    shift.plan(said=State.GO)
    for minute in range(1, 330):
        if minute in killed_at:
            shift.restart()
        shift.minute(round(float(np.interp(minute, *zip(*AFTERNOON, strict=True))), 1))
    return shift.told()


EXPECTED = [
    "57 worse change",  # more than two hours ahead: no reason to wake anybody
    "60 worse wait",  # and it stands for the second lead, two hours before the start
    "178 better go",  # after a quarter of an hour it was a change on trial for a GO, after two it is one
    "220 last go",
    "260 running wait !",
]


def test_an_afternoon_gives_exactly_these_notices(shift):
    assert afternoon(shift) == EXPECTED


@pytest.mark.slow
@pytest.mark.parametrize("killed_at", KILLS)
def test_killed_and_restarted_in_between_it_gives_the_same(shift, killed_at):
    assert afternoon(shift, killed_at) == EXPECTED


def test_a_steady_day_is_told_at_each_lead(shift):
    with transaction(shift.connection):
        keep_plan(shift.connection, NOON - 24 * HOUR, NOON + 5 * HOUR, LACQUER, 1, 300.0, "")
    shift.minutes(48, 330)
    assert shift.told() == ["1 first go", "180 second go", "280 last go"]


def test_their_texts_and_outbox_rows_are_there(shift):
    afternoon(shift)
    texts = [text for (text,) in shift.connection.execute("SELECT text FROM notice ORDER BY id")]
    assert [text.split(":")[0] for text in texts] == ["As the air is now"] * 3 + ["GO", "WAIT"]
    assert all(len(text) <= LONGEST_NOTICE for text in texts)
    assert outbox.counts(shift.connection) == {"expired": 4, "pending": 1}, "each newer word replaces what still waits"
    ends = shift.connection.execute("SELECT MAX(expires_at) FROM notice").fetchone()[0]
    assert ends <= milliseconds(START + 2 * HOUR), "none outlives the session"


def test_a_plan_over_is_done_and_judged_no_more(shift):
    planned = shift.plan(at=NOON + 30 * MINUTE, coats=1, said=State.GO)
    shift.minutes(48, 60)
    (done,) = shift.connection.execute("SELECT done_at FROM plan").fetchone()
    assert done is not None
    assert open_plans(shift.connection, shift.clock.now().wall) == []
    assert shift.connection.execute("SELECT COUNT(*) FROM announced").fetchone()[0] == 0
    assert [word.lead for word in told_of(shift.connection, planned)] == ["added", "last"]


def test_a_plan_beyond_its_first_lead_is_not_judged(shift, monkeypatch):
    shift.plan(at=NOON + 12 * HOUR + 3 * MINUTE)
    judged = []
    monkeypatch.setattr(shift.daemon._plans, "_judge", lambda planned, *_: judged.append(planned.id))
    shift.minutes(48, 2)
    assert judged == []
    shift.minutes(48, 1)
    assert judged == [1]


def test_a_dropped_plan_is_told_no_more_and_an_acknowledged_one_only_worse(shift):
    dropped, seen = shift.plan(said=State.GO), shift.plan(at=START + MINUTE, said=State.GO)
    now = shift.clock.now().wall
    with transaction(shift.connection):
        stamp_plan(shift.connection, dropped, DROPPED, now)
        stamp_plan(shift.connection, seen, SEEN, now)
    shift.minutes(48, 130)
    assert shift.told() == []
    shift.minutes(80, 1)
    assert shift.told() == ["131 worse wait !"]
    assert shift.connection.execute("SELECT coating FROM notice").fetchone()[0] == seen.subject


def test_a_plan_dropped_while_it_is_judged_is_not_told(shift, monkeypatch):
    planned = shift.plan(said=State.GO)
    shift.minutes(48, 10)
    judge_round = shift.daemon._plans.round

    def dropped_meanwhile(conditions, now):
        found = judge_round(conditions, now)
        with transaction(shift.connection):
            stamp_plan(shift.connection, planned, DROPPED, now)
        return found

    monkeypatch.setattr(shift.daemon._plans, "round", dropped_meanwhile)
    shift.minute(80)
    assert shift.told() == []


def test_a_silent_sensor_is_worse_news(shift):
    shift.plan(at=NOON + 100 * MINUTE, said=State.GO)
    shift.minutes(48, 30)
    shift.minutes(None, 16)
    assert shift.told() == ["46 worse wait !"]


def test_a_word_and_its_memory_are_kept_together_or_not_at_all(shift, monkeypatch):
    planned = shift.plan(said=State.GO)
    shift.minutes(48, 5)
    monkeypatch.setattr(outbox, "put", lambda *_: (_ for _ in ()).throw(sqlite3.OperationalError("disk is full")))
    shift.minute(80)
    assert len(told_of(shift.connection, planned)) == 1
    monkeypatch.undo()
    shift.minute(80)
    assert shift.told() == ["7 worse wait"]


def test_quiet_hours_hold_back_better_news_and_worse_news_far_ahead(tmp_path):
    """Noon to three is quiet here; from the second lead on worse news goes out all the same."""
    shift = Shift(tmp_path, Shop(notices=Notices(("screen",), 11 * 60, 15 * 60)))
    shift.plan(at=NOON + 3 * HOUR, said=State.GO)

    def going_out() -> list[str]:
        at = milliseconds(shift.clock.now().wall)
        rows = outbox.waiting(shift.connection, at, urgent_only=True)
        shift.connection.execute("UPDATE outbox SET status = 'sent' WHERE status = 'pending'")
        return [row.notice.state for row in rows]

    shift.minutes(70, 1)
    assert (shift.told(), going_out()) == (["1 worse change"], []), "three hours ahead"
    shift.minutes(70, 60)
    for humidity in (64, 58, 52, 48):
        shift.minute(humidity)
    shift.minutes(48, 60)
    assert (shift.told()[1:], going_out()) == (["120 better go"], []), "told as the plan was made, two hours before"
    for humidity in (56, 64, 72, 80):
        shift.minute(humidity)
    assert going_out() == ["wait"]


def test_a_plan_of_a_sheet_that_is_gone_costs_nobody_else_a_word(shift):
    shift.plan(at=NOON + 30 * MINUTE, coating="no-such", said=State.GO)
    shift.plan(at=NOON + 31 * MINUTE, said=State.GO)
    shift.minutes(48, 31)
    assert shift.told() == ["11 last go"]
    assert [planned.coating for planned in open_plans(shift.connection, shift.clock.now().wall)] == [LACQUER]


def test_a_clock_set_far_ahead_for_a_moment_does_not_end_a_plan(shift):
    shift.plan(said=State.GO)
    shift.minutes(48, 5)
    shift.clock.wall += timedelta(days=365)
    shift.minute(None)
    shift.clock.wall += timedelta(days=-365)
    assert [planned.id for planned in open_plans(shift.connection, shift.clock.now().wall)] == [1]


def test_a_replay_tells_a_plan_too(capsys, tmp_path):
    config, log = tmp_path / "advisor.toml", tmp_path / "log.csv"
    config.write_text('coatings = ["nitrocellulose-lacquer"]\nzone = "Europe/London"')
    rows = [f"2025-10-14T10:{minute:02d}+01:00,22,{48 if minute < 40 else 58}" for minute in range(60)]
    log.write_text("time,air_temperature_c,relative_humidity_pct\n" + "\n".join(rows) + "\n")
    words = ["watch", "--config", str(config), "--replay", str(log), "--json"]
    assert run([*words, "--plan", "2025-10-14T10:45 shellac 2", "--plan", "2025-10-14T18:00+01:00 oil-varnish"]) == 0
    told = [json.loads(line) for line in capsys.readouterr().out.splitlines()]
    plans = [entry for entry in told if entry["coating"] == "plan 1"]
    assert [(entry["at"], entry["state"]) for entry in plans] == [("2025-10-14T09:25:00Z", "go")]
    assert plans[0]["text"].startswith("10:25 GO: Shellac, 10:45, 2 coats (plan 1).")
    assert not any(entry["coating"] == "plan 2" for entry in told)
    for wrong in ("10:45 shellac", "2025-10-14T10:45", "2025-10-14T10:45 nosuch", "2025-10-14T10:45 shellac 99", ""):
        assert run([*words, "--plan", wrong]) == 2
    assert run(["watch", "--plan", "2025-10-14T10:45 shellac"]) == 2
