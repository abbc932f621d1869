"""Sixty damaged copies of a logbook: for every command one line and exit code 2, or the answer of the whole one."""

import importlib
import pkgutil
import random
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import pytest

import advisor.cli
from advisor.cli.app import run
from advisor.watch.service import Service
from tests.support import FIXTURES

NOW = datetime(2025, 9, 18, 20, 59, 30, tzinfo=UTC)  # just after the good day's last readings
COATING = "nitrocellulose-lacquer"
KEPT = (  # what fills the logbook
    ["import", str(FIXTURES / "good-day.csv")],
    ["calibrate", "--sensor", "shelf", "--reading", "NaCl 73% 22C"],
    ["import", str(FIXTURES / "humid-evening.csv")],
    ["job", "new", "lid"],
    ["job", "coat", "lid", "--coating", COATING, "--start", "2025-09-18T12:05Z"],
    ["job", "saw", "blush", "lid", "--at", "2025-09-18T18:05Z"],
    ["plan", "add", "--at", "2025-09-19T15:00", "--coating", "shellac"],
    [
        "mix",
        "--coating",
        COATING,
        "--cup",
        "DIN 4",
        "--seconds",
        "30",
        "--material",
        "20C",
        "--batch",
        "500ml",
        "--keep",
    ],
)
ASKED = (  # what reads it, or writes to it
    ["watch"],
    ["check"],
    ["check", "--coating", COATING, "--json"],
    ["check", "--job", "lid"],
    ["readings"],
    ["readings", "--csv"],
    ["readings", "--json"],
    ["outlook"],
    ["cure", "--coating", COATING, "--sprayed", "2025-09-18T12:05Z"],
    ["trial", "--find"],
    ["wood"],
    ["review", "--job", "lid"],
    ["learn"],
    ["plan", "list"],
    ["job", "list"],
    ["job", "show", "lid"],
    ["job", "clock", "lid"],
    ["job", "saw", "good", "lid"],
    ["plan", "drop", "1"],
    ["import", str(FIXTURES / "cold-morning.csv")],
    ["calibrate", "--sensor", "shelf", "--reading", "NaCl 74% 22C"],
)


@pytest.fixture
def shop(tmp_path, monkeypatch, capsys) -> Path:
    """A configuration with a well-filled logbook, at a moment that stands still."""
    for found in pkgutil.walk_packages(advisor.cli.__path__, "advisor.cli."):
        module = importlib.import_module(found.name)
        if hasattr(module, "datetime"):
            monkeypatch.setattr(module, "datetime", Still)
    monkeypatch.setattr(Service, "run", opened_and_left)
    monkeypatch.setenv("COLUMNS", "80")
    file = tmp_path / "advisor.toml"
    file.write_text(
        f'coatings = ["{COATING}"]\nlogbook = "log.db"\nzone = "Europe/London"\n[[sensors]]\nname = "shelf"\n',
        encoding="utf-8",
    )
    for words in KEPT:
        assert run([*words, "--config", str(file)]) == 0, words
    capsys.readouterr()
    return file


def opened_and_left(service: Service) -> bool:
    """What a daemon does that is asked to stop at once."""
    for connection in (service.reading, service.sending, service.connection):
        connection.close()
    service.lock.let_go()
    return False


class Still(datetime):
    """A clock that stands."""

    @classmethod
    def now(cls, tz=None):
        """Always the same."""
        return NOW


def damages() -> list[tuple[str, Callable[[bytearray], bytearray]]]:
    """Ten each of six kinds, the same ones in every run."""

    def header(data: bytearray, dice: random.Random) -> bytearray:
        data[dice.randrange(100)] ^= 1 << dice.randrange(8)
        data[dice.randrange(100)] = dice.randrange(256)
        return data

    def cut(data: bytearray, dice: random.Random) -> bytearray:
        return data[: dice.choice([dice.randrange(len(data)), 4096 * dice.randrange(1, len(data) // 4096)])]

    def zeroed(data: bytearray, dice: random.Random) -> bytearray:
        page = dice.randrange(len(data) // 4096)
        data[page * 4096 : (page + 1) * 4096] = bytes(4096)
        return data

    def flipped(data: bytearray, dice: random.Random) -> bytearray:
        for _ in range(20):
            data[dice.randrange(len(data))] ^= 1 << dice.randrange(8)
        return data

    def noise(data: bytearray, dice: random.Random) -> bytearray:
        sector = dice.randrange(len(data) // 512)
        data[sector * 512 : (sector + 1) * 512] = dice.randbytes(512)
        return data

    def misplaced(data: bytearray, dice: random.Random) -> bytearray:
        one, other = (dice.randrange(len(data) // 4096) * 4096 for _ in range(2))
        data[one : one + 4096] = data[other : other + 4096]
        return data

    return [
        (f"{kind.__name__} {number}", lambda data, kind=kind, number=number: kind(data, random.Random(number)))
        for kind in (header, cut, zeroed, flipped, noise, misplaced)
        for number in range(10)
    ]


@pytest.mark.full
def test_every_command_on_sixty_damaged_copies_says_so_in_one_line_or_answers_right(shop, capsys):
    """The daemon's start and `check` on each copy, of the other commands a fourth."""
    path = shop.with_name("log.db")
    whole = path.read_bytes()

    def asked(words: list[str], content: bytes) -> tuple[int, str, str]:
        for end in ("-wal", "-shm"):
            path.with_name(f"log.db{end}").unlink(missing_ok=True)
        path.unlink()
        path.write_bytes(content)
        code = run([*words, "--config", str(shop)])
        return code, *capsys.readouterr()

    right = {tuple(words): asked(words, whole) for words in ASKED}
    assert {code for code, *_ in right.values()} <= {0, 1, 3}
    assert right["check",][0] == 0, "a GO, which a damaged file must not keep up by chance"
    refused = 0
    for number, (name, damage) in enumerate(damages()):
        content = bytes(damage(bytearray(whole)))
        for words in (*ASKED[:2], *ASKED[2 + number % 4 :: 4]):
            code, _, told = answer = asked(words, content)
            if code == 2:
                assert told.count("\n") == 1, (name, words, answer)
                assert "logbook" in told, (name, words, answer)
                assert path.read_bytes() == content, "nothing is silently repaired"
                refused += 1
            else:
                assert answer == right[tuple(words)], (name, words)
    assert refused > 250
