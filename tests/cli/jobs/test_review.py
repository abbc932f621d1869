"""`advisor review` as a finisher types it: from a file, the logbook and a job; twenty lines; one line for a mistake."""

import json
from datetime import UTC, datetime, timedelta

import pytest

from advisor.cli.app import run
from advisor.logbook.job_log import JobLog
from advisor.logbook.store import open_for_writing
from tests.support import FIXTURES

DAMP = ("--csv", str(FIXTURES / "humid-evening.csv"), "--zone", "Europe/London", "--coating", "nitrocellulose-lacquer")
EVENING = (*DAMP, "--sprayed", "2025-08-26T20:30", "--thinner", "hot")
CONFIG = 'coatings = ["nitrocellulose-lacquer"]\nlogbook = "log.db"\nzone = "Europe/London"\n'

pytestmark = pytest.mark.usefixtures("no_config")


def ask(capsys, *words: str) -> tuple[int, str, str]:
    code = run(["review", *words])
    out, err = capsys.readouterr()
    assert "Traceback" not in out + err
    return code, out, err


def record(capsys, *words: str) -> tuple[int, dict]:
    code, out, _ = ask(capsys, *words, "--json")
    return code, json.loads(out)


@pytest.fixture
def logbook(tmp_path, capsys):
    """A shop whose logbook holds the damp evening."""
    (tmp_path / "advisor.toml").write_text(CONFIG, encoding="utf-8")
    assert run(["import", str(FIXTURES / "humid-evening.csv")]) == 0
    capsys.readouterr()
    return tmp_path


def test_a_blushed_coat_is_read_back(capsys):
    code, found = record(capsys, *EVENING, "--defect", "milky", "--sibling", "2025-08-26T12:00")
    assert code == 0
    (coat,) = found["coats"]
    first = coat["causes"][0]
    assert (first["mechanism"], first["standing"], first["unit"]) == ("damp-film", "supported", "ratio")
    assert first["measured"] > first["limit"]
    assert coat["defect"] == "blush"
    assert coat["sibling"]["cleared"] is True
    assert [way["state"] for way in coat["ways"]] == ["go"] * 3
    by_name = {each["exposure"]: each for each in coat["exposures"]}
    assert by_name["water_in_film"]["figures"]["condensed"] > 0.0
    assert by_name["outdoor_air"]["measured"] is not None
    assert all(0.0 <= each["covered"] <= 1.0 for each in by_name.values() if each["covered"] is not None)
    assert {each["standing"] for each in coat["causes"]} <= {"supported", "against", "cannot-tell"}


def test_the_file_and_the_logbook_say_the_same(capsys, logbook):
    _, from_file = record(capsys, *EVENING, "--defect", "blush")
    _, from_log = record(
        capsys, "--config", "advisor.toml", "--coating", "nitrocellulose-lacquer", "--sprayed", "2025-08-26T20:30",
        "--thinner", "hot", "--defect", "blush",
    )  # fmt: skip
    assert from_file["coats"][0]["causes"] == from_log["coats"][0]["causes"]


def test_a_job_is_read_back_by_what_was_seen(capsys, logbook):
    run(["job", "new", "table"])
    for at in ("2025-08-26T12:00", "2025-08-26T20:30"):
        coat = ("--coating", "nitrocellulose-lacquer", "--start", at, "--minutes", "10", "--thinner", "hot")
        assert run(["job", "coat", *coat]) == 0, capsys.readouterr().err
    assert run(["job", "saw", "blush", "--at", "2025-08-26T21:30"]) == 0
    capsys.readouterr()
    code, found = record(capsys, "--job", "table")
    assert code == 0
    assert [coat["defect"] for coat in found["coats"]] == [None, "blush"]
    assert found["coats"][1]["causes"][0]["mechanism"] == "damp-film"
    assert found["coats"][1]["seen"] == {"after": 3000.0, "found": "hours", "where": None}
    _, out, _ = ask(capsys, "--job", "table")
    assert out.startswith("table, coat 2: Nitrocellulose lacquer")
    _, first = record(capsys, "--job", "table", "--coat", "1", "--defect", "blush")
    assert first["coats"][0]["outcome"] == "not-the-air"
    code, _, err = ask(capsys, "--job", "table", "--coat", "7")
    assert code == 2
    assert "1, 2" in err


