"""`advisor job`: what was seen, corrected, taken back, and what is refused."""

import sqlite3
from datetime import datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.cli.app import run
from advisor.logbook import store
from advisor.logbook.store import open_for_writing
from tests.cli.jobs.asked import ago, ask, coats, did, now, record, refused
from tests.support import examples


def test_a_job_is_its_number_or_its_name(capsys, lid):
    did(capsys, "new", "Box")
    did(capsys, "coat", "LID")
    did(capsys, "coat", "1")
    assert len(coats(capsys, "1")) == 2
    assert record(capsys, "show", "box")["job"] == 2
    assert "did you mean Box?" in refused(capsys, "coat", "Bax")
    assert "--coating is missing" not in refused(capsys, "coat", "3")
    did(capsys, "done", "Box")
    did(capsys, "new", "box")
    assert record(capsys, "show", "box")["job"] == 3


def test_what_was_seen_comes_back(capsys, lid, tmp_path):
    photo = tmp_path / "lid.jpg"
    photo.write_bytes(b"picture")
    did(capsys, "coat")
    did(capsys, "saw", "Orange Peel", "--where", "left leg", "--severity", "2", "--coat", "1", "--photo", "lid.jpg")
    did(capsys, "saw", "blush", "lid", "--good", "--at", ago(minutes=1))
    did(capsys, "saw", "good", "--note", "clear as glass")
    did(capsys, "saw", "--good", "lid")
    did(capsys, "rework", "sanded back", "--at", ago(minutes=2))
    found = record(capsys, "show")
    seen = {each["id"]: each for each in found["observations"]}
    assert (seen[1]["defect"], seen[1]["spot"], seen[1]["severity"], seen[1]["coat"]) == (
        "orange-peel",
        "left leg",
        2,
        1,
    )
    assert seen[1]["photo"] == str(photo.resolve())
    assert (seen[2]["defect"], seen[2]["good"]) == ("blush", True)
    assert (seen[3]["defect"], seen[3]["good"], seen[3]["text"]) == (None, True, "clear as glass")
    assert (seen[4]["defect"], seen[4]["good"]) == (None, True)
    assert [each["what"] for each in found["rework"]] == ["sanded back"]
    text = did(capsys, "show")
    for words in ("orange peel, plain, coat 1, left leg", "no blush", "clear as glass", "sanded back"):
        assert words in text


def test_a_panels_result_is_of_the_newest_panel(capsys, lid):
    assert "no test panel yet" in refused(capsys, "panel", "good")
    did(capsys, "coat", "--panel", "--start", ago(hours=1))
    did(capsys, "coat")
    did(capsys, "panel", "bad", "--note", "milky")
    seen = record(capsys, "show")["observations"][0]
    assert (seen["coat"], seen["good"], seen["text"], seen["defect"]) == (1, False, "milky", None)
    assert "good or bad" in refused(capsys, "panel", "fair")


def test_a_job_that_is_done_takes_no_coat_but_is_still_looked_at(capsys, lid):
    did(capsys, "coat", "--start", ago(hours=1))
    assert "done" in did(capsys, "done")
    assert "no open job" in refused(capsys, "coat")
    assert "done=no" in refused(capsys, "coat", "lid")
    did(capsys, "saw", "soft")
    assert did(capsys, "clock") == "No open job."
    assert record(capsys, "clock", "lid")["jobs"][0]["stages"]
    did(capsys, "edit", "lid", "done=no")
    did(capsys, "coat")


def test_undo_takes_back_one_entry_after_another_and_says_which(capsys, lid):
    did(capsys, "coat", "--start", ago(hours=1), "--needle", "1.2mm")
    did(capsys, "edit", "lid", "--coat", "1", "needle=1.4mm")
    did(capsys, "saw", "runs")
    assert "what was seen on 1 lid, runs" in did(capsys, "undo")
    assert "a change of coat 1 of 1 lid; back to needle 1.2 mm" in did(capsys, "undo")
    assert coats(capsys)[0]["needle"] == 0.0012
    assert "coat 1 of 1 lid, waterborne-sealer" in did(capsys, "undo")
    assert coats(capsys) == []
    assert "job 1 lid" in did(capsys, "undo")
    assert "nothing to take back" in refused(capsys, "undo")
    assert did(capsys, "list") == "No job yet: advisor job new."


