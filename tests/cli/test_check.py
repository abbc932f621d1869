"""`advisor check` as a sprayer types it: text, JSON, exit codes, and no traceback whatever comes."""

import json
import re
import subprocess
import sys
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.catalog.coatings import coating_ids
from advisor.cli.app import run, unforeseen
from tests.support import FIXTURES, ROOT, examples

GOOD = FIXTURES / "good-day.csv"
HEADER = "time,air_temperature_c,relative_humidity_pct\n"


pytestmark = pytest.mark.usefixtures("no_config")


def check(capsys, *arguments: str | Path) -> tuple[int, str, str]:
    code = run(["check", *map(str, arguments)])
    out, err = capsys.readouterr()
    assert "Traceback" not in out + err
    return code, out, err


def stamp(minutes_ago: float = 0.0) -> str:
    return (datetime.now(UTC) - timedelta(minutes=minutes_ago)).strftime("%Y-%m-%dT%H:%M:%SZ")


def log(path: Path, *rows: str, header: str = HEADER, end: str = "\n") -> Path:
    file = path / "log.csv"
    file.write_text(header + "\n".join(rows) + end, encoding="utf-8")
    return file


@pytest.mark.parametrize(
    ("arguments", "code", "state"),
    [
        (["--air", "22C", "--rh", "48%"], 0, "go"),
        (["--air", "71.6F", "--rh", "48"], 0, "go"),
        (["--air", "24C", "--rh", "70%"], 0, "change"),
        (["--air", "24C", "--rh", "82%", "--surface", "23C"], 1, "wait"),
        (["--air", "14C", "--rh", "55%"], 1, "wait"),
        (["--air", "21C", "--rh", "50%", "--surface", "8C"], 1, "wait"),
        (["--air", "22C"], 3, "wait"),
        (["--rh", "48%"], 3, "wait"),
        (["--air", "22C", "--rh", "48%", "--sprayed", "40min"], 3, "wait"),
        (["--air", "22C", "--rh", "48%", "--sprayed", "61min"], 0, "go"),
        (["--air", "22C", "--rh", "48%", "--piece-in", "20min"], 3, "wait"),
        (["--air", "22C", "--rh", "48%", "--piece-in", "20min", "--surface", "20C"], 0, "go"),
    ],
)
def test_state_and_exit_code_of_typed_values(capsys, arguments, code, state):
    got, out, _ = check(capsys, *arguments, "--coating", "nitrocellulose-lacquer", "--json")
    record = json.loads(out)
    assert (got, record["state"]) == (code, state)
    assert record["cannot_tell"] == (code == 3)
    assert record["coating"] == "nitrocellulose-lacquer"
    assert re.fullmatch(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ", record["as_of"])


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ([], "nothing to judge"),
        (["--air", "22C", "--rh", "148%"], "outside what air can hold"),
        (["--air", "70C", "--rh", "48%"], "wrong unit"),
        (["--air", "nan", "--rh", "48%"], "not a number"),
        (["--air", "22,5C", "--rh", "48%"], "decimal comma"),
        (["--air", "9" * 5000, "--rh", "48%"], "not a number"),
        (["--air", "22C", "--rh", "48%", "--at", "last"], "--at without --csv"),
        (["--air", "22C", "--rh", "48%", "--csv", "x.csv"], "together"),
        (["--air", "22C", "--rh", "48%", "--config", "none.toml"], "cannot read"),
        (["--air", "22C", "--rh", "48%", "--piece-in", "-3h"], "future"),
        (["--csv", "none.csv"], "cannot read"),
        (["--csv", str(GOOD), "--at", "yesterday"], "is no time"),
        (["--csv", str(GOOD), "--at", "2099-01-01T00:00Z"], "future"),
        (["--csv", str(GOOD), "--at", "2025-09-18T12:00"], "--zone"),
        (["--csv", str(GOOD), "--at", "last", "--place", "boot"], "no readings at place 'boot'"),
        (["--csv", str(GOOD), "--at", "last", "--zone", "Mars/Base"], "no zone"),
        (["--aire", "22C"], "No such option"),
    ],
)
def test_a_mistake_is_one_line_and_exit_code_2(capsys, arguments, words):
    code, out, err = check(capsys, *arguments)
    assert code == 2
    assert out == ""
    assert words in err
    assert err.count("\n") == 1


