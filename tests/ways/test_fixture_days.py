"""The seven invented days: made again byte for byte, and judged as their answers say."""

import csv
import statistics
import subprocess
import sys
from datetime import timedelta

import pytest

from advisor.catalog.coatings import coating_ids
from advisor.catalog.limits import standings
from advisor.judge.verdict import EXIT_CANNOT_TELL, EXIT_GO, EXIT_WAIT, State, worst_findings
from tests.support import FIXTURES, ROOT, answers, fixture_verdict, local

RULES = {rule for rule, _ in standings()}
ANSWERS = [(name, answer) for name, day in answers().items() for answer in day.get("answer", [])]
TURNS = [(name, turn) for name, day in answers().items() for turn in day.get("turn", [])]


def because(verdict) -> str:
    """The rule that decides, or why the reading does not count."""
    worst = worst_findings(verdict)
    if not worst:
        return ""
    return worst[0].reason if verdict.cannot_tell else worst[0].rule


def titled(case) -> str:
    name, entry = case
    return f"{name}-{entry['at']}-{entry['coating']}"


def test_the_days_are_made_again_byte_for_byte(tmp_path):
    subprocess.run([sys.executable, str(FIXTURES / "make.py"), str(tmp_path)], check=True, cwd=ROOT)
    made = sorted(path.name for path in tmp_path.iterdir())
    assert made == sorted(f"{name}.{ending}" for name in answers() for ending in ("csv", "jsonl"))
    for name in made:
        assert (tmp_path / name).read_bytes() == (FIXTURES / name).read_bytes(), name


@pytest.mark.parametrize("case", ANSWERS, ids=titled)
def test_each_day_gives_its_stated_answers(case):
    name, answer = case
    coatings = coating_ids() if answer["coating"] == "*" else (answer["coating"],)
    for coating in coatings:
        verdict = fixture_verdict(name, local(name, answer["at"]), coating)
        assert verdict.state == answer["state"]
        assert because(verdict) == answer.get("because", "")
        known = answer.get("because") in RULES
        expected = EXIT_GO if verdict.state is not State.WAIT else EXIT_WAIT if known else EXIT_CANNOT_TELL
        assert verdict.exit_code == expected


@pytest.mark.parametrize("case", TURNS, ids=titled)
def test_each_day_turns_at_its_stated_minute(case):
    name, turn = case
    when = local(name, turn["at"])
    now, before = (fixture_verdict(name, moment, turn["coating"]) for moment in (when, when - timedelta(minutes=1)))
    assert now.state == turn["state"]
    assert because(now) == turn.get("because", "")
    assert (before.state, because(before)) != (now.state, because(now))


def test_the_dusty_shop_is_clean_at_its_stated_minute():
    with (FIXTURES / "dusty-clean-down.csv").open() as stream:
        rows = [row for row in csv.DictReader(stream) if row["place"] == "shop"]
    counts = {row["time"][11:16]: float(row["particles_5um_per_m3"]) for row in rows}
    baseline = statistics.median(count for clock, count in counts.items() if clock < "08:30")
    clean = answers()["dusty-clean-down"]["clean_from"]
    after = [count for clock, count in counts.items() if clock >= clean]
    before = [counts[f"10:{minute}"] for minute in range(30, int(clean[3:]))]
    assert statistics.median(after[:10]) < 1.5 * baseline
    assert statistics.median(before) > 1.5 * baseline
