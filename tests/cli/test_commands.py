"""The list of commands: known by its rows, imported one by one, called as it says."""

import subprocess
import sys
import tomllib

import pytest

from advisor.cli.app import run
from advisor.cli.commands import COMMANDS
from tests.support import ROOT

VERSION = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]["version"]


@pytest.mark.parametrize("words", [["--version"], ["version"]], ids=" ".join)
def test_the_version_is_that_of_the_package(words, capsys):
    assert run(words) == 0
    assert capsys.readouterr().out == f"{VERSION}\n"


def test_a_command_is_imported_when_it_is_called_and_no_other():
    code = (
        "import sys; from advisor.cli.app import run; "
        "run(['job', '--help']); seen = {name for name in sys.modules if name.startswith('advisor.cli')}; "
        "run(['learn', '--help']); more = {name for name in sys.modules if name.startswith('advisor.cli')}; "
        "print(sorted(seen), sorted(more - seen), file=sys.stderr)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, timeout=60)
    before, _, after = done.stderr.partition("] [")
    assert "learn" not in before
    assert "job" not in before
    assert "learn" in after
    assert "mix" not in after


@pytest.mark.parametrize("row", COMMANDS, ids=lambda row: f"{row[0]} {row[1]}".strip())
def test_every_row_names_a_function_that_answers_it(row, capsys):
    of, name, _, summary = row
    assert run([*([of] if of else []), name, "--help"]) == 0
    assert " ".join(summary.split()) in " ".join(capsys.readouterr().out.split())


@pytest.mark.parametrize("group", ["", "config", "job", "plan"])
def test_help_lists_every_command_of_a_group_with_what_it_is_for(group, capsys, monkeypatch):
    monkeypatch.setenv("COLUMNS", "160")
    assert run([*([group] if group else []), "--help"]) == 0
    out = capsys.readouterr().out
    for of, name, _, summary in COMMANDS:
        if of == group:
            assert any(line.split()[:1] == [name] and summary[:20] in line for line in out.splitlines()), name


@pytest.mark.parametrize("words", [["nonsense"], ["job", "nonsense"], ["job"], []], ids=" ".join)
def test_what_is_no_command_is_an_error_in_what_was_given(words, capsys):
    assert run(words) == 2
    assert capsys.readouterr().err