def test_a_recorded_file_is_stale_now_and_says_how_to_judge_it(capsys):
    code, out, _ = check(capsys, "--csv", GOOD, "--coating", "nitrocellulose-lacquer")
    assert code == 3
    assert "days old" in out
    assert "--at last" in out


def test_at_a_moment_later_readings_are_not_read(capsys):
    _, out, _ = check(
        capsys,
        "--csv",
        FIXTURES / "humid-evening.csv",
        "--at",
        "2025-08-26T12:00+01:00",
        "--coating",
        "shellac",
        "--json",
    )
    record = json.loads(out)
    assert record["as_of"] == "2025-08-26T11:00:00Z"
    assert record["state"] == "go"
    assert record["readings"]["later"] > 1000
    assert record["readings"]["read"] > 1000


@pytest.mark.parametrize("place", ["shop", "outdoors"])
def test_the_place_can_be_chosen(capsys, place):
    _, out, _ = check(capsys, "--csv", GOOD, "--at", "last", "--place", place, "--coating", "shellac", "--json")
    assert json.loads(out)["place"] == place


def test_a_fresh_file_is_judged_as_of_now(capsys, tmp_path):
    code, out, _ = check(capsys, "--csv", log(tmp_path, f"{stamp(1)},22.0,48.0"), "--coating", "shellac")
    assert code == 0
    assert out.startswith("GO: Shellac")


def test_a_typed_surface_joins_a_file(capsys, tmp_path):
    file = log(tmp_path, f"{stamp(1)},22.0,48.0")
    code, out, _ = check(capsys, "--csv", file, "--surface", "8C", "--coating", "shellac")
    assert code == 1
    assert "BELOW dew point" in out


@pytest.mark.parametrize(
    ("rows", "reason"),
    [
        ([], "No air temperature reading"),
        (["{now},nan,48.0"], "No air temperature reading"),
        (["{now},22.0,NaN"], "No humidity reading"),
        (["{now},unavailable,unavailable"], "No air temperature reading"),
        (["{now},70,48.0"], "cannot be air"),
        (["{now},22.0,100.0"], "too damp"),
        (["{now},22.0," + "9" * 5000], "cannot be read"),
        (["{now},22.0," + "9" * 3000], "not a number"),
        (["{now},21,5,48,0"], "cannot be read"),
        (['{now},"21,5","48,0"'], "not a number"),
        (["{now},22.0,48.0", "{now},22."], "is cut off"),
        (["{old},22.0,48.0", "{now},22.0,nan"], "No humidity reading"),
        (["{past},22.0,48.0"], "old; it counts for 15 min"),
        (["{ahead},22.0,48.0"], "stamped in the future"),
        (["{now},22.0,48.0", "{now},22.0,70.0"], "two different values"),
        (["{now},71.6 °F,48.0"], "another unit than is declared"),
        (["{old},22.0,48.0", "{now},12.0,48.0"], "jumped faster"),
        (["\x00\x01\x02"], "cannot be read"),
    ],
)  # fmt: skip
def test_what_cannot_be_trusted_is_never_a_go_and_says_why(capsys, tmp_path, rows, reason):
    times = {"now": stamp(0.2), "old": stamp(1.2), "past": stamp(40), "ahead": stamp(-30)}
    whole = [row.format(**times) for row in rows]
    cut_off = bool(rows) and rows[-1].endswith(".")
    file = log(tmp_path, *whole, end="\n" if rows and not cut_off else "")
    code, out, err = check(capsys, "--csv", file, "--coating", "shellac")
    assert code in (1, 3)
    assert "WAIT" in out.splitlines()[0]
    assert reason in out.replace("\n  ", " ")
    assert err == ""


