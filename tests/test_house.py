"""The house: floors, one place for each outside thing, small files and folders, lazy imports, no network."""

import ast
import socket
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from functools import cache
from graphlib import TopologicalSorter
from pathlib import Path

import grimp
import pytest
from importlinter.cli import lint_imports
from pytest_socket import SocketConnectBlockedError

from tests.support import ROOT, every

SOURCES = sorted((ROOT / "advisor").rglob("*.py"))
PYTHON_FILES = [*SOURCES, *sorted((ROOT / "tests").rglob("*.py"))]
MOST_FILES, MOST_LINES = 12, 300  # in a folder; in a file


@cache
def tree(path: Path) -> ast.Module:
    return ast.parse(path.read_text("utf-8"))


def room(path: Path) -> str:
    return path.relative_to(ROOT / "advisor").parts[0]


def test_a_room_imports_only_what_stands_below_it(monkeypatch):
    """The floors and the single owners stand in pyproject.toml under importlinter."""
    monkeypatch.chdir(ROOT)
    assert lint_imports(config_filename="pyproject.toml", no_cache=True) == 0


def test_every_room_stands_in_the_floors():
    """A new room must be given its floor."""
    contracts = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["tool"]["importlinter"]["contracts"]
    floors = {name.strip().split(".")[1] for layer in contracts[0]["layers"] for name in layer.split("|")}
    rooms = {path.parent.name for path in (ROOT / "advisor").glob("*/__init__.py")}
    assert rooms <= floors


def test_no_modules_import_each_other_in_a_circle():
    """Imports inside functions count too; those for the type checker alone do not."""
    graph = grimp.build_graph("advisor", exclude_type_checking_imports=True, cache_dir=None)
    imports = {name: graph.find_modules_directly_imported_by(name) - {"advisor"} for name in graph.modules}
    TopologicalSorter(imports).prepare()  # a CycleError names the circle


def test_a_folder_holds_twelve_files_at_most():
    folders: dict[Path, int] = {}
    for path in PYTHON_FILES:
        if path.name not in ("__init__.py", "conftest.py"):
            folders[path.parent] = folders.get(path.parent, 0) + 1
    assert {str(folder.relative_to(ROOT)): count for folder, count in folders.items() if count > MOST_FILES} == {}


def test_a_file_stays_under_three_hundred_lines():
    lines = {str(path.relative_to(ROOT)): len(path.read_text("utf-8").splitlines()) for path in PYTHON_FILES}
    assert {path: count for path, count in lines.items() if count > MOST_LINES} == {}


@every("path", SOURCES)
def test_a_room_says_first_what_it_holds(path):
    if path.name == "__init__.py":
        assert path.read_text("utf-8").startswith('"""')


def grown(module: ast.Module) -> Iterator[str]:
    """Names at module level that begin empty, so that only a running program fills them."""
    for node in module.body:
        value = getattr(node, "value", None)
        if isinstance(node, ast.Assign | ast.AnnAssign) and value is not None:
            literal = isinstance(value, ast.Dict | ast.List) and not ast.unparse(value).strip("{}[]")
            called = isinstance(value, ast.Call) and not value.args and not value.keywords
            if literal or (called and ast.unparse(value.func).endswith(("dict", "Dict", "Dictionary", "list", "set"))):
                yield ast.unparse(node)


def kept_answers(module: ast.Module) -> Iterator[str]:
    """Functions whose answers are kept by their arguments: kept as long as the program runs, whoever asked."""
    for node in ast.walk(module):
        if isinstance(node, ast.FunctionDef) and (node.args.args or node.args.kwonlyargs):
            names = {ast.unparse(mark).split("(")[0].rpartition(".")[2] for mark in node.decorator_list}
            if names & {"cache", "lru_cache"}:
                yield node.name


@every("path", SOURCES)
def test_no_module_keeps_what_it_computed(path):
    """Shipped tables may be kept: a loader without arguments, or one of the catalog. Else who needs it owns it."""
    kept = list(grown(tree(path)))
    if room(path) != "catalog":
        kept += kept_answers(tree(path))
    assert kept == []


@every("path", SOURCES)
def test_the_clock_is_read_only_where_a_person_asks(path):
    calls = [
        node.func.attr
        for node in ast.walk(tree(path))
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute)
    ]
    if room(path) not in ("cli", "watch"):
        assert not {"now", "utcnow", "today"} & set(calls)


@every("path", SOURCES)
def test_what_computes_opens_no_file_and_prints_nothing(path):
    if room(path) not in (
        "cli",
        "watch",
        "desk",
        "review",
        "sources",
        "logbook",
        "readings",
        "shop",
        "catalog",
        "files.py",
    ):
        names = {node.id for node in ast.walk(tree(path)) if isinstance(node, ast.Name)}
        assert not {"open", "print", "Path", "environ"} & names


@every("path", sorted((ROOT / "advisor" / "desk").rglob("*.py")))
def test_what_a_person_does_prints_nothing(path):
    assert "print" not in {
        node.id for node in ast.walk(ast.parse(path.read_text("utf-8"))) if isinstance(node, ast.Name)
    }


@every("path", SOURCES)
def test_sql_stands_in_the_logbook_only(path):
    if room(path) != "logbook":
        text = path.read_text("utf-8")
        assert not any(word in text for word in ("SELECT ", "INSERT ", "UPDATE ", "DELETE FROM", "PRAGMA "))


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


def test_the_list_of_commands_needs_no_numpy():
    for arguments in (["--help"], ["job", "--help"], ["--version"]):
        assert not modules_after(*arguments) & {"numpy", "pandas", "rich"}


def test_no_test_reaches_beyond_this_machine():
    """192.0.2.1 is reserved for documentation (RFC 5737): nothing is there, and nothing is asked."""
    probe = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    with probe, pytest.warns(UserWarning, match="192.0.2.1"), pytest.raises(SocketConnectBlockedError):
        probe.connect(("192.0.2.1", 80))
