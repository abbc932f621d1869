"""`advisor trial` and `advisor wood` as typed: fixed keys, exit codes, one line for every mistake, the logbook."""

import json
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.cli.app import run
from tests.support import FIXTURES, examples

WINTER = ["trial", "--csv", str(FIXTURES / "winter-door.csv")]
STARTED = [*WINTER, "--started", "2026-01-20T14:00Z"]
WOOD = ["wood", "--air", "21C", "--rh", "50%"]

pytestmark = pytest.mark.usefixtures("no_config")


def record(capsys, *arguments: str):
    code = run([*arguments, "--json"])
    return code, json.loads(capsys.readouterr().out)


def test_the_trial_of_the_winter_door_gives_the_lines_for_the_configuration(capsys):
    code, found = record(capsys, *STARTED)
    assert code == 0
    assert found["fan_flow"] == pytest.approx(0.52, abs=0.04)
    assert found["readings_used"] == 11
    assert found["configuration"][:3] == [
        "[booth]",
        f'fan_flow = "{found["fan_flow"]:.2g} m3/s"',
        "flow_measured = true",
    ]
    assert found["readings"]["read"] > 1000
    assert run(STARTED) == 0
    assert "half the name" in capsys.readouterr().out


def test_the_lines_printed_are_a_configuration_that_is_read(capsys, tmp_path):
    _, found = record(capsys, *STARTED)
    file = tmp_path / "advisor.toml"
    file.write_text('coatings = ["shellac"]\n' + "\n".join(found["configuration"]) + "\n", encoding="utf-8")
    assert run(["config", "check", "--config", str(file)]) == 0
    assert "measured" in capsys.readouterr().out


def test_typed_outdoor_air_stands_for_the_sensor_and_find_finds_the_same_door(capsys):
    _, read = record(capsys, *STARTED)
    code, typed = record(capsys, *STARTED, "--outdoors", "0C", "--outdoors-rh", "85%")
    assert code == 0
    assert typed["fan_flow"] == pytest.approx(read["fan_flow"], rel=0.02)
    _, found = record(capsys, *WINTER, "--find")
    assert (found["started"], found["openings_found"]) == ("2026-01-20T14:00:00Z", 1)
    assert found["fan_flow"] == read["fan_flow"]


def test_alone_it_says_how_in_at_most_eight_lines(capsys):
    assert run(["trial"]) == 0
    assert 5 <= len(capsys.readouterr().out.splitlines()) <= 8
    assert len(record(capsys, "trial")[1]["steps"]) <= 8


@pytest.mark.parametrize(
    ("arguments", "why"),
    [
        ([*WINTER, "--started", "2026-01-20T09:00Z"], "unsteady"),
        ([*WINTER, "--started", "2026-01-21T09:00Z"], "few_readings"),
        ([*STARTED, "--outdoors", "20C", "--outdoors-rh", "42%"], "alike"),
        (["trial", "--csv", str(FIXTURES / "good-day.csv"), "--find"], "none_found"),
    ],
)
def test_what_cannot_be_told_is_exit_3_with_its_reason(capsys, arguments, why):
    code, found = record(capsys, *arguments)
    assert code == 3
    assert (found["cannot_tell"], found["reason"], found["configuration"]) == (True, why, [])
    assert run(arguments) == 3
    assert "Cannot tell: " in capsys.readouterr().out


