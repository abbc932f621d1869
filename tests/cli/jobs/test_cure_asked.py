"""`advisor cure`: several pieces at once, and what it refuses."""

import json
from datetime import timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.catalog.coatings import coating_ids
from advisor.cli.app import run
from tests.cli.jobs.cure_asked import COLD, POLYURETHANE, SPRAYED, ask, iso, night, record
from tests.support import examples

pytestmark = pytest.mark.usefixtures("no_config")


@pytest.fixture
def shop(tmp_path):
    """A configuration with a logbook of its own."""
    file = tmp_path / "advisor.toml"
    file.write_text('coatings = ["shellac"]\nlogbook = "log.db"\nzone = "Europe/London"\n')
    return str(file)


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ([], "--coating is missing"),
        (["--coating", "shellac"], "--sprayed is missing"),
        (["--csv", COLD, "--coating", "shelac", "--sprayed", "2025-11-04T07:00Z"], "did you mean shellac"),
        (["--csv", COLD, "--coating", "", "--sprayed", "2025-11-04T07:00Z"], "--coating is empty"),
        (["--csv", COLD, "--coating", "shellac", "--sprayed", ""], "--sprayed is empty"),
        (["--csv", COLD, "--coating", "shellac", "--sprayed", "yesterday"], "is no time"),
        (["--csv", COLD, "--coating", "shellac", "--sprayed", "2025-11-04T07:00"], "--zone"),
        (["--csv", COLD, "--coating", "shellac", "--sprayed", "2099-11-04T07:00Z"], "future"),
        (["--csv", COLD, *POLYURETHANE, "--at", "2025-11-04T06:00Z"], "lies after"),
        (["--csv", COLD, *POLYURETHANE, "--at", "2099-11-04T06:00Z"], "future"),
        (["--csv", COLD, *POLYURETHANE, "--at", "noon"], "--at 'noon' is no time"),
        (["--csv", COLD, *POLYURETHANE, "--at", ""], "--at is empty"),
        (["--csv", COLD, *POLYURETHANE, "--place", "attic"], "no readings at place 'attic'"),
        (["--csv", COLD, *POLYURETHANE, "--zone", "Mars/Base"], "no zone"),
        (["--csv", COLD, *POLYURETHANE, "--coats", "0"], "1 to 20"),
        (["--csv", COLD, *POLYURETHANE, "--coats", "21"], "1 to 20"),
        (["--csv", COLD, *POLYURETHANE, "--coats", "two"], "is not a valid int"),
        (["--csv", "none.csv", *POLYURETHANE], "cannot read"),
        (["--config", "none.toml", *POLYURETHANE], "cannot read"),
    ],
)  # fmt: skip
def test_a_mistake_is_one_line_and_exit_code_2(capsys, arguments, words):
    code, out, err = ask(capsys, *arguments)
    assert code == 2
    assert out == ""
    assert words in err
    assert err.count("\n") == 1


def test_without_a_logbook_it_says_so(capsys, monkeypatch, tmp_path, shop):
    code, _, err = ask(capsys, "--config", shop, *POLYURETHANE)
    assert code == 2
    assert "no logbook" in err
    run(["import", "--config", shop, str(COLD)])
    capsys.readouterr()
    code, _, err = ask(capsys, "--config", shop, *POLYURETHANE, "--place", "sho")
    assert code == 2
    assert "did you mean shop" in err


texts = st.one_of(
    st.sampled_from(
        ["", "now", "last", "2025-11-04T12:00Z", "2025-11-04T12:00", "1970-01-01T00:00Z", "shop", "outdoors"]
    ),
    st.text(max_size=12).filter(lambda text: "\x00" not in text and not text.startswith("-")),
)


@given(
    st.one_of(st.sampled_from(coating_ids()), texts),
    texts,
    texts,
    st.one_of(st.none(), texts),
    st.one_of(st.none(), texts),
    st.one_of(st.none(), st.integers(-5, 40).map(str), texts),
    st.booleans(),
)
@settings(max_examples=examples(120))
def test_whatever_is_typed_gives_an_answer_or_one_line(capsys, coating, sprayed, at, zone, place, coats, as_json):
    arguments = ["--csv", str(COLD), "--coating", coating, "--sprayed", sprayed, "--at", at]
    for name, value in (("--zone", zone), ("--place", place), ("--coats", coats)):
        arguments += [] if value is None else [name, value]
    code, out, err = ask(capsys, *arguments, *(["--json"] if as_json else []))
    assert code in (0, 2, 3)
    if code == 2:
        assert out == ""
        assert len(err.splitlines()) == 1
    elif as_json:
        assert json.loads(out)["schema"] == 1
    else:
        assert 0 < len(out.splitlines()) <= 8


def test_several_pieces_are_told_each_in_its_turn(capsys, tmp_path):
    """The same coats asked for one by one give the same answers."""
    file = night(tmp_path, (0.0, 21.0), (20.0, 20.0))
    later = SPRAYED + timedelta(hours=3)
    asked = ["--csv", file, "--at", "last"]
    both = [f"lid: oil-varnish {iso(SPRAYED)}", f"chair: waterborne-colour {iso(later)}"]
    code, found = record(capsys, *asked, "--piece", both[0], "--piece", both[1])
    assert code == 0
    assert [one["piece"] for one in found["pieces"]] == ["lid", "chair"]
    for piece, coating, when in ((0, "oil-varnish", SPRAYED), (1, "waterborne-colour", later)):
        _, alone = record(capsys, *asked, "--coating", coating, "--sprayed", iso(when))
        assert alone["stages"] == found["pieces"][piece]["stages"]
    _, out, _ = ask(capsys, *asked, "--piece", both[0], "--piece", both[1])
    assert out.startswith("lid, Oil varnish: ")
    assert "chair, Water-borne colour coat: Reached: " in " ".join(out.split())


@pytest.mark.parametrize(
    "pieces",
    [["lid oil-varnish 2025-10-14T14:05Z"], ["lid: oil-varnish"], [": oil-varnish 2025-10-14T14:05Z"], ["lid: x y"],
     ["lid: oil-varnish 2999-10-14T14:05Z"], ["lid: oil-varnish 2025-10-14T14:05Z"] * 51],
    ids=lambda pieces: pieces[0],
)  # fmt: skip
def test_a_piece_that_is_none_is_one_line(capsys, tmp_path, pieces):
    file = night(tmp_path, (0.0, 21.0), (20.0, 20.0))
    code, out, err = ask(capsys, "--csv", file, "--at", "last", *(word for one in pieces for word in ("--piece", one)))
    assert (code, out) == (2, "")
    assert len(err.splitlines()) == 1


def test_a_piece_beside_a_coating_is_refused(capsys, tmp_path):
    file = night(tmp_path, (0.0, 21.0), (20.0, 20.0))
    asked = ["--csv", file, "--coating", "shellac", "--piece", f"lid: shellac {iso(SPRAYED)}"]
    assert ask(capsys, *asked)[0] == 2
