"""`advisor job` as said with one hand: sensible defaults, one line for every mistake, nothing lost."""

import json
import sqlite3
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.catalog.coatings import load_coating
from advisor.cli.app import run
from advisor.judge.plan import after_coat
from advisor.logbook import store
from advisor.logbook.store import open_for_writing
from advisor.shop.shop import Shop
from tests.support import examples

CONFIG = 'coatings = ["waterborne-sealer"]\nlogbook = "log.db"\nzone = "UTC"\n[[sensors]]\nname = "shelf"\n'


@pytest.fixture
def shop(tmp_path, no_config):
    """A shop with a logbook of its own, in the folder one stands in."""
    (tmp_path / "advisor.toml").write_text(CONFIG, encoding="utf-8")
    return tmp_path


@pytest.fixture
def lid(shop, capsys):
    """A job with a schedule."""
    assert ask(capsys, "new", "lid", "--schedule", "waterborne-two-pack")[0] == 0
    return shop


@pytest.fixture
def warm(lid, capsys):
    """A room logged at 23 °C for a day."""
    rows = ["time,sensor,air_temperature_c,relative_humidity_pct"]
    for minute in range(24 * 60, -1, -10):
        waver = 0.02 if minute % 20 else -0.02
        rows.append(f"{iso(now() - timedelta(minutes=minute))},shelf,{23 + waver:.2f},{48 + 50 * waver:.1f}")
    (lid / "air.csv").write_text("\n".join(rows) + "\n", encoding="utf-8")
    assert run(["import", "air.csv"]) == 0
    capsys.readouterr()
    return lid


def now() -> datetime:
    return datetime.now(UTC)


def iso(moment: datetime) -> str:
    return moment.strftime("%Y-%m-%dT%H:%M:%SZ")


def ago(**span: float) -> str:
    return iso(now() - timedelta(**span))


def ask(capsys, *words: str) -> tuple[int, str, str]:
    code = run(["job", *words])
    out, err = capsys.readouterr()
    assert "Traceback" not in out + err
    return code, out, err


def did(capsys, *words: str) -> str:
    """What was said of something that must go well, in one line."""
    code, out, err = ask(capsys, *words)
    assert (code, err) == (0, "")
    assert "--json" in words or all(len(line) <= 80 for line in out.splitlines())
    return " ".join(out.split())


def record(capsys, *words: str) -> dict:
    return json.loads(did(capsys, *words, "--json"))


def coats(capsys, *words: str) -> list[dict]:
    return record(capsys, "show", *words)["coats"]


def refused(capsys, *words: str) -> str:
    code, out, err = ask(capsys, *words)
    assert (code, out) == (2, "")
    assert len(err.splitlines()) == 1
    return err


def test_a_coat_without_options_is_one_now_of_the_next_step(capsys, warm):
    before = now()
    said = did(capsys, "coat")
    assert said.startswith("Kept: 1 lid, coat 1: seal, waterborne-sealer,")
    coat = coats(capsys)[0]
    start, end = (datetime.fromisoformat(coat[key]) for key in ("started_at", "ended_at"))
    assert timedelta(seconds=-1) <= start - before < timedelta(minutes=1)
    assert end - start == timedelta(minutes=5)
    assert (coat["step"], coat["coating"], coat["place"]) == ("seal", "waterborne-sealer", "shop")
    assert coat["thinning"] is coat["needle"] is coat["wet_film"] is coat["sanded"] is None


def test_it_prints_the_clocks_in_ten_lines(capsys, warm):
    _, out, _ = ask(capsys, "coat", "--coating", "waterborne-clear-2k", "--hardener", "50ml", "--mixed", ago(minutes=5))
    said = " ".join(out.split())
    assert len(out.splitlines()) <= 10
    for words in ("Next: clear 2 of 5", "Pot good to", "gun clean by", "Fan on to", "scuff-sand 320-400"):
        assert words in said
    assert "no clearance" in said


