"""The house: floors, one place for each outside thing, small files, lazy imports, no network."""

import ast
import socket
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest
from importlinter.cli import lint_imports
from pytest_socket import SocketConnectBlockedError

from tests.support import ROOT

SOURCES = sorted((ROOT / "advisor").rglob("*.py"))
PYTHON_FILES = [*SOURCES, *sorted((ROOT / "tests").rglob("*.py")), *sorted((ROOT / "sensor_fixtures").glob("*.py"))]


def named(path: Path) -> str:
    return str(path.relative_to(ROOT))


def test_a_room_imports_only_what_stands_below_it(monkeypatch):
    """The floors and the single owners stand in pyproject.toml under importlinter."""
    monkeypatch.chdir(ROOT)
    assert lint_imports(config_filename="pyproject.toml", no_cache=True) == 0


def test_every_room_stands_in_the_floors():
    """A new room must be given its floor."""
    contracts = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["tool"]["importlinter"]["contracts"]
    floors = {name.strip().removeprefix("advisor.") for layer in contracts[0]["layers"] for name in layer.split("|")}
    rooms = {path.name for path in (ROOT / "advisor").iterdir() if path.is_dir() and path.name != "__pycache__"}
    assert rooms == floors


@pytest.mark.parametrize("path", SOURCES, ids=named)
def test_the_clock_is_read_only_where_a_person_asks(path):
    calls = [
        node.func.attr
        for node in ast.walk(ast.parse(path.read_text("utf-8")))
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute)
    ]
    if path.relative_to(ROOT / "advisor").parts[0] not in ("cli", "watch"):
        assert not {"now", "utcnow", "today"} & set(calls)


@pytest.mark.parametrize("path", SOURCES, ids=named)
def test_physics_and_advice_open_no_file_and_print_nothing(path):
    if path.relative_to(ROOT / "advisor").parts[0] in ("physics", "advice"):
        tree = ast.parse(path.read_text("utf-8"))
        names = {node.id for node in ast.walk(tree) if isinstance(node, ast.Name)}
        assert not {"open", "print", "Path", "environ"} & names


@pytest.mark.parametrize("path", sorted((ROOT / "advisor" / "desk").rglob("*.py")), ids=named)
def test_what_a_person_does_prints_nothing(path):
    assert "print" not in {
        node.id for node in ast.walk(ast.parse(path.read_text("utf-8"))) if isinstance(node, ast.Name)
    }


@pytest.mark.parametrize("path", SOURCES, ids=named)
def test_sql_stands_in_the_logbook_only(path):
    if path.relative_to(ROOT / "advisor").parts[0] != "logbook":
        text = path.read_text("utf-8")
        assert not any(word in text for word in ("SELECT ", "INSERT ", "UPDATE ", "DELETE FROM", "PRAGMA "))


@pytest.mark.parametrize("path", PYTHON_FILES, ids=named)
def test_a_file_stays_under_500_lines(path):
    assert len(path.read_text("utf-8").splitlines()) <= 500


def modules_after(*arguments: str) -> set[str]:
    """Top-level modules loaded once a command has run, in a fresh process."""
    code = (
        "import sys; from advisor.cli.app import run; "
        f"code = run({list(arguments)!r}); "
        "print('\\n'.join(sorted({name.split('.')[0] for name in sys.modules})), file=sys.stderr)"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=ROOT / "tests", timeout=60
    )
    return set(done.stderr.split())


def test_a_typed_check_loads_nothing_heavy():
    loaded = modules_after("check", "--air", "24C", "--rh", "62%", "--coating", "shellac")
    assert not loaded & {"pandas", "scipy", "matplotlib", "apprise", "paho", "rich", "psychrolib", "pint"}
    assert "numpy" in loaded


def test_help_needs_no_numpy():
    for arguments in (["--help"], ["check", "--help"]):
        assert not modules_after(*arguments) & {"numpy", "pandas", "rich"}


def test_no_test_reaches_beyond_this_machine():
    """192.0.2.1 is reserved for documentation (RFC 5737): nothing is there, and nothing is asked."""
    probe = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    with probe, pytest.warns(UserWarning, match="192.0.2.1"), pytest.raises(SocketConnectBlockedError):
        probe.connect(("192.0.2.1", 80))
