"""`advisor outlook` with a forecast given, from the logbook, and what it refuses."""

import json
import subprocess
import sys
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.logbook.air_log import AirLog
from advisor.logbook.store import open_for_writing, transaction
from advisor.readings.reading import Reading, Series
from advisor.times import milliseconds
from tests.cli.ahead.asked import CLEAR, START, air, ask, iso, log_file, record
from tests.support import FIXTURES, ROOT, examples

pytestmark = pytest.mark.usefixtures("no_config")


def forecast(path: Path, **changes) -> Path:
    """Four days of hours from the end of the month on: steady warm damp air."""
    hours = changes.get("hours", range(96))
    table = [
        {"time": iso(START + timedelta(days=30, hours=hour)), "air_temperature_c": 24.0, "dew_point_c": 22.0}
        for hour in hours
    ]
    file = path / "forecast.json"
    file.write_text(json.dumps(table), encoding="utf-8")
    return file


def test_a_given_forecast_counts_outdoors(capsys, month, tmp_path):
    _, own = record(capsys, "--csv", month, *CLEAR)
    code, found = record(capsys, "--csv", month, *CLEAR, "--forecast", forecast(tmp_path))
    assert (code, found["assumed"]) == (0, ["forecast-given"])
    assert set(found["outdoors"]["air_temperature"]) == {24.0}
    assert found["air_temperature"] == own["air_temperature"]
    wide = np.array(found["outdoors"]["high"]["air_temperature"]) - found["outdoors"]["low"]["air_temperature"]
    own_wide = np.array(own["outdoors"]["high"]["air_temperature"]) - own["outdoors"]["low"]["air_temperature"]
    assert wide == pytest.approx(own_wide, abs=1e-5)
    assert found["chances"] != own["chances"]


def test_a_given_forecast_without_an_outdoor_log_counts_as_exact(capsys, tmp_path):
    file = log_file(tmp_path, 30, ("shop",))
    _, found = record(capsys, "--csv", file, *CLEAR, "--forecast", forecast(tmp_path, hours=range(7)))
    assert found["assumed"] == ["forecast-exact"]
    assert [each is None for each in found["chances"]] == [n > 24 for n in range(96)]


@pytest.mark.parametrize("hours", [range(-40, 2), range(40, 60), range(0, 24, 8), [1]])
def test_a_forecast_of_other_hours_or_with_a_hole_is_refused(capsys, month, tmp_path, hours):
    code, out, err = ask(capsys, "--csv", month, *CLEAR, "--forecast", forecast(tmp_path, hours=hours))
    assert (code, out, err.count("\n")) == (2, "", 1)


def test_the_logbook_says_what_its_minutes_say(capsys, tmp_path):
    """Twelve days of minutes of two places up to now, through the logbook."""
    (tmp_path / "advisor.toml").write_text('coatings = ["shellac"]\nlogbook = "log.db"\n', encoding="utf-8")
    now = datetime.now(UTC)
    connection = open_for_writing(tmp_path / "log.db", now, durable=False)
    air_log = AirLog(connection)
    readings = []
    for place in ("shop", "outdoors"):
        for minute in range(12 * 1440, -1, -5):
            at = now - timedelta(minutes=minute)
            celsius, dew = air((at - START) / timedelta(hours=1), place)
            for quantity, value in (("air_temperature", celsius), ("dew_point", dew)):
                readings.append(Reading(Series("s", place, quantity), value, milliseconds(at), "test"))
    with transaction(connection):
        air_log.write(readings)
    connection.close()
    code, found = record(capsys, "--config", tmp_path / "advisor.toml", "--coating", "shellac")
    assert code == 0
    assert found["days_known"] == pytest.approx(12, abs=0.2)
    ahead = (datetime.fromisoformat(found["times"][40]) - START) / timedelta(hours=1)
    assert found["air_temperature"][40] == pytest.approx(air(ahead, "shop")[0], abs=1.0)
    assert found["outdoors"]["air_temperature"][40] == pytest.approx(air(ahead, "outdoors")[0], abs=2.0)
    assert ask(capsys, "--config", tmp_path / "advisor.toml", "--backtest")[0] == 0