def test_edits_keep_what_stood_there(capsys, lid):
    did(capsys, "coat", "--start", ago(hours=2), "--thinned", "10%", "--note", "x")
    did(capsys, "edit", "1", "--coat", "1", "thinned=", "note=", "wet-film=4mil", "panel=yes", "sanded=no", "minutes=7")
    found = record(capsys, "show")
    coat = found["coats"][0]
    assert (coat["thinning"], coat["note"], coat["panel"], coat["sanded"]) == (None, "", True, 0)
    assert coat["wet_film"] == pytest.approx(101.6e-6)
    edit = {line["field"]: line["before"] for line in found["history"] if line["kind"] == "changed"}
    assert (edit["thinning"], edit["note"], edit["sanded"]) == (0.1, "x", None)
    did(capsys, "edit", "1", "--coat", "1", "coating=waterborne-colour", f"start={ago(hours=3)}")
    coat = coats(capsys)[0]
    assert (coat["step"], coat["coating"]) == ("colour", "waterborne-colour")
    start, end = (datetime.fromisoformat(coat[key]) for key in ("started_at", "ended_at"))
    assert end - start == timedelta(minutes=7)
    did(capsys, "edit", "lid", "piece=cover", "schedule=", "note=hello")
    found = record(capsys, "show", "cover")
    assert (found["piece"], found["schedule"], found["note"]) == ("cover", None, "hello")
    assert "Nothing changed" in did(capsys, "edit", "cover", "note=hello")


def test_the_list_has_the_open_ones_first(capsys, lid):
    did(capsys, "new", "box", "--note", "for Tuesday")
    did(capsys, "done", "box")
    _, out, _ = ask(capsys, "list")
    assert [line.split(":")[0] for line in out.splitlines()] == ["1 lid", "2 box"]
    assert [job["piece"] for job in record(capsys, "list")["jobs"]] == ["lid", "box"]


def test_it_works_beside_an_open_writer_and_says_when_it_cannot(capsys, lid, monkeypatch):
    other = open_for_writing(lid / "log.db", now())
    did(capsys, "coat")
    monkeypatch.setattr(store, "_SETTINGS", ("PRAGMA busy_timeout = 50", "PRAGMA foreign_keys = ON"))
    other.execute("BEGIN IMMEDIATE")
    assert "cannot write the logbook" in refused(capsys, "coat")
    other.execute("ROLLBACK")
    other.close()


def test_it_brings_an_older_logbook_up_to_date(capsys, shop, monkeypatch):
    whole = store.migrations()
    monkeypatch.setattr(store, "migrations", lambda: [step for step in whole if step[0] <= 2])
    open_for_writing(shop / "log.db", now()).close()
    monkeypatch.undo()
    monkeypatch.chdir(shop)
    assert "version 2" in refused(capsys, "list")
    did(capsys, "new", "lid")
    assert list(shop.glob("log.db.*.v2.bak"))


@pytest.mark.slow
@pytest.mark.parametrize(
    "wrong",
    [
        ["new", ""], ["new", "12"], ["new", "x" * 81], ["new", "a\tb"], ["new", "lid"], ["new", "LID"],
        ["new", "box", "--schedule", "polish"], ["new", "box", "--note", "x" * 81], ["coat", "7"],
        ["coat", "--coating", "honey"], ["coat", "--coating", ""], ["coat", "--start", "25:00"],
        ["coat", "--start", "tomorrow"], ["coat", "--start", "2999-01-01T10:00Z"], ["coat", "--minutes", "0"],
        ["coat", "--minutes", "9h"], ["coat", "--minutes", "-5"], ["coat", "--thinner", "brisk"],
        ["coat", "--thinner", "hot"], ["coat", "--thinned", "300%"], ["coat", "--thinned", "10"],
        ["coat", "--retarder", "10"], ["coat", "--hardener", "50"], ["coat", "--mixed", "2999-01-01"],
        ["coat", "--start", "2020-05-01T10:00Z", "--mixed", "2020-05-01T11:00Z"], ["coat", "--cup", "DIN 4"],
        ["coat", "--seconds", "22"], ["coat", "--cup", "teacup", "--seconds", "22"], ["coat", "--material", "90C"],
        ["coat", "--needle", "1.2"], ["coat", "--needle", "12mm"], ["coat", "--pressure", "500psi"],
        ["coat", "--wet-film", "2mm"], ["coat", "--sanded", "3"], ["coat", "--sanded", "fine"],
        ["coat", "--place", ""], ["coat", "--note", "\x07"], ["saw"], ["saw", "blus"], ["saw", "runs", "--coat", "9"],
        ["saw", "runs", "--severity", "4"], ["saw", "runs", "--severity", "0"], ["saw", "good", "--severity", "1"],
        ["saw", "runs", "--photo", "none.jpg"], ["saw", "runs", "--photo", "\x00"], ["saw", "runs", "--where", ""],
        ["saw", "runs", "--at", "2999-01-01T10:00Z"], ["panel", "fair"], ["rework", ""], ["rework", "x", "nobody"],
        ["done", "nobody"], ["done", "--at", "soon"], ["edit", "lid", "needle=1mm"], ["edit", "lid", "piece=7"],
        ["edit", "lid", "done=yes"], ["edit", "lid", "piece"], ["edit", "lid", "=1"],
        ["edit", "lid", "note=a", "note=b"],
        ["edit", "lid", "--coat", "1", "needle=1mm"], ["show", "nobody"], ["clock", "nobody"], ["coat", "--coat", "1"],
    ],
    ids=" ".join,
)  # fmt: skip
def test_every_mistake_is_one_line_and_keeps_nothing(capsys, lid, wrong):
    refused(capsys, *wrong)
    assert [line["of"] for line in record(capsys, "show", "lid")["history"]] == ["job"]


