"""Nothing steers the terminal, wherever the text came from."""

import io
import os
import re
import subprocess
import sys

import pytest
from hypothesis import given
from hypothesis import strategies as st

from advisor.cli.app import run
from advisor.cli.paper import PlainStream
from advisor.errors import shown
from advisor.logbook.store import open_for_writing
from tests.support import NOON, ROOT

STEERS = re.compile(r"[\x00-\x08\x0b-\x1f\x7f-\x9f\u200e\u200f\u2028-\u202e\u2066-\u2069]")
EVIL = "a\x1b]0;b\x07\x9b2J\u202ec\rd"


@given(st.text())
def test_a_stream_lets_words_lines_and_tables_through_and_nothing_that_steers(text):
    inner = io.StringIO()
    PlainStream(inner).write(text)
    said = inner.getvalue()
    assert len(said) == len(text)
    assert not STEERS.search(said.replace("\r\n", ""))
    said.encode("utf-8")
    if not STEERS.search(text) and not re.search("[\ud800-\udfff\u061c]", text):
        assert said == text


def test_a_table_keeps_its_line_ends():
    inner = io.StringIO()
    PlainStream(inner).write("a\tb\r\n22 °C – ½\n")
    assert inner.getvalue() == "a\tb\r\n22 °C – ½\n"


@pytest.fixture
def shop(no_config, tmp_path):
    """A shop whose logbook holds texts of an earlier, more careless time."""
    (tmp_path / "advisor.toml").write_text('coatings = ["shellac"]\nlogbook = "log.db"\n')
    connection = open_for_writing(tmp_path / "log.db", NOON)
    at = int(NOON.timestamp() * 1000)
    connection.execute("INSERT INTO series VALUES (1, ?, ?, 'air_temperature')", (EVIL, EVIL))
    connection.execute("INSERT INTO reading VALUES (1, ?, 21000, 'good', '', NULL)", (at,))
    connection.execute(
        "INSERT INTO plan (made_at, at, coating, coats, spray, note) VALUES (1, 9e12, 'shellac', 1, 300, ?)", (EVIL,)
    )
    connection.close()
    return tmp_path


@pytest.mark.parametrize(
    "words",
    [
        ("readings",), ("readings", "--csv"), ("readings", "--json"), ("plan", "list"), ("plan", "list", "--json"),
        ("check",), ("check", "--place", EVIL), ("check", "--csv", f"{EVIL}.csv"), ("check", "--csv", "evil.csv"),
        ("check", "--csv", "evil.csv", "--json"), ("check", "--air", EVIL), ("check", "--bad\x1b[2J"), (EVIL,),
        ("coatings", EVIL), ("job", "show", EVIL), ("config", "check", "--config", EVIL), ("outlook", "--place", EVIL),
        ("import", EVIL),
    ],
)  # fmt: skip
def test_no_name_note_path_or_typed_word_reaches_the_terminal_as_it_is(shop, capsys, words):
    header = f"time,{EVIL.replace(chr(13), '')},air_temperature_c\n"
    (shop / "evil.csv").write_text(f"{header}2025-10-14T12:00Z,{EVIL[:-2]},21.0\n", encoding="utf-8")
    run(list(words))
    said = capsys.readouterr()
    assert said.out + said.err
    assert not STEERS.search(said.out + said.err)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("mqtt://u:tOken@h", "'…'"),
        ("see json://u:my tOken@h", "'see …'"),
        ("u:tOken@h", "'…'"),
        (f"{'x' * 60}://tOken", "'…'"),
        ("14:05", "'14:05'"),
        ("me@home: 3", "'me@home: 3'"),
        ("C:/a.csv", "'C:/a.csv'"),
    ],
)
def test_an_address_in_a_foreign_text_is_not_shown(text, said):
    assert shown(text) == said


@pytest.mark.parametrize("words", [("coatings", "--json"), ("coatings",), ("--help",)])
def test_a_pipe_whose_reader_left_is_no_wait(words):
    """Exit code 1 is a WAIT for a known reason; what nobody read is an error without a word."""
    reader, writer = os.pipe()
    os.close(reader)
    command = [sys.executable, "-m", "advisor", *words]
    done = subprocess.run(command, stdout=writer, stderr=subprocess.PIPE, text=True, cwd=ROOT, check=False)
    os.close(writer)
    assert (done.returncode, done.stderr) == (2, "")
