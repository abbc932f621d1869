"""`advisor job` as said with one hand: sensible defaults, one line for every mistake, nothing lost."""

import json
import sqlite3
from datetime import datetime, timedelta

import pytest

from advisor.catalog.coatings import load_coating
from advisor.cli.app import run
from advisor.judge.plan import after_coat
from advisor.shop.shop import Shop
from tests.cli.jobs.asked import CONFIG, ago, ask, coats, did, iso, now, record, refused


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


def test_without_a_schedule_the_shops_only_coating_or_the_last_one_is_meant(capsys, shop):
    did(capsys, "new", "box")
    assert "waterborne-sealer" in did(capsys, "coat")
    did(capsys, "coat", "--coating", "shellac")
    assert "coat 3: shellac" in did(capsys, "coat")
    (shop / "advisor.toml").write_text(CONFIG.replace('["w', '["shellac", "w'), encoding="utf-8")
    did(capsys, "new", "tray")
    assert "--coating is missing" in refused(capsys, "coat")


def test_residues_that_may_catch_fire_are_told_across_jobs(capsys, lid):
    did(capsys, "new", "tray", "--schedule", "shellac-lacquer")
    did(capsys, "coat", "tray", "--coating", "nitrocellulose-lacquer", "--start", ago(hours=2))
    did(capsys, "new", "bench", "--schedule", "varnish")
    assert "catch fire by themselves" in did(capsys, "coat", "bench", "--start", ago(hours=1))
    assert "catch fire" not in did(capsys, "coat", "bench")


def test_a_coat_is_kept_even_where_its_clocks_lack_a_sheet(capsys, lid):
    did(capsys, "coat")
    connection = sqlite3.connect(lid / "log.db")
    connection.execute("UPDATE coat SET coating = 'gone'")
    connection.commit()
    connection.close()
    assert "No clocks: no coating 'gone'" in did(capsys, "coat", "--coating", "waterborne-colour")
    assert "gone" in did(capsys, "show")
    assert "no coating 'gone'" in refused(capsys, "clock")


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
