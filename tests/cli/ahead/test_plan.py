"""`advisor plan`: add, list, drop, acknowledge; and one line for everything that cannot be planned."""

import json
import sqlite3
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.cli.app import run
from advisor.desk.plans import MOST_OPEN, start_asked
from advisor.errors import UsageError
from tests.support import LONDON, NOON, examples


@pytest.fixture
def shop(tmp_path, no_config):
    """A configuration with a logbook of its own."""
    file = tmp_path / "advisor.toml"
    file.write_text('coatings = ["shellac"]\nlogbook = "log.db"\nzone = "Europe/London"\n', encoding="utf-8")
    return ["--config", str(file)]


def ahead(**more: float) -> str:
    return (datetime.now(UTC) + timedelta(**more)).strftime("%Y-%m-%dT%H:%M:%SZ")


def add(shop, *more: str) -> list[str]:
    return [
        "plan",
        "add",
        *shop,
        "--coating",
        "shellac",
        *(more if "--at" in more else ("--at", ahead(hours=5), *more)),
    ]


def log_air(shop, tmp_path, humidity: float = 48.0) -> None:
    file = tmp_path / "now.csv"
    rows = [f"{ahead(minutes=-back)},22.0,{humidity}" for back in (3, 2, 1)]
    file.write_text("time,air_temperature_c,relative_humidity_pct\n" + "\n".join(rows) + "\n")
    assert run(["import", *shop, str(file)]) == 0


def plans(capsys, shop):
    capsys.readouterr()
    assert run(["plan", "list", *shop, "--json"]) == 0
    return json.loads(capsys.readouterr().out)["plans"]


def test_a_plan_is_kept_and_says_when_it_will_be_told_and_how_it_looks_now(capsys, shop, tmp_path):
    log_air(shop, tmp_path)
    capsys.readouterr()
    assert run(add(shop, "--coats", "3", "--spray", "4min", "--note", "lids")) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert said.startswith("Plan 1: Shellac, ")
    assert "3 coats (lids)" in said
    assert "Notices at " in said
    assert (
        "Now it would be GO. Room 22 °C, 48 %; air outdoors not known. The air at the time decides, not this." in said
    )
    assert "names no destination" in said
    (kept,) = plans(capsys, shop)
    assert (kept["coats"], kept["spray"], kept["note"], kept["coating"]) == (3, 240.0, "lids", "shellac")
    assert len(kept["notices"]) == 2, "five hours ahead the first lead is gone by"
    assert [(word["lead"], word["state"]) for word in kept["told"]] == [("added", "go")]


def test_without_fresh_air_it_cannot_tell_and_the_plan_stands(capsys, shop):
    assert run(add(shop)) == 0
    assert "Now it would be WAIT, cannot tell. No air temperature reading." in " ".join(capsys.readouterr().out.split())
    (kept,) = plans(capsys, shop)
    assert kept["told"][0]["cannot_tell"] is True
    assert (kept["coats"], kept["spray"]) == (1, 300.0), "the shop's usual session"


