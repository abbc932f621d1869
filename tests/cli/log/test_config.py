"""`advisor config check` says what the file holds and names every default."""

import pytest

from advisor.cli.app import run
from tests.support import ROOT


@pytest.mark.parametrize("name", ["minimal", "boathouse"])
def test_an_example_is_in_order(capsys, name):
    assert run(["config", "check", "--config", str(ROOT / "configs" / f"{name}.toml")]) == 0
    text = capsys.readouterr().out
    assert "is in order" in text
    assert "nitrocellulose-lacquer" in text


def test_every_default_is_named(capsys):
    run(["config", "check", "--config", str(ROOT / "configs" / "minimal.toml")])
    lines = capsys.readouterr().out.splitlines()[1:]
    assert all("(default: " in line for line in lines if not line.startswith("coatings"))


def test_a_stated_field_is_no_default(capsys):
    run(["config", "check", "--config", str(ROOT / "configs" / "boathouse.toml")])
    assert "default" not in capsys.readouterr().out


def test_a_slip_is_one_line_with_its_path(capsys, tmp_path):
    file = tmp_path / "advisor.toml"
    file.write_text('coatings = ["shellac"]\n[room]\nvolum = "90 m3"')
    assert run(["config", "check", "--config", str(file)]) == 2
    err = capsys.readouterr().err
    assert "room: unknown key 'volum'; did you mean volume?" in err
    assert err.count("\n") == 1


def test_no_file_at_all_says_where_to_start(capsys, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path))
    monkeypatch.delenv("ADVISOR_CONFIG", raising=False)
    assert run(["config", "check"]) == 2
    assert "configs/minimal.toml" in capsys.readouterr().err
