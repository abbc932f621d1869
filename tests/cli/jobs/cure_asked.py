"""`advisor cure` as it is typed, and a night of readings for it."""

import json
from datetime import UTC, datetime, timedelta
from pathlib import Path

from advisor.cli.app import run
from tests.support import FIXTURES

COLD = FIXTURES / "cold-morning.csv"

SPRAYED = datetime(2025, 10, 14, 16, 0, tzinfo=UTC)

POLYURETHANE = ["--coating", "solvent-polyurethane-2k", "--sprayed", "2025-11-04T07:00Z"]


def ask(capsys, *arguments: str | Path) -> tuple[int, str, str]:
    code = run(["cure", *map(str, arguments)])
    out, err = capsys.readouterr()
    assert "Traceback" not in out + err
    return code, out, err


def record(capsys, *arguments: str | Path) -> tuple[int, dict]:
    code, out, _ = ask(capsys, *arguments, "--json")
    return code, json.loads(out)


def iso(moment: datetime) -> str:
    return moment.isoformat().replace("+00:00", "Z")


def night(path: Path, *points: tuple[float, float], start: datetime = SPRAYED) -> Path:
    """A file of a reading every 5 minutes on straight lines between (hours, °C), wavering by a tenth as air does."""
    rows = ["time,air_temperature_c,relative_humidity_pct"]
    for minute in range(0, round(points[-1][0] * 60) + 1, 5):
        hour = minute / 60
        for (before, first), (after, second) in zip(points, points[1:], strict=False):  # noqa: RUF007 - pairs of points
            if before <= hour <= after:
                celsius = first + (second - first) * (hour - before) / (after - before)
                break
        waver = 0.05 if minute % 10 else -0.05
        rows.append(f"{iso(start + timedelta(minutes=minute))},{celsius + waver:.2f},{50 + 10 * waver:.1f}")
    file = path / "night.csv"
    file.write_text("\n".join(rows) + "\n", encoding="utf-8")
    return file


def stage(found: dict, name: str) -> dict:
    return next(each for each in found["stages"] if each["stage"] == name)
