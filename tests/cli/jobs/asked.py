"""`advisor job` as it is typed."""

import json
from datetime import UTC, datetime, timedelta

from advisor.cli.app import run

CONFIG = 'coatings = ["waterborne-sealer"]\nlogbook = "log.db"\nzone = "UTC"\n[[sensors]]\nname = "shelf"\n'


def now() -> datetime:
    return datetime.now(UTC)


def iso(moment: datetime) -> str:
    return moment.strftime("%Y-%m-%dT%H:%M:%SZ")


def ago(**span: float) -> str:
    return iso(now() - timedelta(**span))


def ask(capsys, *words: str) -> tuple[int, str, str]:
    code = run(["job", *words])
    out, err = capsys.readouterr()
    assert "Traceback" not in out + err
    return code, out, err


def did(capsys, *words: str) -> str:
    """What was said of something that must go well, in one line."""
    code, out, err = ask(capsys, *words)
    assert (code, err) == (0, "")
    assert "--json" in words or all(len(line) <= 80 for line in out.splitlines())
    return " ".join(out.split())


def record(capsys, *words: str) -> dict:
    return json.loads(did(capsys, *words, "--json"))


def coats(capsys, *words: str) -> list[dict]:
    return record(capsys, "show", *words)["coats"]


def refused(capsys, *words: str) -> str:
    code, out, err = ask(capsys, *words)
    assert (code, out) == (2, "")
    assert len(err.splitlines()) == 1
    return err
