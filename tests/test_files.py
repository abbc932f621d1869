"""Every file of ours is written whole or not at all, and never through a symbolic link."""

import ast
import os

import pytest

from advisor.cli.app import run
from advisor.files import replacing
from advisor.logbook.store import open_for_writing
from tests.support import FIXTURES, NOON, ROOT

REVIEW = [
    *("review", "--csv", str(FIXTURES / "humid-evening.csv"), "--coating", "nitrocellulose-lacquer"),
    *("--sprayed", "2025-08-26T20:30", "--zone", "Europe/London", "--place", "shop", "--defect", "blush"),
]
FILM = ["film", "--air", "24C", "--rh", "62%", "--coating", "nitrocellulose-lacquer"]
COMMANDS = [
    (REVIEW, "--html", "a.html"), (REVIEW, "--png", "a.png"), (REVIEW, "--export", "a.csv"), (FILM, "--plot", "a.svg"),
]  # fmt: skip


def put(path, text: str = "new") -> None:
    with replacing(path) as beside:
        beside.write_text(text)


def test_a_new_file_has_the_rights_of_any_other_and_one_that_is_replaced_keeps_its_own(tmp_path):
    (tmp_path / "other").write_text("x")
    put(tmp_path / "a.html")
    assert (tmp_path / "a.html").stat().st_mode == (tmp_path / "other").stat().st_mode
    (tmp_path / "a.html").chmod(0o606)
    put(tmp_path / "a.html", "newer")
    assert (tmp_path / "a.html").read_text() == "newer"
    assert (tmp_path / "a.html").stat().st_mode & 0o777 == 0o606


def test_what_fails_on_the_way_leaves_the_old_file_whole_and_nothing_beside_it(tmp_path):
    put(tmp_path / "a.html", "old")
    with pytest.raises(RuntimeError), replacing(tmp_path / "a.html") as beside:
        beside.write_text("half")
        raise RuntimeError
    assert (tmp_path / "a.html").read_text() == "old"
    assert os.listdir(tmp_path) == ["a.html"]


def test_another_name_of_a_file_keeps_what_it_had(tmp_path):
    (tmp_path / "mine").write_text("kept")
    os.link(tmp_path / "mine", tmp_path / "a.html")
    put(tmp_path / "a.html")
    assert (tmp_path / "mine").read_text() == "kept"


@pytest.mark.parametrize("kind", ["link", "dangling link", "folder", "pipe"])
def test_what_is_no_plain_file_is_left_alone(tmp_path, kind):
    path, target = tmp_path / "a.html", tmp_path / "target"
    if kind == "folder":
        path.mkdir()
    elif kind == "pipe":
        os.mkfifo(path)
    else:
        path.symlink_to(target)
        if kind == "link":
            target.write_text("kept")
    with pytest.raises(OSError, match="symbolic link" if "link" in kind else "plain file"):
        put(path)
    assert target.exists() is (kind == "link")
    assert kind != "link" or target.read_text() == "kept"


@pytest.mark.slow
@pytest.mark.parametrize(("words", "option", "name"), COMMANDS)
def test_no_option_writes_through_a_symbolic_link(no_config, tmp_path, capsys, words, option, name):
    (tmp_path / "target").write_text("kept")
    (tmp_path / name).symlink_to(tmp_path / "target")
    assert run([*words, option, name]) == 2
    err = capsys.readouterr().err
    assert (err.count("\n"), f"{option} '{name}'" in err, "symbolic link" in err) == (1, True, True)
    assert (tmp_path / "target").read_text() == "kept"


@pytest.mark.slow
@pytest.mark.parametrize(("words", "option", "name"), COMMANDS)
def test_an_option_writes_its_file_and_nothing_beside_it(no_config, tmp_path, words, option, name):
    assert run([*words, option, name]) in (0, 1)
    assert os.listdir(tmp_path) == [name]


def test_no_backup_of_a_logbook_is_written_through_a_symbolic_link(tmp_path, capsys):
    path, target = tmp_path / "log.db", tmp_path / "target"
    connection = open_for_writing(path, NOON)
    connection.execute("PRAGMA user_version = 5")
    connection.close()
    target.touch()
    (tmp_path / f"log.db.{NOON:%Y%m%dT%H%M%SZ}.v5.bak").symlink_to(target)
    with pytest.raises(Exception, match="symbolic link"):
        open_for_writing(path, NOON)
    assert target.stat().st_size == 0


def test_nothing_else_in_the_program_writes_a_file():
    """A call that writes is handed what `replacing` gave, or a stream in memory."""
    for path in (ROOT / "advisor").rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute):
                if node.func.attr in ("write_text", "write_bytes"):
                    assert ast.unparse(node.func.value) == "beside", path
                elif node.func.attr == "savefig":
                    assert ast.unparse(node.args[0]) in ("beside", "stream"), path
