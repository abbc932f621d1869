"""`advisor outlook` as it is typed, and a log for it in which every day is like the last."""

import json
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest

from advisor.cli.app import run

START = datetime(2025, 6, 1, tzinfo=UTC)

CLEAR = ["--coating", "waterborne-clear-2k"]


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
