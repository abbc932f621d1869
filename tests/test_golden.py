"""The screens word for word: every command in tests/golden/*.txt prints what stands under it, with its exit code.

A file is `$ advisor ...` lines with the output below; clock times that hang on the hour of the run are dots. `--golden`
writes what is printed now; what changed is read in the diff.
"""

import re
import shlex
from pathlib import Path

import pytest

from advisor.cli.app import run
from tests.support import ROOT

CLOCK = re.compile(r"\b\d\d:\d\d( UTC)?\b( \+1 d)?")
SCREENS = sorted((ROOT / "tests" / "golden").glob("*.txt"))


@pytest.mark.parametrize("screen", SCREENS, ids=lambda screen: screen.stem)
def test_a_screen_is_word_for_word_what_it_was(screen: Path, no_config, monkeypatch, capsys, request):
    monkeypatch.chdir(ROOT)
    written = screen.read_text("utf-8")
    printed = []
    for line in written.splitlines():
        if line.startswith("$ advisor "):
            code = run(shlex.split(line)[2:])
            out = "".join(capsys.readouterr())
            if " --at " not in line:
                out = CLOCK.sub("..:..", out)
            printed.append(f"{line}\n{out}[exit {code}]\n")
    now = "\n".join(printed)
    if request.config.getoption("--golden"):
        screen.write_text(now, encoding="utf-8")
    else:
        assert now == written
    assert printed