def test_a_plausible_35_fahrenheit_in_a_celsius_column_cannot_be_seen_from_one_row(capsys, tmp_path):
    """One row of 35 is hot Celsius air: a WAIT for heat; the guide says that the unit cannot be seen from it."""
    code, out, _ = check(capsys, "--csv", log(tmp_path, f"{stamp()},35,48"), "--coating", "shellac")
    assert code == 1
    assert "too warm" in out
    guide = (ROOT / "docs" / "guide.md").read_text("utf-8")
    assert "cannot be seen from one row" in guide


def test_marks_and_lines_that_gave_nothing_are_counted(capsys, tmp_path):
    rows = [f"{stamp(3)},nan,48,x", "garbage", f"{stamp(2)},80,48,x", f"{stamp(1)},22,48,x"]
    file = log(tmp_path, *rows, header=HEADER.replace("\n", ",note\n"))
    _, out, _ = check(capsys, "--csv", file, "--coating", "shellac")
    joined = out.replace("\n  ", " ")
    assert "Of 6 readings: 1 missing; 1 out of range; 1 line not read (first: line 3" in joined
    assert "columns not read: 'note'" in joined
    _, out, _ = check(capsys, "--csv", file, "--coating", "shellac", "--json")
    counted = json.loads(out)["readings"]
    assert (counted["read"], counted["later"], counted["rejected_lines"]) == (6, 0, 1)
    assert counted["marks"] == {"missing": 1, "out-of-range": 1}
    assert counted["unread_columns"] == ["note"]


def test_without_a_coating_each_in_use_gets_one_line(capsys, tmp_path):
    config = tmp_path / "advisor.toml"
    config.write_text('coatings = ["shellac", "waterborne-clear-2k"]')
    code, out, _ = check(capsys, "--air", "14C", "--rh", "50%")
    lines = [line for line in out.splitlines() if ": " in line and line.split(":")[0] in coating_ids()]
    assert [line.split(":")[0] for line in lines] == ["shellac", "waterborne-clear-2k"]
    assert lines[0] == "shellac: GO WITH CHANGES: 2 °C too cold."
    assert lines[1] == "waterborne-clear-2k: WAIT: 4 °C too cold."
    assert code == 0, "any that may be sprayed makes it 0"
    code, out, _ = check(capsys, "--air", "2C", "--rh", "50%", "--json")
    assert code == 1
    assert [verdict["coating"] for verdict in json.loads(out)["verdicts"]] == ["shellac", "waterborne-clear-2k"]
    assert check(capsys, "--air", "14C")[0] == 1
    assert check(capsys, "--air", "22C")[0] == 3


def test_without_a_config_every_family_gets_its_line(capsys):
    _, out, _ = check(capsys, "--air", "22C", "--rh", "45%")
    assert [line.split(":")[0] for line in out.splitlines() if line.endswith(": GO.")] == list(coating_ids())


def test_a_site_with_its_units_named_may_leave_them_out(capsys, tmp_path):
    (tmp_path / "advisor.toml").write_text('coatings = ["shellac"]\nunits = "us"')
    code, out, _ = check(capsys, "--air", "72", "--rh", "45", "--coating", "shellac")
    assert code == 0
    assert "Air 72 °F" in out


@pytest.mark.slow
@pytest.mark.parametrize(
    ("name", "columns"),
    [
        *((path.stem, 80) for path in sorted(FIXTURES.glob("*.csv"))),
        *(("sensor-faults", columns) for columns in (40, 50, 200)), *(("winter-door", columns) for columns in (40, 50)),
    ],
)  # fmt: skip
def test_no_line_is_wider_than_the_terminal_and_there_are_under_ten_at_80(capsys, monkeypatch, name, columns):
    monkeypatch.setenv("COLUMNS", str(columns))
    _, out, _ = check(capsys, "--csv", FIXTURES / f"{name}.csv", "--at", "last", "--coating", "precatalysed-lacquer")
    lines = out.splitlines()
    assert max(map(len, lines)) <= min(columns, 80)
    if columns >= 80:
        assert len(lines) < 10


