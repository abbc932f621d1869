"""`advisor check --job`: may the next coat be sprayed now; over a real logbook, as it is typed."""

import json
import sqlite3
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.cli.app import run
from advisor.logbook.store import open_for_writing
from tests.support import examples

CONFIG = 'coatings = ["waterborne-sealer"]\nlogbook = "log.db"\nzone = "UTC"\n[[sensors]]\nname = "shelf"\n'
FIT, DAMP, HALF = ["--air", "22C", "--rh", "48%"], ["--air", "22C", "--rh", "92%"], ["--air", "22C"]
KEYS = ["allowed", "from", "until", "scuff", "why"]


@pytest.fixture
def shop(tmp_path, no_config):
    """A shop with a logbook and a job of three steps."""
    (tmp_path / "advisor.toml").write_text(CONFIG, encoding="utf-8")
    assert run(["job", "new", "lid", "--schedule", "waterborne-two-pack"]) == 0
    return tmp_path


@pytest.fixture
def warm(shop, capsys):
    """A room logged at 23 °C for three days."""
    rows = ["time,sensor,air_temperature_c,relative_humidity_pct"]
    for minute in range(3 * 24 * 60, -1, -10):
        waver = 0.02 if minute % 20 else -0.02
        rows.append(f"{ago(minutes=minute)},shelf,{23 + waver:.2f},{48 + 50 * waver:.1f}")
    (shop / "air.csv").write_text("\n".join(rows) + "\n", encoding="utf-8")
    assert run(["import", "air.csv"]) == 0
    capsys.readouterr()
    return shop


def ago(**span: float) -> str:
    return (datetime.now(UTC) - timedelta(**span)).strftime("%Y-%m-%dT%H:%M:%SZ")


def job(capsys, *words: str) -> str:
    assert run(["job", *words]) == 0
    out, err = capsys.readouterr()
    assert err == ""
    return out


def coat(capsys, *words: str, **span: float) -> str:
    """A coat of five minutes that ended so long ago."""
    return job(capsys, "coat", "--start", ago(**{**span, "minutes": span.get("minutes", 0) + 5}), *words)


def check(capsys, *words: str) -> tuple[int, str, str]:
    capsys.readouterr()
    code = run(["check", *words])
    out, err = capsys.readouterr()
    assert "Traceback" not in out + err
    assert "--json" in words or all(len(line) <= 80 for line in out.splitlines())
    return code, out, err


def asked(capsys, *words: str) -> tuple[int, dict]:
    code, out, err = check(capsys, "--job", "lid", *words, "--json")
    assert err == ""
    record = json.loads(out)
    assert list(record["next_coat"]) == KEYS
    assert code == {True: 0, False: 1, None: 3}[record["next_coat"]["allowed"]]
    return code, record


def test_it_is_the_record_of_check_and_one_key_more(capsys, warm):
    coat(capsys, hours=2)
    _, record = asked(capsys, *FIT)
    _, plain, _ = check(capsys, *FIT, "--coating", "waterborne-sealer", "--json")
    assert set(record) - set(json.loads(plain)) == {"next_coat"}
    assert set(json.loads(plain)) <= set(record)
    for key in ("state", "coating", "findings", "cautions", "times"):
        assert record[key] == json.loads(plain)[key] or key == "times"


@pytest.mark.slow
@pytest.mark.parametrize(
    ("words", "minutes", "code"),
    [
        ([*FIT, "--tried"], 61, 0), (FIT, 61, 3), ([*FIT, "--tried"], 59, 1), (FIT, 59, 1),
        ([*DAMP, "--tried"], 61, 1), ([*HALF, "--tried"], 61, 3), ([*HALF, "--tried"], 59, 1), (["--tried"], 61, 0),
    ],
)  # fmt: skip
def test_the_worse_of_air_and_clock_and_never_a_yes_without_a_hand(capsys, warm, words, minutes, code):
    coat(capsys, minutes=minutes)
    got, record = asked(capsys, *words)
    assert got == code, record["next_coat"]


def test_clock_and_check_say_the_same_of_the_same_job(capsys, warm):
    for words in (["--coating", "waterborne-sealer"], [], ["--coating", "waterborne-colour"]):
        coat(capsys, *words, hours=3 if words else 2)
        clock = json.loads(job(capsys, "clock", "lid", "--json"))["jobs"][0]
        _, record = asked(capsys, *FIT)
        ours, theirs = record["next_coat"], clock["next_coat"]
        assert list(theirs) == KEYS
        for key in ("from", "until", "scuff", "allowed"):
            assert ours[key] == theirs[key], key
        assert (ours["from"], ours["until"], ours["scuff"]) == tuple(
            clock["next"][key] for key in ("from", "until", "scuff")
        )
        assert record["coating"] == clock["next"]["coating"]


def test_the_coating_is_the_next_steps_unless_it_is_named(capsys, warm):
    for hours in (9, 7):
        coat(capsys, hours=hours)
    assert asked(capsys, *FIT)[1]["coating"] == "waterborne-colour"
    code, record = asked(capsys, *FIT, "--tried", "--coating", "nitrocellulose-lacquer")
    assert record["coating"] == "nitrocellulose-lacquer"
    assert code == 1, "lacquer over sealer wants its full cure"
    assert datetime.fromisoformat(record["next_coat"]["from"]) > datetime.now(UTC) + timedelta(days=10)


def test_a_room_nobody_logged_is_a_cannot_tell(capsys, shop):
    coat(capsys, hours=2)
    code, record = asked(capsys, *FIT, "--tried")
    assert (code, record["next_coat"]["allowed"], record["next_coat"]["from"]) == (3, None, None)
    assert asked(capsys, *DAMP, "--tried")[0] == 1


