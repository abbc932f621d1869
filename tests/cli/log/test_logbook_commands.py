"""`advisor import`, `readings`, `calibrate`, `watch`, and `check` from the logbook."""

import csv
import io
import json
from datetime import UTC, datetime, timedelta

import pytest

from advisor.cli.app import run
from advisor.cli.log.readings import COLUMNS, safe_text
from tests.support import FIXTURES


@pytest.fixture
def shop(tmp_path, monkeypatch):
    """A configuration with a logbook of its own."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "80")
    file = tmp_path / "advisor.toml"
    file.write_text(
        'coatings = ["shellac"]\nlogbook = "log.db"\nzone = "Europe/London"\n[[sensors]]\nname = "shelf"\n'
        'relative_humidity_accuracy = "3 %"\n'
    )
    return str(file)


def ask(capsys, *words: str) -> tuple[int, str, str]:
    code = run(list(words))
    out, err = capsys.readouterr()
    assert "Traceback" not in out + err
    return code, out, err


def log_now(tmp_path, humidity: float = 48.0) -> str:
    file = tmp_path / "now.csv"
    stamps = [(datetime.now(UTC) - timedelta(minutes=n)).strftime("%Y-%m-%dT%H:%M:%SZ") for n in (3, 2, 1)]
    file.write_text(
        "time,sensor,air_temperature_c,relative_humidity_pct\n"
        + "".join(f"{s},shelf,22.0,{humidity}\n" for s in stamps)
    )
    return str(file)


def test_a_file_is_imported_once_and_counted_by_marks(capsys, shop):
    code, out, _ = ask(capsys, "import", "--config", shop, str(FIXTURES / "sensor-faults.csv"))
    assert code == 0
    assert "readings new in the logbook, 0 stood there already" in out.replace("\n  ", " ")
    assert "1 lines gave no reading" in out
    assert "at the end stop" in out
    _, out, _ = ask(capsys, "import", "--config", shop, str(FIXTURES / "sensor-faults.csv"))
    assert ": 0 readings new" in out


def test_an_export_holds_what_the_file_held(capsys, shop):
    ask(capsys, "import", "--config", shop, str(FIXTURES / "good-day.csv"))
    code, out, _ = ask(capsys, "readings", "--config", shop, "--csv")
    rows = list(csv.DictReader(io.StringIO(out)))
    assert code == 0
    assert tuple(rows[0]) == COLUMNS
    with (FIXTURES / "good-day.csv").open() as stream:
        source = list(csv.DictReader(stream))
    ours = {(row["time"], row["place"]): float(row["value"]) for row in rows if row["quantity"] == "air_temperature"}
    assert len(ours) == len(source)
    for row in source:
        stamp = datetime.fromisoformat(row["time"]).astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%S.000Z")
        assert ours[stamp, row["place"]] == float(row["air_temperature_c"])
    _, text, _ = ask(capsys, "readings", "--config", shop, "--json", "--since", "2025-09-18T21:59+01:00")
    assert [entry["unit"] for entry in json.loads(text)] == ["°C", "1/m3", "fraction", "°C"]


def test_the_newest_are_shown_with_age_and_quality(capsys, shop, tmp_path):
    ask(capsys, "import", "--config", shop, log_now(tmp_path))
    code, out, _ = ask(capsys, "readings", "--config", shop)
    assert code == 0
    assert "shop       air temperature" in out
    assert "s ago, shelf, good" in out or "min ago, shelf, good" in out
    assert "In all: 6 good." in out
    assert "shellac: no current word from the daemon, so WAIT" in out


def test_check_reads_the_logbook_when_nothing_is_typed(capsys, shop, tmp_path):
    ask(capsys, "import", "--config", shop, log_now(tmp_path))
    code, out, _ = ask(capsys, "check", "--config", shop, "--coating", "shellac")
    assert code == 0
    assert out.startswith("GO: Shellac")
    code, out, _ = ask(capsys, "check", "--config", shop, "--coating", "shellac", "--surface", "8C")
    assert code == 1


def test_a_calibration_is_kept_and_makes_the_dew_point_surer(capsys, shop, tmp_path):
    ask(capsys, "import", "--config", shop, log_now(tmp_path))
    before = json.loads(ask(capsys, "check", "--config", shop, "--coating", "shellac", "--json")[1])
    words = [
        "calibrate",
        "--config",
        shop,
        "--sensor",
        "shelf",
        "--reading",
        "NaCl 73% 22C",
        "--reading",
        "MgCl2 34% 22C",
    ]
    code, out, _ = ask(capsys, *words)
    assert code == 0
    assert "true = 1.088 x shown -4.0 %" in out
    after = json.loads(ask(capsys, "check", "--config", shop, "--coating", "shellac", "--json")[1])
    assert after["air"]["dew_point_uncertainty"] < 0.7 * before["air"]["dew_point_uncertainty"]


@pytest.mark.parametrize(
    ("words", "reason"),
    [
        (["readings", "--config", "{shop}", "--csv", "--json"], "together"),
        (["readings", "--config", "{shop}"], "no logbook"),
        (["readings", "--config", "{shop}", "--since", "noon"], "no logbook"),
        (["check", "--config", "{shop}"], "no logbook"),
        (["import", "--config", "{shop}", "none.csv"], "cannot read"),
        (["import", "x.csv"], None),
        (["calibrate", "--config", "{shop}", "--sensor", "shlef", "--reading", "NaCl 73% 22C"], "did you mean shelf"),
        (["calibrate", "--config", "{shop}", "--sensor", "shelf"], "no salt reading"),
        (["calibrate", "--config", "{shop}", "--sensor", "shelf", "--reading", "NaCl 73%"], "salt reading"),
        (["calibrate", "--config", "{shop}", "--sensor", "shelf", "--reading", "salt 73% 22C"], "no salt"),
        (["calibrate", "--config", "{shop}", "--sensor", "shelf", "--reading", "NaCl 20% 22C"], "repeat the check"),
        (["calibrate", "--config", "{shop}", "--sensor", "shelf", "--reading", "NaCl 73% 40C"], "15 to 30"),
        (["watch", "--config", "{shop}", "--json"], "go with --replay"),
        (["watch", "--replay", "none.csv"], "cannot read"),
        (["watch", "--replay", "none.csv", "--speed", "0"], "over 0"),
    ],
)
def test_a_mistake_is_one_line_and_exit_code_2(capsys, shop, words, reason):
    code, _, err = ask(capsys, *(word.format(shop=shop) for word in words))
    assert code == 2
    assert err.count("\n") == 1
    assert reason is None or reason in err


@pytest.mark.parametrize("text", ["=HYPERLINK(1)", "+1", "-1", "@x", "\tx", "\rx", "\x00x"])
def test_no_text_of_an_export_is_taken_for_a_formula(text):
    assert safe_text(text) == f"'{text}"
    assert safe_text("shelf") == "shelf"


def test_a_negative_number_stays_a_number(capsys, shop, tmp_path):
    file = tmp_path / "cold.csv"
    file.write_text(
        "time,sensor,air_temperature_c\n2025-01-14T10:00Z,=HYPERLINK(1),-5.2\n2025-01-14T10:01Z,=HYPERLINK(1),-5.2\n"
    )
    ask(capsys, "import", "--config", shop, str(file))
    _, out, _ = ask(capsys, "readings", "--config", shop, "--csv")
    assert ",-5.2,°C,'=HYPERLINK(1),good" in out


def test_rows_of_2098_spoil_no_import_and_are_not_the_newest(capsys, shop, tmp_path):
    """Without a value, twice with two values, imported twice; then `check` judges what is of now."""
    file = tmp_path / "odd.csv"
    rows = ["2098-07-01T00:00Z,shelf,nan,nan", "2098-07-01T00:00Z,shelf,22,48", "2098-07-01T00:00Z,shelf,30,80"]
    file.write_text("time,sensor,air_temperature_c,relative_humidity_pct\n" + "\n".join(rows) + "\n")
    ask(capsys, "import", "--config", shop, log_now(tmp_path))
    for _ in range(2):
        assert ask(capsys, "import", "--config", shop, str(file))[0] == 0
    code, out, _ = ask(capsys, "check", "--config", shop, "--coating", "shellac")
    assert code == 0
    assert out.startswith("GO: Shellac")
    _, out, _ = ask(capsys, "readings", "--config", shop)
    assert "ahead of now" not in out
    assert "shelf, good" in out
    assert "In all: 8 rejected, 6 good, 2 future." in out


def test_a_reading_a_minute_ahead_is_imported_as_good(capsys, shop, tmp_path):
    """Within `clock_tolerance`, as over MQTT."""
    file = tmp_path / "ahead.csv"
    stamp = (datetime.now(UTC) + timedelta(seconds=60)).strftime("%Y-%m-%dT%H:%M:%SZ")
    file.write_text(f"time,sensor,air_temperature_c,relative_humidity_pct\n{stamp},shelf,22.0,48.0\n")
    ask(capsys, "import", "--config", shop, str(file))
    assert ask(capsys, "check", "--config", shop, "--coating", "shellac")[0] == 0
