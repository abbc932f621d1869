"""`advisor check` as it is typed, and a file of readings for it."""

from datetime import UTC, datetime, timedelta
from pathlib import Path

from advisor.cli.app import run
from tests.support import FIXTURES

GOOD = FIXTURES / "good-day.csv"

HEADER = "time,air_temperature_c,relative_humidity_pct\n"


def check(capsys, *arguments: str | Path) -> tuple[int, str, str]:
    code = run(["check", *map(str, arguments)])
    out, err = capsys.readouterr()
    assert "Traceback" not in out + err
    return code, out, err


def stamp(minutes_ago: float = 0.0) -> str:
    return (datetime.now(UTC) - timedelta(minutes=minutes_ago)).strftime("%Y-%m-%dT%H:%M:%SZ")


def log(path: Path, *rows: str, header: str = HEADER, end: str = "\n") -> Path:
    file = path / "log.csv"
    file.write_text(header + "\n".join(rows) + end, encoding="utf-8")
    return file