@pytest.mark.parametrize(
    "wrong",
    [
        [*STARTED, "--minutes", "4"], [*STARTED, "--minutes", "61"], [*WINTER, "--started", "teatime"],
        [*WINTER, "--started", "2999-01-01T00:00Z"], WINTER, [*STARTED, "--outdoors", "8C"],
        [*STARTED, "--outdoors-rh", "8%"], [*STARTED, "--outdoors", "8", "--outdoors-rh", "85%"],
        [*STARTED, "--place", "attic"], [*STARTED, "--place", ""], [*STARTED, "--zone", "Nowhere/Else"],
        [*STARTED, "--find"], [*WINTER, "--find", "--outdoors", "8C", "--outdoors-rh", "85%"],
        ["trial", "--find"], ["trial", "--csv", "no-such.csv", "--find"],
        ["wood", "--air", "21C"], ["wood", "--rh", "50%"], ["wood"], [*WOOD, "--place", "shop"],
        [*WOOD, "--csv", "x.csv"], ["wood", "--air", "21", "--rh", "50%"], ["wood", "--air", "21C", "--rh", "0.5"],
        ["wood", "--air", "21C", "--rh", "97%"], ["wood", "--air", "-5C", "--rh", "50%"],
    ],
    ids=lambda wrong: " ".join(wrong[-3:]),
)  # fmt: skip
def test_a_mistake_is_one_line_and_exit_2(capsys, wrong):
    assert run(wrong) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert len(said.err.splitlines()) == 1


@given(st.text(max_size=20), st.sampled_from(["--started", "--minutes", "--outdoors", "--outdoors-rh", "--zone"]))
@settings(max_examples=examples(20))
def test_no_text_breaks_an_option_of_the_trial(capsys, text, option):
    assert run([*STARTED, f"{option}={text}"]) in (0, 2, 3)
    assert len(capsys.readouterr().err.splitlines()) <= 1


@given(st.text(max_size=20), st.sampled_from(["--air", "--rh", "--place", "--zone"]))
@settings(max_examples=examples(40))
def test_no_text_breaks_an_option_of_wood(capsys, text, option):
    assert run([*WOOD, f"{option}={text}"]) in (0, 2)
    assert len(capsys.readouterr().err.splitlines()) <= 1


def test_wood_of_typed_air(capsys):
    code, found = record(capsys, *WOOD)
    assert code == 0
    assert found["moisture_content"] == pytest.approx(0.092, abs=0.001)
    assert (found["schema"], found["log_seconds"], found["cannot_tell"]) == (1, None, False)


def month(path, days, start):
    """A reading an hour for so many days."""
    rows = ["time,place,air_temperature_c,relative_humidity_pct"]
    for hour in range(int(days * 24) + 1):
        at = (start + timedelta(hours=hour)).isoformat()
        rows.append(f"{at},shop,{20.0 + hour % 3},{48.0 + hour % 5}")
    path.write_text("\n".join(rows) + "\n", encoding="utf-8")
    return path


@pytest.mark.parametrize(("days", "code"), [(13, 3), (30, 0)])
def test_wood_of_a_file_and_of_the_logbook_agree(capsys, tmp_path, days, code):
    file = month(tmp_path / "month.csv", days, datetime(2025, 9, 1, tzinfo=UTC))
    config = tmp_path / "advisor.toml"
    config.write_text('coatings = ["shellac"]\nlogbook = "log/logbook.db"\n', encoding="utf-8")
    assert run(["import", str(file), "--config", str(config)]) == 0
    capsys.readouterr()
    from_file, from_log = record(capsys, "wood", "--csv", str(file)), record(capsys, "wood", "--config", str(config))
    assert from_file[0] == from_log[0] == code
    assert from_file[1]["moisture_content"] == from_log[1]["moisture_content"]
    assert run(["wood", "--csv", str(file)]) == code
    assert ("28 days of log" in capsys.readouterr().out) == (code == 0)


def test_the_logbook_gives_the_same_trial_as_the_file(capsys, tmp_path):
    config = tmp_path / "advisor.toml"
    config.write_text('coatings = ["shellac"]\nlogbook = "log/logbook.db"\n', encoding="utf-8")
    assert run(["import", str(FIXTURES / "winter-door.csv"), "--config", str(config)]) == 0
    capsys.readouterr()
    _, of_file = record(capsys, *STARTED)
    code, of_log = record(capsys, "trial", "--config", str(config), "--started", "2026-01-20T14:00Z")
    assert code == 0
    assert of_log["fan_flow"] == of_file["fan_flow"]
    assert record(capsys, "trial", "--config", str(config), "--find")[1]["fan_flow"] == of_file["fan_flow"]