def test_the_clock_is_the_cure_clocks(capsys, warm):
    """At 23 °C the sheet: an hour to the next coat, six to the scuff."""
    start = now() - timedelta(minutes=15)
    did(capsys, "coat", "--start", iso(start), "--minutes", "10")
    found = record(capsys, "clock")["jobs"][0]
    end = start.replace(microsecond=0) + timedelta(minutes=10)
    opens, closes = (datetime.fromisoformat(found["next"][key]) for key in ("from", "until"))
    assert abs(opens - end - timedelta(hours=1)) < timedelta(seconds=30)
    assert abs(closes - end - timedelta(hours=6)) < timedelta(seconds=30)
    after = after_coat(load_coating("waterborne-sealer"), Shop())
    assert datetime.fromisoformat(found["fan_until"]) == end + timedelta(seconds=round(after.fan))
    assert datetime.fromisoformat(found["mask_until"]) == end + timedelta(seconds=round(after.mask))
    assert found["cannot_tell"] is False
    run(["cure", "--coating", "waterborne-sealer", "--sprayed", iso(end), "--json"])
    cured = json.loads(capsys.readouterr().out)
    sand = {each["stage"]: each["at_latest"] for each in cured["stages"]}["sand"]
    ours = {each["stage"]: each["at_latest"] for each in found["stages"]}["sand"]
    assert abs(datetime.fromisoformat(sand) - datetime.fromisoformat(ours)) < timedelta(minutes=1)


def test_without_a_log_it_keeps_the_coat_and_says_what_it_cannot_tell(capsys, lid):
    assert "cannot tell from when (sheet: 60 min at 23 °C)" in did(capsys, "coat")


def test_what_is_in_the_gun_is_carried_on_and_what_was_measured_is_not(capsys, lid):
    did(capsys, "coat", "--start", ago(hours=2), "--thinned", "5%", "--thinner", "medium", "--needle", "1.2mm",
        "--pressure", "25psi", "--cup", "DIN 4", "--seconds", "22", "--material", "19C", "--surface", "20.5C",
        "--wet-film", "100um", "--sanded", "320", "--place", "booth", "--note", "first")  # fmt: skip
    did(capsys, "coat", "--start", ago(hours=1))
    first, second = coats(capsys)
    for key in ("thinning", "thinner", "needle", "gun_pressure", "place", "coating", "step"):
        assert second[key] == first[key], key
    for key in ("cup", "cup_seconds", "material", "surface", "wet_film", "sanded"):
        assert first[key] is not None
        assert second[key] is None
    assert (first["thinning"], first["needle"], first["wet_film"], first["sanded"]) == (0.05, 0.0012, 0.0001, 320)
    assert first["gun_pressure"] == pytest.approx(25 * 6894.757, rel=1e-5)
    assert second["note"] == ""
    did(capsys, "coat")
    assert coats(capsys)[2]["thinning"] is None  # another coating


def test_a_dead_pot_is_not_carried_on(capsys, lid):
    clear = ["coat", "--coating", "waterborne-clear-2k"]
    mixed = ago(hours=5)
    did(capsys, *clear, "--start", ago(hours=4.5), "--mixed", mixed, "--hardener", "50ml")
    did(capsys, *clear, "--start", ago(hours=4))
    did(capsys, *clear, "--start", ago(hours=1))
    assert [coat["mixed_at"] for coat in coats(capsys)] == [mixed, mixed, None]


def test_the_steps_go_on_and_a_named_coating_stays(capsys, lid):
    for hours, options in (
        (9, []),
        (8, []),
        (7, ["--coating", "waterborne-sealer"]),
        (6, []),
        (5, ["--panel"]),
        (4, []),
    ):
        did(capsys, "coat", "--start", ago(hours=hours), *options)
    assert [coat["step"] for coat in coats(capsys)] == ["seal"] * 3 + ["colour"] * 3
    assert [coat["panel"] for coat in coats(capsys)] == [False] * 4 + [True, False]
    assert record(capsys, "clock")["jobs"][0]["next"]["step"] == "clear"


def test_times_are_todays_in_the_shops_zone(capsys, tmp_path, lid):
    (tmp_path / "advisor.toml").write_text(CONFIG.replace('"UTC"', '"America/New_York"'), encoding="utf-8")
    did(capsys, "coat", "--start", "00:00")
    start = datetime.fromisoformat(coats(capsys)[0]["started_at"])
    assert start.minute == 0
    assert start.hour in (4, 5)


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


def test_without_a_schedule_the_shops_only_coating_or_the_last_one_is_meant(capsys, shop):
    did(capsys, "new", "box")
    assert "waterborne-sealer" in did(capsys, "coat")
    did(capsys, "coat", "--coating", "shellac")
    assert "coat 3: shellac" in did(capsys, "coat")
    (shop / "advisor.toml").write_text(CONFIG.replace('["w', '["shellac", "w'), encoding="utf-8")
    did(capsys, "new", "tray")
    assert "--coating is missing" in refused(capsys, "coat")


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