def test_a_list_names_each_plan_and_what_was_told(capsys, shop):
    assert run(["plan", "list", *shop]) == 2, "no logbook yet"
    assert run(add(shop)) == 0
    assert run(add(shop, "--at", ahead(days=2), "--note", "box")) == 0
    capsys.readouterr()
    assert run(["plan", "list", *shop]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert said.startswith("Plan 1, shellac, ")
    assert "Plan 2, shellac, " in said
    assert "(box)" in said
    assert "Told next " in said
    assert "WAIT, cannot tell" in said


def test_a_dropped_plan_is_gone_and_an_acknowledged_one_says_so(capsys, shop):
    run(add(shop))
    run(add(shop, "--at", ahead(days=2)))
    assert run(["plan", "drop", "1", *shop]) == 0
    assert run(["plan", "seen", "2", *shop]) == 0
    assert "Seen: plan 2, shellac" in capsys.readouterr().out
    (left,) = plans(capsys, shop)
    assert left["id"] == 2
    assert left["seen_at"] is not None
    run(["plan", "list", *shop])
    assert "Seen: only worse news." in " ".join(capsys.readouterr().out.split())
    for which in ("1", "3", "0", "99999999999999999999"):
        assert run(["plan", "drop", which, *shop]) == 2
        assert len(capsys.readouterr().err.splitlines()) == 1
    assert run(["plan", "drop", "2", *shop]) == 0
    capsys.readouterr()
    assert run(["plan", "list", *shop]) == 0
    assert capsys.readouterr().out == "No plans.\n"


def test_what_waits_to_be_sent_of_a_dropped_plan_is_not_sent(shop, tmp_path):
    run(add(shop))
    kept = sqlite3.connect(tmp_path / "log.db")
    kept.execute("INSERT INTO notice VALUES (1, 1, 'plan-last', 'plan 1', 'go', '', 'x', 0, 9, '')")
    kept.execute("INSERT INTO outbox VALUES (1, 'a', 'pending', 0, 1, '')")
    kept.execute("INSERT INTO notice VALUES (2, 1, 'plan-worse', 'plan 1', 'wait', '', 'x', 1, 9, '')")
    kept.execute("INSERT INTO outbox VALUES (2, 'a', 'pending', 0, 1, '')")
    kept.commit()
    assert run(["plan", "seen", "1", *shop]) == 0
    assert kept.execute("SELECT status FROM outbox ORDER BY notice_id").fetchall() == [("expired",), ("pending",)]
    assert run(["plan", "drop", "1", *shop]) == 0
    assert kept.execute("SELECT status FROM outbox ORDER BY notice_id").fetchall() == [("expired",), ("expired",)]


@pytest.mark.parametrize(
    ("text", "hours"),
    [("15:00", 3), ("12:01", 1 / 60), ("12:00", 24), ("09:30", 21.5), ("9:30", 21.5),
     ("2025-10-14T15:00", 3), ("2025-10-14T15:00Z", 3), ("2025-10-14T17:00+02:00", 3), ("2025-10-21T12:00", 168)],
)  # fmt: skip
def test_a_clock_time_is_today_or_tomorrow(text, hours):
    assert start_asked(text, NOON, ZoneInfo("UTC")) == NOON + timedelta(hours=hours)


def test_a_clock_time_is_the_shops_also_over_the_change_of_the_clock():
    """Clocks in Britain went back at 01:00 UTC on 26 October 2025, and forward at 01:00 UTC on 29 March 2026."""
    evening = datetime(2025, 10, 25, 22, 0, tzinfo=LONDON)
    assert start_asked("15:00", evening, LONDON) == datetime(2025, 10, 26, 15, 0, tzinfo=UTC)
    with pytest.raises(UsageError):
        start_asked("01:30", datetime(2026, 3, 28, 22, 0, tzinfo=LONDON), LONDON)


@pytest.mark.parametrize(
    "text",
    ["25:00", "12:60", "noon", "", "15", "15:00:00", "2025-10-14", "2025-10-14T12:00", "2025-10-21T12:01", "١٥:٠٠"],
)
def test_what_is_no_start_to_come_within_a_week_is_refused(text):
    with pytest.raises(UsageError, match="--at"):
        start_asked(text, NOON, ZoneInfo("UTC"))


@pytest.mark.parametrize(
    "wrong",
    [
        ["--coats", "0"], ["--coats", "11"], ["--spray", "1s"], ["--spray", "3h"], ["--spray", "x"], ["--spray", "5"],
        ["--coating", "no-such"], ["--note", "x" * 61], ["--note", "a\nb"], ["--at", "noon"],
        ["--at", "2019-01-01T10:00"],
    ],
    ids=lambda wrong: " ".join(wrong)[:20],
)  # fmt: skip
def test_a_mistake_is_one_line_and_exit_code_2(capsys, shop, wrong):
    assert run(add(shop, *wrong)) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert len(said.err.splitlines()) == 1


def test_what_is_missing_is_named(capsys, shop):
    assert run(["plan", "add", *shop, "--coating", "shellac"]) == 2
    assert "--at is missing" in capsys.readouterr().err
    assert run(["plan", "add", *shop, "--at", "15:00"]) == 2
    assert "--coating is missing" in capsys.readouterr().err
    assert run(["plan"]) == 2


def test_the_same_again_and_too_many_are_refused(capsys, shop):
    at = ahead(hours=5)
    assert run(add(shop, "--at", at)) == 0
    assert run(add(shop, "--at", at)) == 2
    assert "plan 1 is for that coating and time already" in capsys.readouterr().err
    for hour in range(1, MOST_OPEN):
        assert run(add(shop, "--at", ahead(hours=5 + hour))) == 0
    assert run(add(shop, "--at", ahead(hours=40))) == 2
    assert f"up to {MOST_OPEN}" in capsys.readouterr().err


def test_a_broken_logbook_is_one_line(capsys, shop, tmp_path):
    (tmp_path / "log.db").write_bytes(b"no database" * 1000)
    for words in (add(shop), ["plan", "list", *shop], ["plan", "drop", "1", *shop], ["plan", "seen", "1", *shop]):
        assert run(words) == 2
        assert len(capsys.readouterr().err.splitlines()) == 1


@given(st.text(max_size=20), st.sampled_from(["--at", "--coating", "--coats", "--spray", "--note"]))
@settings(max_examples=examples(60))
def test_no_text_breaks_an_option(capsys, shop, text, option):
    assert run([*add(shop), f"{option}={text}"]) in (0, 2)
    assert len(capsys.readouterr().err.splitlines()) <= 1


@given(st.text(max_size=20), st.sampled_from(["drop", "seen"]))
@settings(max_examples=examples(40))
def test_no_text_breaks_a_number(capsys, shop, text, command):
    assert run(["plan", command, *shop, "--", text]) in (0, 2)
    assert len(capsys.readouterr().err.splitlines()) <= 1
