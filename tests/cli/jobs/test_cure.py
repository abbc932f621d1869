"""`advisor cure` as a finisher types it: from a file and from the logbook, eight lines, one line for every mistake."""

from datetime import UTC, datetime, timedelta

import pytest

from advisor.catalog.coatings import coating_ids, load_coating
from advisor.cli.app import run
from advisor.jobs.cure import STAGES
from advisor.physics.paint.cure import rate_factor
from tests.cli.jobs.cure_asked import COLD, POLYURETHANE, SPRAYED, ask, iso, night, record, stage
from tests.support import fixture_file

KEYS = {"schema", "as_of", "computed_at", "coating", "sprayed", "stages", "flags", "cautions"}

pytestmark = pytest.mark.usefixtures("no_config")


def hours_after(found: dict, name: str) -> float:
    return (datetime.fromisoformat(stage(found, name)["at"]) - datetime.fromisoformat(found["sprayed"])) / timedelta(
        hours=1
    )


def test_the_names_outside_checks_call_are_there(capsys):
    code, found = record(capsys, "--csv", COLD, *POLYURETHANE, "--at", "last")
    assert code == 0
    assert found.keys() >= KEYS
    assert (found["schema"], found["coating"]) == (1, "solvent-polyurethane-2k")
    assert (found["sprayed"], found["as_of"]) == ("2025-11-04T07:00:00Z", "2025-11-04T21:59:00Z")
    for each in found["stages"]:
        assert each.keys() >= {"stage", "from_sheet", "reached", "at", "equivalent_hours"}
    assert any("isocyanate" in each.lower() for each in found["cautions"])
    assert found["readings"]["read"] > 1000


def test_the_cold_morning_collects_what_its_readings_say(capsys):
    """By a second way: each minute's reading at the speed of a plain formula."""
    _, found = record(capsys, "--csv", COLD, *POLYURETHANE, "--at", "last")
    start, end = (datetime.fromisoformat(found[key]).timestamp() * 1000 for key in ("sprayed", "as_of"))
    minutes = [
        reading.value
        for reading in fixture_file("cold-morning").readings
        if (reading.series.place, reading.series.quantity) == ("shop", "air_temperature") and start <= reading.at < end
    ]
    assert all(8.0 <= celsius < 23.0 for celsius in minutes)
    hours = sum(rate_factor(celsius, 23.0, 55_000.0) for celsius in minutes) / 60
    assert found["equivalent_hours"] == pytest.approx(hours, abs=0.005)
    assert found["clock_hours"] - hours > 4
    assert [each["kind"] for each in found["flags"]] == ["never_fully_hard"]


def test_a_cold_night_delays_sanding_by_the_hours_computed_by_hand(capsys, tmp_path):
    """23 °C for 4 h, 10 °C for 8 h, an hour's ramp at either end: 5.87 h late (by hand in tests/advice)."""
    file = night(tmp_path, (0, 23), (4, 23), (5, 10), (13, 10), (14, 23))
    arguments = ["--csv", file, "--coating", "solvent-polyurethane-2k", "--sprayed", iso(SPRAYED), "--at"]
    _, before = record(capsys, *arguments, iso(SPRAYED + timedelta(hours=4)))
    _, morning = record(capsys, *arguments, "last")
    assert hours_after(before, "sand") == pytest.approx(16.0, abs=0.05)
    assert hours_after(morning, "sand") == pytest.approx(21.87, abs=0.05)
    assert morning["equivalent_hours"] == pytest.approx(14 - 5.873, abs=0.02)


@pytest.mark.parametrize("coating", coating_ids())
def test_at_23_degrees_the_sheet_comes_out_to_the_second(capsys, tmp_path, coating):
    file = tmp_path / "steady.csv"
    rows = [f"{iso(SPRAYED + timedelta(minutes=n))},23.0" for n in range(0, 300, 5)]
    file.write_text("time,air_temperature_c\n" + "\n".join(rows) + "\n", encoding="utf-8")
    code, found = record(capsys, "--csv", file, "--coating", coating, "--sprayed", iso(SPRAYED), "--at", "last")
    assert code == 0
    for name, key in STAGES.items():
        number = load_coating(coating).numbers.get(key)
        if number is not None:
            each = stage(found, name)
            assert each["from_sheet"] == number.value
            assert each["at"] == iso(SPRAYED + timedelta(seconds=number.value))
    assert found["flags"] == []


@pytest.mark.slow
@pytest.mark.parametrize("coating", coating_ids())
@pytest.mark.parametrize(
    "more", [["--at", "last"], ["--at", "2025-11-04T08:00Z"], [], ["--at", "last", "--coats", "9"]]
)
def test_every_family_fits_eight_lines_of_80_columns(capsys, coating, more):
    code, out, _ = ask(capsys, "--csv", COLD, "--coating", coating, "--sprayed", "2025-11-04T06:30Z", *more)
    lines = out.splitlines()
    assert code == (0 if more else 3)
    assert len(lines) <= 8
    assert all(len(line) <= 80 for line in lines)
    assert ("--at last" in out) is (not more)