def test_a_terminal_without_the_degree_sign_still_gets_its_verdict():
    done = subprocess.run(
        [sys.executable, "-m", "advisor", "check", "--air", "22C", "--rh", "48%", "--coating", "shellac"],
        env={"PYTHONIOENCODING": "ascii", "PATH": "/usr/bin:/bin", "HOME": "/nonexistent"},
        capture_output=True, check=False, cwd=ROOT,
    )  # fmt: skip
    assert done.returncode == 0
    assert done.stdout.startswith(b"GO: Shellac")
    assert done.stderr == b""


def test_a_reader_that_goes_away_is_no_traceback():
    command = f"{sys.executable} -m advisor coatings shellac | head -n 1"
    done = subprocess.run(["/bin/sh", "-c", command], capture_output=True, check=False, cwd=ROOT)
    assert b"Traceback" not in done.stderr


def verdicts_of(capsys, tmp_path, content: bytes) -> None:
    file = tmp_path / "log.csv"
    file.write_bytes(content)
    code, out, err = check(capsys, "--csv", file, "--coating", "shellac")
    assert code in (0, 1, 2, 3)
    assert (out == "") == (code == 2)
    assert (err == "") == (code != 2)


@settings(max_examples=examples(150))
@given(st.binary(max_size=300))
def test_no_file_makes_a_traceback(capsys, tmp_path, content):
    verdicts_of(capsys, tmp_path, content)


FIELD = st.one_of(
    st.sampled_from(
        ["nan", "inf", "", "unavailable", "70", "1e999", "-", "21,5", "100", "0", "9" * 400, "\x00", "22.0"]
    ),
    st.text(max_size=12),
)


@settings(max_examples=examples(150))
@given(st.lists(st.tuples(FIELD, FIELD), max_size=4))
def test_a_go_never_rests_on_a_last_row_that_is_not_two_plain_numbers(capsys, tmp_path, fields):
    rows = [f"{stamp(len(fields) - n)},{air},{humidity}" for n, (air, humidity) in enumerate(fields)]
    file = tmp_path / "log.csv"
    file.write_bytes((HEADER + "\n".join(rows) + "\n").encode("utf-8", "replace"))
    code, _, _ = check(capsys, "--csv", file, "--coating", "shellac")
    if code == 0:
        last = file.read_bytes().decode("utf-8", "replace").replace("\r", "\n").strip().split("\n")[-1].split(",")
        assert len(last) == 3
        assert 13 <= float(last[1]) <= 30
        assert 0 < float(last[2]) <= 75


def test_a_fault_of_our_own_is_one_line_and_never_the_exit_code_of_a_wait(capsys, monkeypatch):
    monkeypatch.setattr("advisor.cli.app.unforeseen", unforeseen)
    monkeypatch.setattr("advisor.cli.commands.shop_from", lambda _config: {}["boom"])
    code, out, err = check(capsys, "--air", "22C", "--rh", "48%")
    assert (code, out) == (2, "")
    assert re.fullmatch(r"advisor: a fault of its own, KeyError: 'boom' \(test_check.py, line \d+\); report it\n", err)


@pytest.mark.slow
@pytest.mark.parametrize(
    ("redirect", "code"),
    [
        (">&-", 0),
        (">/dev/full", 2),
        ("2>&-", 0),
        ("--bogus 2>/dev/full", 2),
        ("--bogus 2>&-", 2),
        (">/dev/full 2>&1", 2),
    ],
)
def test_output_that_goes_nowhere_is_no_traceback(redirect, code):
    command = f"{sys.executable} -m advisor check --air 22C --rh 48% --coating shellac {redirect}"
    done = subprocess.run(["/bin/sh", "-c", command], capture_output=True, check=False, cwd=ROOT)
    assert done.returncode == code
    assert b"Traceback" not in done.stderr