def test_a_bare_piece_is_air_and_hand(capsys, shop):
    assert asked(capsys, *FIT, "--tried")[0] == 0
    assert asked(capsys, *FIT)[0] == 3
    assert asked(capsys, *DAMP, "--tried")[0] == 1


def test_a_complete_job_and_one_that_is_done_take_no_coat(capsys, warm):
    job(capsys, "new", "bowl", "--schedule", "waterborne-one-pack")
    for hours in (60, 36, 20):
        coat(capsys, "bowl", hours=hours)
    code, out, _ = check(capsys, *FIT, "--job", "bowl", "--tried")
    assert code == 1
    assert out.startswith("NO, not now: ")
    assert "All coats of its schedule are on" in " ".join(out.split())
    job(capsys, "done", "lid")
    code, record = asked(capsys, *FIT, "--tried")
    assert (code, record["next_coat"]["allowed"]) == (1, False)
    assert "is done" in record["next_coat"]["why"][0]


def test_a_dead_pot_is_a_no_until_one_is_mixed_anew(capsys, warm):
    """Two hours of pot life, four to the next coat (coating table)."""
    job(capsys, "new", "box")
    coat(capsys, "box", "--coating", "waterborne-clear-2k", hours=5)
    words = [*FIT, "--job", "box", "--tried"]
    code, out, _ = check(capsys, *words)
    assert code == 1
    assert "The pot died" in out
    assert check(capsys, *words, "--mixed", ago(minutes=30))[0] == 0
    assert check(capsys, *words, "--mixed", ago(minutes=118))[0] == 1


def test_the_answer_stands_first_in_words(capsys, warm):
    coat(capsys, minutes=20)
    _, out, _ = check(capsys, *FIT, "--job", "lid")
    assert out.startswith("NO, not now: seal 2 of 2-4, Water-borne sealer, on 1 lid.\nNot before ")
    assert "then try it: sands to powder" in out
    assert "The air alone, without the job:\nGO: " in out
    job(capsys, "undo")
    coat(capsys, minutes=70)
    assert check(capsys, *FIT, "--job", "lid")[1].startswith("NOT YET A YES, try it by hand: seal 2 of 2-4")
    _, out, _ = check(capsys, *FIT, "--job", "1", "--tried")
    assert out.startswith("YES, by clock, air and your own hand: ")
    assert "not the air you breathe" in out


def test_a_file_is_judged_with_the_coats_of_its_moment(capsys, shop):
    rows = ["time,air_temperature_c,relative_humidity_pct"]
    rows += [f"{ago(hours=5, minutes=minute)},22.{minute % 7},48.{minute % 5}" for minute in range(60, -1, -1)]
    (shop / "air.csv").write_text("\n".join(rows) + "\n", encoding="utf-8")
    coat(capsys, hours=2)
    assert asked(capsys, "--csv", "air.csv", "--at", "last", "--tried")[0] == 0, "then it was bare"
    coat(capsys, hours=6)
    assert asked(capsys, "--csv", "air.csv", "--at", "last", "--tried")[1]["next_coat"]["allowed"] is None


def test_it_only_reads(capsys, warm):
    coat(capsys, hours=2)
    other = open_for_writing(warm / "log.db", datetime.now(UTC))
    other.execute("BEGIN IMMEDIATE")
    before = (warm / "log.db").read_bytes()
    assert asked(capsys, *FIT, "--tried")[0] == 0
    assert (warm / "log.db").read_bytes() == before
    other.execute("ROLLBACK")
    other.close()


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--job", "nobody"], "no job 'nobody'"), (["--job", ""], "--job is empty"), (["--tried"], "without --job"),
        (["--mixed", "10:00"], "without --job"), (["--job", "lid", "--coating", "honey"], "no coating 'honey'"),
        (["--job", "lid", "--mixed", "soon"], "is no time"), (["--job", "lid", "--mixed", ago(days=-1)], "future"),
    ],
)  # fmt: skip
def test_a_mistake_is_one_line_and_exit_code_2(capsys, shop, words, said):
    code, out, err = check(capsys, *FIT, *words)
    assert (code, out) == (2, "")
    assert said in err
    assert err.count("\n") == 1


def test_without_a_coating_to_name_it_asks_for_one(capsys, shop):
    (shop / "advisor.toml").write_text(CONFIG.replace('["w', '["shellac", "w'), encoding="utf-8")
    job(capsys, "new", "tray")
    code, _, err = check(capsys, *FIT, "--job", "tray")
    assert (code, "--coating is missing" in err) == (2, True)
    assert check(capsys, *FIT, "--job", "tray", "--coating", "shellac", "--tried")[0] == 0


def test_without_a_logbook_it_says_so(capsys, tmp_path, no_config):
    (tmp_path / "advisor.toml").write_text(CONFIG, encoding="utf-8")
    code, out, err = check(capsys, *FIT, "--job", "lid")
    assert (code, out) == (2, "")
    assert "no logbook" in err


@given(st.text(max_size=20), st.sampled_from(["--job={}", "--mixed={}"]))
@settings(max_examples=examples(40))
def test_no_text_breaks_an_option(capsys, shop, text, word):
    assert run(["check", *FIT, "--job", "lid", word.replace("{}", text)]) in (0, 1, 2, 3)
    assert len(capsys.readouterr().err.splitlines()) <= 1
    with sqlite3.connect(shop / "log.db") as connection:
        assert connection.execute("PRAGMA integrity_check").fetchone()[0] == "ok"
    connection.close()
