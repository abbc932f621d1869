"""`advisor check` on a file of readings: which count, which do not, and that none makes a GO by mistake."""

import json

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.cli.asked import GOOD, HEADER, check, log, stamp
from tests.support import FIXTURES, ROOT, examples

pytestmark = pytest.mark.usefixtures("no_config")


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