@pytest.mark.parametrize("path", ["/dev/zero", "/", "/nonexistent/x.toml", "x" * 5000, "a\u0000b"])
def test_a_configuration_that_is_no_file_is_one_line(capsys, path):
    code, _, err = check(capsys, "--air", "22C", "--rh", "48%", "--config", path)
    assert code == 2
    assert err.count("\n") == 1
    assert len(err) < 700


def test_a_file_of_the_future_is_not_taken_for_the_last_word(capsys, tmp_path):
    file = log(tmp_path, f"{stamp(1)},22.0,48.0", f"{stamp(-60)},22.0,95.0")
    code, out, _ = check(capsys, "--csv", file, "--at", "last", "--coating", "shellac")
    assert code == 0
    assert "2 stamped after now and not read" in out


def test_a_line_that_cannot_be_read_hides_no_damp_air(capsys, tmp_path):
    """The shop's lines have a field too many; the outdoor ones between them are fine. The old shop reading is no GO."""
    rows = [f"{stamp(15)},shop,a,21.0,50.0"]
    for minute in range(14, 0, -1):
        rows += [f"{stamp(minute)},shop,a,21.0,95.0,extra", f"{stamp(minute)},outdoors,m,5.0,90.1"]
    file = log(tmp_path, *rows, header="time,place,sensor,temperature_c,humidity_pct\n")
    code, out, _ = check(capsys, "--csv", file, "--coating", "shellac")
    assert code == 3
    assert "cannot be read" in out


def test_nothing_in_a_file_steers_the_terminal(capsys, tmp_path):
    file = log(tmp_path, f"{stamp(1)},\x1b[31mshop,22.0,48.0", header="time,place,temperature_c,humidity_pct\n")
    _, out, err = check(capsys, "--csv", file, "--coating", "shellac")
    assert "\x1b" not in out + err


def test_the_bare_command_shows_its_help(capsys):
    assert run([]) == 2
    out, err = capsys.readouterr()
    assert "check" in out + err
    assert (out + err).count("\n") > 5


LACQUER_DAY = ("--air", "17C", "--rh", "50%", "--coating", "nitrocellulose-lacquer", "--spray", "60min")


@pytest.mark.parametrize(("amount", "code", "state"), [("9l", 0, "change"), ("12l", 1, "wait"), ("3l", 0, "change")])
def test_too_much_vapour_is_told_first_and_decides_the_exit_code(capsys, amount, code, state):
    """Nine litres in an hour come to 43 % of where it burns, which was a text without a word of it."""
    found, out, _ = check(capsys, *LACQUER_DAY, "--amount", amount)
    record = json.loads(check(capsys, *LACQUER_DAY, "--amount", amount, "--json")[1])
    share = record["vapour"]["share_of_lower_limit"]
    (vapour,) = [each for each in record["findings"] if each["rule"] == "vapour"]
    assert (found, record["state"], vapour["measured"]) == (code, state, pytest.approx(share, abs=1e-6))
    assert ("First: More fan" in out) == (share > 0.25)
    assert vapour["level"] == ("stop" if share >= 0.5 else "change" if share > 0.25 else "ok")
    assert ("Mask" in out) == (code == 0)


def test_a_piece_too_warm_is_not_told_to_be_warmed(capsys):
    _, out, _ = check(capsys, "--air", "22C", "--rh", "55", "--surface", "40C", "--coating", "shellac")
    assert "cool to" in out
    assert "Warm" not in out


def test_a_value_at_its_limit_is_said_to_be_at_it(capsys):
    day = ("--air", "22C", "--surface", "22C", "--coating", "nitrocellulose-lacquer")
    code, out, _ = check(capsys, *day, "--rh", "75%")
    assert code == 0
    assert "WAIT above 75 %, which is now" in " ".join(out.split())
    assert "which is now" not in check(capsys, *day, "--rh", "74%")[1]
    assert check(capsys, *day, "--rh", "75.1%")[0] == 1