@pytest.mark.parametrize(
    ("seen", "first", "tank"),
    [("2min, all over", "damp-film", False), ("2min, spots", None, True), ("next morning", "damp-film", False)],
)
def test_when_and_where_it_was_seen_ranks_the_causes(capsys, seen, first, tank):
    _, found = record(capsys, *EVENING, "--defect", "blush", "--seen", seen)
    (coat,) = found["coats"]
    supported = [each["mechanism"] for each in coat["causes"] if each["standing"] == "supported"]
    assert supported[:1] == ([first] if first else [])
    assert (coat["not_the_air"][0]["mechanism"] == "air-line") is tank
    assert all(each["proof"] for each in coat["causes"])


def test_readings_by_hand_at_the_gun_stand_against_a_log_that_contradicts_them(capsys):
    _, believed = record(capsys, *EVENING, "--defect", "blush", "--air", "21C", "--rh", "85%")
    assert not believed["coats"][0]["doubted"]
    _, found = record(capsys, *EVENING, "--defect", "blush", "--air", "21C", "--rh", "45%")
    (coat,) = found["coats"]
    assert "humidity read 8" in coat["doubted"][0]
    assert "by hand says otherwise" in coat["doubted"][0]
    assert not [each for each in coat["causes"] if each["standing"] == "supported"]


def test_a_job_without_a_coat_is_a_mistake(capsys, logbook):
    with_jobs = open_for_writing(logbook / "log.db", datetime.now(UTC))
    JobLog(with_jobs).make_job("lid", None, "", datetime.now(UTC) - timedelta(days=1))
    with_jobs.close()
    assert ask(capsys, "--job", "lid")[0] == 2


@pytest.mark.slow
@pytest.mark.parametrize("defect", [None, "blush", "runs", "soft", "wrinkling"])
@pytest.mark.parametrize(
    ("day", "coating", "sprayed"),
    [
        ("humid-evening", "nitrocellulose-lacquer", "2025-08-26T20:30"),
        ("cold-morning", "waterborne-clear-2k", "2025-11-04T07:30"),
    ],
)
def test_some_thirty_lines_of_eighty_columns_say_it(capsys, day, coating, sprayed, defect):
    said = () if defect is None else ("--defect", defect)
    code, out, _ = ask(
        capsys, "--csv", str(FIXTURES / f"{day}.csv"), "--zone", "Europe/London", "--coating", coating,
        "--sprayed", sprayed, "--sibling", sprayed.replace("T20", "T12").replace("T07", "T13"), "--wet-film", "300um",
        "--over", f"oil-varnish {sprayed.replace('T20', 'T11').replace('T07', 'T06')}", *said,
    )  # fmt: skip
    assert code in (0, 3)
    lines = out.splitlines()
    assert len(lines) <= 32, out
    assert max(map(len, lines)) <= 80


def test_a_pinned_sensor_is_exit_code_3(capsys):
    code, out, _ = ask(
        capsys, "--csv", str(FIXTURES / "sensor-faults.csv"), "--zone", "Europe/London", "--coating",
        "nitrocellulose-lacquer", "--sprayed", "2025-10-21T12:30", "--defect", "blush",
    )  # fmt: skip
    assert code == 3
    assert "cannot tell" in out
    assert "at the end stop" in out


