"""`advisor check` as a sprayer types it: text, JSON, exit codes, and no traceback whatever comes."""

import json
import re
import subprocess
import sys

import pytest

from advisor.catalog.coatings import coating_ids
from advisor.cli.app import run, unforeseen
from tests.cli.asked import GOOD, check
from tests.support import FIXTURES, ROOT

pytestmark = pytest.mark.usefixtures("no_config")


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