def test_the_answer_is_in_the_shops_units_and_zone(capsys, tmp_path):
    config = tmp_path / "us.toml"
    config.write_text('coatings = ["shellac"]\nunits = "us"\nzone = "America/New_York"\n')
    arguments = ["--config", config, "--csv", COLD, "--coating", "oil-varnish", "--at", "last"]
    _, out, _ = ask(capsys, *arguments, "--sprayed", "2025-11-04T03:00")
    assert "sprayed Tue 4 Nov 2025 03:00;" in out
    assert "73.4 °F" in " ".join(out.split())
    assert "°C" not in out
    _, found = record(capsys, *arguments, "--sprayed", "2025-11-04T03:00")
    assert found["sprayed"] == "2025-11-04T08:00:00Z"
    _, out, _ = ask(capsys, "--csv", COLD, *POLYURETHANE, "--at", "last", "--zone", "Europe/Berlin")
    assert "sprayed Tue 4 Nov 2025 08:00;" in out


@pytest.fixture
def shop(tmp_path):
    """A configuration with a logbook of its own."""
    file = tmp_path / "advisor.toml"
    file.write_text('coatings = ["shellac"]\nlogbook = "log.db"\nzone = "Europe/London"\n')
    return str(file)


def test_the_logbook_says_what_the_file_says(capsys, shop):
    assert run(["import", "--config", shop, str(COLD)]) == 0
    capsys.readouterr()
    for at in ("last", "2025-11-04T15:30Z"):
        _, from_file = record(capsys, "--csv", COLD, *POLYURETHANE, "--at", at)
        code, from_log = record(capsys, "--config", shop, *POLYURETHANE, "--at", at)
        assert code == 0
        for key in ("as_of", "place", "stages", "equivalent_hours", "present_temperature"):
            assert from_log[key] == from_file[key], key


def test_from_the_logbook_now_is_now(capsys, tmp_path, shop):
    now = datetime.now(UTC).replace(microsecond=0)
    file = night(tmp_path, (0, 23), (3, 18), start=now - timedelta(hours=3))
    run(["import", "--config", shop, str(file)])
    capsys.readouterr()
    sprayed = iso(now - timedelta(hours=2))
    code, out, _ = ask(capsys, "--config", shop, "--coating", "shellac", "--sprayed", sprayed)
    assert code == 0
    assert "Reached: next coat" in out
    code, out, _ = ask(capsys, "--config", shop, "--coating", "shellac", "--sprayed", sprayed, "--place", "shop")
    assert code == 0


def test_a_gap_over_two_hours_is_said_and_not_filled(capsys, tmp_path):
    file = night(tmp_path, (0, 20), (20, 20.5))
    lines = file.read_text().splitlines(keepends=True)
    file.write_text("".join(lines[:40] + lines[160:]), encoding="utf-8")
    arguments = ["--csv", file, "--coating", "solvent-polyurethane-2k", "--sprayed", iso(SPRAYED), "--at", "last"]
    code, found = record(capsys, *arguments)
    assert code == 3
    assert found["cannot_tell"] is True
    assert [each["kind"] for each in found["flags"]] == ["gap"]
    assert stage(found, "sand")["reached"] is None
    assert stage(found, "sand")["at"] is None
    _, out, _ = ask(capsys, *arguments)
    assert "No usable temperature from" in out


def test_a_room_that_stands_still_counts_as_read_and_is_told(capsys, tmp_path):
    """A heated room may stand at 23.0 for days: then the sheet's times hold exactly, and the sensor is named."""
    file = tmp_path / "stuck.csv"
    rows = [f"{iso(SPRAYED + timedelta(minutes=n))},23.0,50.0" for n in range(0, 24 * 60 + 1, 10)]
    file.write_text("time,air_temperature_c,relative_humidity_pct\n" + "\n".join(rows) + "\n", encoding="utf-8")
    arguments = ["--csv", file, "--coating", "solvent-polyurethane-2k", "--sprayed", iso(SPRAYED), "--at", "last"]
    code, found = record(capsys, *arguments)
    assert code == 0
    assert [flag["kind"] for flag in found["flags"]] == ["unmoved"]
    assert found["equivalent_hours"] == pytest.approx(24.0)
    assert stage(found, "sand")["at"] == iso(SPRAYED + timedelta(hours=16))
    assert "if it is stuck, these times are wrong" in " ".join(ask(capsys, *arguments)[1].split())
    assert found["readings"]["marks"]["stuck"] > 50


def test_of_two_sensors_the_coldest_counts(capsys, tmp_path):
    file = tmp_path / "two.csv"
    rows = [
        f"{iso(SPRAYED + timedelta(minutes=n))},{name},{celsius + (n % 20) / 100}"
        for n in range(0, 300, 10)
        for name, celsius in (("near", 20.0), ("far", 19.0))
    ]
    file.write_text("time,sensor,air_temperature_c\n" + "\n".join(rows) + "\n", encoding="utf-8")
    arguments = ["--coating", "shellac", "--sprayed", iso(SPRAYED), "--at", "last"]
    _, both = record(capsys, "--csv", file, *arguments)
    file.write_text("time,sensor,air_temperature_c\n" + "\n".join(rows[1::2]) + "\n", encoding="utf-8")
    _, far = record(capsys, "--csv", file, *arguments)
    assert both["equivalent_hours"] == far["equivalent_hours"]