def test_residues_that_may_catch_fire_are_told_across_jobs(capsys, lid):
    did(capsys, "new", "tray", "--schedule", "shellac-lacquer")
    did(capsys, "coat", "tray", "--coating", "nitrocellulose-lacquer", "--start", ago(hours=2))
    did(capsys, "new", "bench", "--schedule", "varnish")
    assert "catch fire by themselves" in did(capsys, "coat", "bench", "--start", ago(hours=1))
    assert "catch fire" not in did(capsys, "coat", "bench")


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


def test_a_coat_is_kept_even_where_its_clocks_lack_a_sheet(capsys, lid):
    did(capsys, "coat")
    connection = sqlite3.connect(lid / "log.db")
    connection.execute("UPDATE coat SET coating = 'gone'")
    connection.commit()
    connection.close()
    assert "No clocks: no coating 'gone'" in did(capsys, "coat", "--coating", "waterborne-colour")
    assert "gone" in did(capsys, "show")
    assert "no coating 'gone'" in refused(capsys, "clock")


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


def test_a_coat_that_came_too_soon_is_told_first(capsys, warm):
    """Lacquer two hours after a two-pack clear: fourteen days, and shellac between (coating table)."""
    did(capsys, "new", "box")
    did(capsys, "coat", "--coating", "waterborne-clear-2k", "--start", ago(minutes=125))
    said = did(capsys, "coat", "--coating", "nitrocellulose-lacquer")
    kept, told = said.split(" Too soon: ", 1)
    assert kept.startswith("Kept: 2 box, coat 2")
    assert "Next:" not in kept
    for words in ("2 h after", "wants 14 days at 23 °C", "dewaxed shellac", "Leave it, air moving", "look tomorrow"):
        assert words in told
    assert "Too soon: " in did(capsys, "clock", "box")
    assert record(capsys, "clock", "box")["jobs"][0]["warnings"][0]["kind"] == "too_soon"


@pytest.mark.parametrize(("minutes", "told"), [(20, True), (59.8, True), (60.2, False), (90, False)])
def test_a_clear_over_a_colour_is_too_soon_within_its_hour_only(capsys, warm, minutes, told):
    did(capsys, "coat", "--coating", "waterborne-colour", "--start", ago(minutes=minutes + 5))
    assert ("Too soon: " in did(capsys, "coat", "--coating", "waterborne-clear-1k")) is told


def test_a_room_nobody_logged_is_no_blame(capsys, lid):
    did(capsys, "coat", "--start", ago(hours=9))
    said = did(capsys, "coat")
    assert "Cannot tell whether" in said
    assert "Too soon" not in said


def test_a_coat_kept_late_is_judged_as_of_its_start_and_so_is_the_one_over_it(capsys, warm):
    did(capsys, "coat", "--start", ago(hours=9))
    assert "Too soon" not in did(capsys, "coat", "--start", ago(hours=5))
    said = did(capsys, "coat", "--coating", "waterborne-sealer", "--start", ago(hours=5, minutes=30))
    assert "Too soon: Water-borne sealer 25 min after itself" in said
    assert "Too soon" not in did(capsys, "edit", "lid", "--coat", "3", f"start={ago(hours=7)}")
    assert "Too soon" in did(capsys, "edit", "lid", "--coat", "2", f"start={ago(hours=6, minutes=30)}")
    did(capsys, "edit", "lid", "--coat", "2", f"start={ago(hours=5)}")
    assert "Too soon" not in did(capsys, "coat", "--panel")


def test_the_clock_never_says_now(capsys, warm):
    did(capsys, "coat", "--start", ago(hours=3))
    said = did(capsys, "clock")
    assert "not before" in said
    assert "then try it: sands to powder, not cool to the touch" in said
    assert ", now" not in said


def test_a_start_can_be_moved_past_the_old_end_and_back(capsys, lid):
    did(capsys, "coat", "--start", ago(hours=3))
    before = coats(capsys)[0]
    did(capsys, "edit", "lid", "--coat", "1", f"start={ago(hours=1)}")
    assert coats(capsys)[0]["started_at"] > before["ended_at"]
    did(capsys, "undo")
    assert coats(capsys)[0] == before