MISTAKES = [
    ["--coating", "shelac"], ["--coating", ""], ["--coats", "0", *CLEAR], ["--coats", "11", *CLEAR],
    ["--coats", "2"], ["--spray", "5", *CLEAR], ["--spray", "9h", *CLEAR], ["--spray", "nan min", *CLEAR],
    ["--from", "8:00", *CLEAR], ["--until", "25:00", *CLEAR], ["--from", "08:61", *CLEAR], ["--from", "²³:00", *CLEAR],
    ["--at", "noon"], ["--at", "2099-01-01T00:00Z"], ["--zone", "Mars/Base"], ["--place", "attic"], ["--place", ""],
    ["--forecast", "none.json"], ["--forecast", "none.json", "--backtest"], ["--csv", "none.csv"],
]  # fmt: skip


@pytest.mark.parametrize("mistake", MISTAKES, ids=" ".join)
def test_a_mistake_is_one_line_and_exit_2(capsys, month, mistake):
    code, out, err = ask(capsys, "--csv", month, *mistake)
    assert (code, out, err.count("\n")) == (2, "", 1)
    assert err.startswith("advisor: ")


def test_nothing_to_learn_from_is_one_line(capsys):
    code, out, err = ask(capsys, *CLEAR)
    assert (code, out, err.count("\n")) == (2, "", 1)


@settings(max_examples=examples(60))
@given(
    st.dictionaries(
        st.sampled_from(["--coating", "--coats", "--spray", "--from", "--until", "--at", "--zone", "--place"]),
        st.one_of(st.text(max_size=12), st.sampled_from(["1", "08:00", "last", "shop", "5min", "UTC", "shellac"])),
        max_size=3,
    )
)
def test_whatever_is_typed_ends_in_an_answer_or_one_line(capsys, tmp_path, options):
    """On a short log, so that each try is quick."""
    file = tmp_path / "log.csv"
    if not file.exists():
        log_file(tmp_path, 1.0)
    words = [f"{name}={value}" for name, value in options.items()]
    code, out, err = ask(capsys, "--csv", file, *words)
    assert code in (2, 3)
    assert (out == "", err.count("\n")) == ((True, 1) if code == 2 else (False, 0))


@settings(max_examples=examples(40))
@given(
    st.lists(
        st.tuples(
            st.integers(0, 400), st.sampled_from(["20", "-39", "60", "nan", "", "99", "20.5"]),
            st.sampled_from(["50", "3", "100", "105", "unavailable", ""]),
        ),
        max_size=60,
    ),
    st.booleans(),
)  # fmt: skip
def test_whatever_a_log_holds_ends_in_an_answer_or_one_line(capsys, tmp_path, rows, backtested):
    file = tmp_path / "odd.csv"
    base = ["time,air_temperature_c,relative_humidity_pct"]
    base += [f"{iso(START + timedelta(hours=hour))},{20 + hour % 5},{50 + hour % 9}" for hour in range(60)]
    odd = [f"{iso(START + timedelta(minutes=20 * at))},{celsius},{damp}" for at, celsius, damp in rows]
    file.write_text("\n".join([*base, *odd]) + "\n", encoding="utf-8")
    code, out, err = ask(capsys, "--csv", file, *(["--backtest"] if backtested else CLEAR), "--json")
    assert code in (0, 3)
    assert err == ""
    json.loads(out, parse_constant=pytest.fail)


def test_it_loads_nothing_heavy():
    code = (
        "import sys; from advisor.cli.app import run; "
        f"run(['outlook', '--csv', {str(FIXTURES / 'good-day.csv')!r}, '--coating', 'shellac']); "
        "print(' '.join(sorted({name.split('.')[0] for name in sys.modules})), file=sys.stderr)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=ROOT / "tests")
    assert not set(done.stderr.split()) & {"pandas", "scipy", "matplotlib", "apprise", "paho", "pint"}
