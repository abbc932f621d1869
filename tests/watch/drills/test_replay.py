"""A recorded day through the whole daemon gives exactly the notices its answers list, from CSV and from a capture."""

import json
import tomllib
from datetime import UTC, datetime

import pytest

from advisor.cli.app import run
from advisor.notices.announced import Notice
from advisor.shop.config import read_config
from advisor.times import moment_of
from advisor.watch.replay import replay
from tests.support import FIXTURES, LONDON, ROOT, answers

SHOP = read_config(ROOT / "configs" / "boathouse.toml").shop
COATINGS = tuple(tomllib.loads((FIXTURES / "answers.toml").read_text("utf-8"))["replayed_coatings"])


def line(told: Notice) -> str:
    return f"{moment_of(told.at).astimezone(LONDON):%H:%M} {told.state} {told.coating} {told.reason}".strip()


DAYS = [(name, "csv") for name in sorted(answers())] + [("sensor-faults", "jsonl")]


@pytest.mark.slow
@pytest.mark.parametrize(("name", "ending"), DAYS)
def test_a_day_tells_exactly_what_its_answers_list(name, ending):
    told: list[str] = []
    replay(FIXTURES / f"{name}.{ending}", SHOP, COATINGS, lambda notice, _: told.append(line(notice)))
    assert told == answers()[name]["notices"]


@pytest.mark.slow
def test_the_command_prints_one_json_line_a_notice(capsys, tmp_path, monkeypatch):
    config = tmp_path / "advisor.toml"
    config.write_text('coatings = ["nitrocellulose-lacquer"]\nzone = "Europe/London"')
    file = FIXTURES / "humid-evening.csv"
    assert run(["watch", "--config", str(config), "--replay", str(file), "--json"]) == 0
    entries = [json.loads(entry) for entry in capsys.readouterr().out.splitlines()]
    assert [entry["state"] for entry in entries] == ["change", "go", "change", "wait"]
    assert {entry["coating"] for entry in entries} == {"nitrocellulose-lacquer"}
    assert [entry["reason"] for entry in entries] == ["session", "", "relative_humidity", "relative_humidity"]
    assert entries[3]["at"] == "2025-08-26T18:01:00Z"


def test_a_speed_is_kept(tmp_path):
    """Ten minutes of log at 3000 times real time take about 0.2 s, not none and not minutes."""
    import time  # noqa: PLC0415 - only here

    file = tmp_path / "log.csv"
    rows = [f"2025-10-14T10:{minute:02d}:00Z,21,48" for minute in range(10)]
    file.write_text("time,air_temperature_c,relative_humidity_pct\n" + "\n".join(rows) + "\n")
    start = time.monotonic()
    ticks = replay(file, SHOP, COATINGS, lambda notice, text: None, speed=3000)
    assert ticks == 10
    assert time.monotonic() - start >= 9 * 60 / 3000


@pytest.mark.parametrize(
    ("content", "name"),
    [(b"", "x.csv"), (b"time,air_temperature_c\n", "x.csv"), (b"", "x.jsonl"), (b"\x00\xff", "x.csv")],
)
def test_a_file_without_readings_is_one_line(capsys, tmp_path, content, name):
    file = tmp_path / name
    file.write_bytes(content)
    assert run(["watch", "--replay", str(file)]) == 2
    assert capsys.readouterr().err.count("\n") == 1


def test_odd_capture_lines_are_kept_as_rejects_and_stop_nothing(tmp_path):
    good = {
        "time": "2025-10-14T10:00:00Z",
        "topic": "boathouse/shelf",
        "payload": '{"temperature": 21, "humidity": 48}',
    }
    odd = ["[]", "{", '{"time": 3}', "null", '{"time": "2025-10-14T10:00:00Z", "topic": 1, "payload": "x"}', "[" * 3000]
    file = tmp_path / "x.jsonl"
    file.write_text("\n".join([json.dumps(good), *odd, json.dumps({**good, "time": "2025-10-14T10:01:00Z"})]) + "\n")
    assert replay(file, SHOP, COATINGS, lambda notice, text: None) == 2


def test_a_row_of_2098_does_not_keep_a_replay_ticking_till_then(tmp_path):
    rows = ["2025-10-14T10:00Z,21,48", "2098-07-01T00:00Z,,", "2025-10-14T10:01Z,21,48"]
    file = tmp_path / "log.csv"
    file.write_text("time,air_temperature_c,relative_humidity_pct\n" + "\n".join(rows) + "\n")
    assert replay(file, SHOP, COATINGS, lambda notice, text: None, until=datetime(2026, 1, 1, tzinfo=UTC)) == 2