def test_what_cannot_count_is_said(capsys):
    day = ("--air", "22C", "--rh", "48%", "--coating", "shellac")
    _, out, _ = check(capsys, *day, "--coats", "3", "--matt")
    said = " ".join(out.split())
    assert "the 3 coats are judged in the room as it is now" in said
    assert "--matt counts with a particle counter or --sanded" in said
    assert "--matt counts" not in check(capsys, *day, "--matt", "--sanded", "10min")[1]
    assert check(capsys, "--air", "22C", "--rh", "48%", "--matt")[0] == 2


def test_a_cold_night_stands_before_the_tin(capsys):
    day = ("--air", "14C", "--rh", "50%", "--coating", "oil-varnish", "--night", "3C")
    code, out, _ = check(capsys, *day)
    assert code == 0
    assert out.splitlines()[1].startswith("First: Keep the room at 10 °C")
    assert "it stalls until it is warm again" in " ".join(out.split())


@pytest.mark.parametrize(
    "rows",
    [
        ["2098-07-01T00:00Z,,"], ["2098-07-01T00:00Z,22.0,48.0", "2098-07-01T00:00Z,22.0,70.0"],
        ["2098-07-01T00:00Z,22.0,95.0"], ["2098-07-01T00:00Z,22.0,48.0,extra"], ["2098-07-01T00:00Z,soon,soon"],
    ],
)  # fmt: skip
@pytest.mark.parametrize("at", ["now", "last"])
def test_a_line_of_2098_spoils_no_file_wherever_it_stands(capsys, tmp_path, rows, at):
    for lines in ([f"{stamp(1)},22.0,48.0", *rows], [*rows, f"{stamp(1)},22.0,48.0"]):
        code, out, _ = check(capsys, "--csv", log(tmp_path, *lines), "--at", at, "--coating", "shellac")
        assert (code, out.splitlines()[0 if at == "now" else 1][:11]) == (0, "GO: Shellac"), (lines, out)


@pytest.mark.parametrize(("last", "reason"), [("garbage\n", "cannot be read"), ("{now},22.", "is cut off")])
def test_a_line_that_cannot_be_read_behind_one_of_2098_is_the_newest_word_still(capsys, tmp_path, last, reason):
    lines = [f"{stamp(1)},22.0,48.0", "2098-07-01T00:00Z,22.0,48.0", last.format(now=stamp(0.2))]
    code, out, _ = check(capsys, "--csv", log(tmp_path, *lines, end=""), "--coating", "shellac")
    assert code == 3
    assert reason in out


def test_a_logger_an_hour_ahead_is_a_wrong_clock_and_not_a_fresh_file(capsys, tmp_path):
    """Summer time set by hand: what it stamps as now was read an hour ago."""
    lines = [f"{stamp(minutes)},22.0,48.0" for minutes in range(30, -60, -5)]
    code, out, _ = check(capsys, "--csv", log(tmp_path, *lines), "--coating", "shellac")
    assert code == 3
    assert "stamped in the future" in out


def test_an_hour_without_a_digit_is_told_beside_the_go(capsys, tmp_path):
    file = log(tmp_path, *(f"{stamp(minutes)},22.0,48.0" for minutes in range(70, 0, -1)))
    for words in (("--coating", "shellac"), ()):
        code, out, _ = check(capsys, "--csv", file, *words)
        assert code == 0
        assert "not moved by a digit for an hour. Breathe on the sensor" in out.replace("\n  ", " ")
    _, out, _ = check(capsys, "--csv", file, "--coating", "shellac", "--json")
    told = json.loads(out)
    assert (told["state"], told["findings"][0]["reason"], told["readings"]["marks"]) == ("go", "still", {})