@pytest.mark.parametrize(
    ("words", "hint"),
    [
        ((), "--coating"),
        (("--coating", "shellac"), "--sprayed"),
        ((*DAMP, "--sprayed", "yesterday"), "no time"),
        ((*DAMP, "--sprayed", "2099-01-01T10:00Z"), "future"),
        ((*EVENING, "--defect", "wobble"), "no defect"),
        ((*EVENING, "--sibling", "noon"), "no time"),
        ((*EVENING, "--over", "paint 2025-08-26T11:00"), "no coating"),
        ((*EVENING, "--over", "shellac 2025-08-26T21:00"), "after the coat"),
        ((*EVENING, "--wet-film", "3m"), "5 to 1000 um"),
        ((*EVENING, "--cup", "DIN 4"), "give both"),
        ((*EVENING, "--retarder", "90%"), "retarder"),
        ((*EVENING, "--gun", "spoon"), "--gun"),
        ((*EVENING, "--place", "attic"), "attic"),
        ((*EVENING, "--seen", "by chance"), "next morning"),
        ((*EVENING, "--air", "700C"), "--air"),
        ((*EVENING, "--rh", "140%"), "--rh"),
        ((*EVENING, "--in-room", "2099-01-01T10:00Z"), "future"),
        (("--job", "1", "--csv", "x.csv"), "one of the two"),
        (("--job", "1", "--coating", "shellac"), "--job"),
        (("--coat", "1", *EVENING), "--coat"),
        ((*DAMP[2:], "--sprayed", "2025-08-26T20:30"), "logbook"),
    ],
)
def test_a_mistake_is_one_line(capsys, monkeypatch, tmp_path, words, hint):
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    code, out, err = ask(capsys, *words)
    assert code == 2
    assert not out
    assert hint in err
    assert err.count("\n") == 1


@pytest.mark.slow
def test_a_page_a_picture_and_a_table_are_written(capsys, tmp_path):
    files = {"--html": "coat.html", "--png": "coat.png", "--export": "coat.csv"}
    words = [word for option, name in files.items() for word in (option, str(tmp_path / name))]
    code, out, _ = ask(capsys, *EVENING, "--defect", "blush", *words)
    assert code == 0
    assert out.startswith("Nitrocellulose lacquer")
    assert (tmp_path / "coat.html").read_text("utf-8").startswith("<!DOCTYPE html>")
    assert (tmp_path / "coat.png").read_bytes().startswith(b"\x89PNG")
    assert (tmp_path / "coat.csv").read_text("utf-8").startswith('"coat","coating","sprayed"')


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--html", "coat.txt"), ".html or .htm"),
        (("--png", "coat.jpg"), ".png"),
        (("--export", "coat.xls"), ".csv"),
        (("--export", str(FIXTURES / "humid-evening.csv")), "is the file of --csv"),
        (("--html", "no/such/folder/coat.html"), "a file that can be written"),
    ],
)
def test_a_file_that_cannot_be_is_one_line(capsys, words, said):
    code, out, err = ask(capsys, *EVENING, "--defect", "blush", *words)
    assert code == 2
    assert out == ""
    assert said in err


def test_the_page_of_a_job_names_its_coats(capsys, logbook):
    run(["job", "new", "<b>table</b>"])
    for at in ("2025-08-26T12:00", "2025-08-26T20:30"):
        coat = ("--coating", "nitrocellulose-lacquer", "--start", at, "--minutes", "10", "--thinner", "hot")
        assert run(["job", "coat", *coat]) == 0, capsys.readouterr().err
    assert run(["job", "saw", "blush", "--at", "2025-08-26T21:30"]) == 0
    code, _, err = ask(capsys, "--job", "1", "--html", "job.html", "--export", "job.csv")
    assert code == 0, err
    page = (logbook / "job.html").read_text("utf-8")
    assert "<h1>&lt;b&gt;table&lt;/b&gt;, coat 2: blush</h1>" in page
    assert "&lt;b&gt;table&lt;/b&gt;, coat 1: sprayed Tue 26 Aug 2025 12:00." in page
    rows = (logbook / "job.csv").read_text("utf-8").splitlines()
    assert sum("coat 1" in row for row in rows) == sum("coat 2" in row for row in rows) > 10