@pytest.mark.parametrize(
    "wrong",
    [["coating="], ["start="], ["minutes="], ["panel="], ["panel=maybe"], ["step=polish"], ["needl=1mm"], ["needle=1"],
     ["cup="], ["mixed=2999-01-01"], ["coating=honey"]],
    ids=" ".join,
)  # fmt: skip
def test_a_wrong_edit_of_a_coat_is_one_line_and_changes_nothing(capsys, lid, wrong):
    did(capsys, "coat", "--cup", "DIN 4", "--seconds", "22")
    before = coats(capsys)
    refused(capsys, "edit", "lid", "--coat", "1", *wrong)
    assert coats(capsys) == before


def test_without_a_logbook_it_says_so(capsys, shop):
    for words in (["list"], ["show"], ["clock"]):
        assert "no logbook" in refused(capsys, *words)
    assert "no open job" in refused(capsys, "coat")


TEXTS = [
    ["new", "--note={}"], ["new", "--schedule={}"], ["saw", "runs", "--where={}"], ["saw", "runs", "--photo={}"],
    ["saw", "runs", "--note={}"], ["saw", "runs", "--at={}"], ["saw", "--", "{}"], ["saw", "runs", "--", "{}"],
    ["panel", "--", "{}"], ["panel", "good", "--note={}"], ["rework", "--", "{}"], ["rework", "x", "--at={}"],
    ["done", "--at={}"], ["new", "--", "{}"], ["coat", "--", "{}"], ["show", "--", "{}"], ["clock", "--", "{}"],
    ["edit", "lid", "--", "{}"], ["edit", "lid", "--coat", "1", "--", "{}"], ["edit", "--", "{}", "note=x"],
    *(["coat", f"--{name}={{}}"] for name in (
        "coating", "start", "minutes", "thinner", "thinned", "retarder", "hardener", "mixed", "cup", "seconds",
        "material", "surface", "needle", "pressure", "wet-film", "sanded", "place", "note",
    )),
    *(["edit", "lid", "--coat", "1", f"{name}={{}}"] for name in (
        "coating", "start", "minutes", "step", "mixed", "sanded", "panel", "place", "note", "cup", "thinned",
    )),
    *(["edit", "lid", f"{name}={{}}"] for name in ("piece", "schedule", "note", "done")),
]  # fmt: skip


@given(st.one_of(st.text(max_size=20), st.text(alphabet="0123456789:-T.Z%µmCx= ", max_size=20)), st.sampled_from(TEXTS))
@settings(max_examples=examples(150))
def test_no_text_breaks_an_option(capsys, lid, text, words):
    assert run(["job", *(word.replace("{}", text) for word in words)]) in (0, 2)
    said = capsys.readouterr()
    assert len(said.err.splitlines()) <= 1
    assert all(len(line) <= 80 for line in said.out.splitlines())
    with sqlite3.connect(lid / "log.db") as connection:
        assert connection.execute("PRAGMA integrity_check").fetchone()[0] == "ok"
    connection.close()


def test_a_start_can_be_moved_past_the_old_end_and_back(capsys, lid):
    did(capsys, "coat", "--start", ago(hours=3))
    before = coats(capsys)[0]
    did(capsys, "edit", "lid", "--coat", "1", f"start={ago(hours=1)}")
    assert coats(capsys)[0]["started_at"] > before["ended_at"]
    did(capsys, "undo")
    assert coats(capsys)[0] == before
