"""`advisor coatings`: the list, and one coating with numbers, units, sources and cautions."""

import json

import pytest

from advisor.catalog.coatings import coating_ids, number_kinds
from advisor.cli.app import run
from tests.support import ROOT

pytestmark = pytest.mark.usefixtures("no_config")


def test_all_are_listed(capsys):
    assert run(["coatings"]) == 0
    assert [line.split()[0] for line in capsys.readouterr().out.splitlines()] == list(coating_ids())


def test_those_in_use_and_the_own_data_sheets_are_marked(capsys):
    assert run(["coatings", "--config", str(ROOT / "configs" / "boathouse.toml")]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[0].split()[0] == "boathouse-clear"
    assert sum(line.endswith("in use") for line in lines) == 5


@pytest.mark.parametrize("coating", coating_ids())
def test_one_is_shown_whole(capsys, coating):
    assert run(["coatings", coating]) == 0
    text = capsys.readouterr().out
    assert "your data sheet always wins" in text.replace("\n  ", " ")
    assert "never about the air being fit to breathe" in text.replace("\n  ", " ")
    assert max(map(len, text.splitlines())) <= 80
    run(["coatings", coating, "--json"])
    record = json.loads(capsys.readouterr().out)
    for key, number in record["numbers"].items():
        assert number["source"]
        assert number_kinds()[key].label in text.replace("\n  ", " ")


def test_a_slip_in_the_name_is_answered_with_the_nearest(capsys):
    assert run(["coatings", "shelac"]) == 2
    assert "did you mean shellac" in capsys.readouterr().err


def test_the_list_as_json(capsys):
    assert run(["coatings", "--json"]) == 0
    assert [entry["id"] for entry in json.loads(capsys.readouterr().out)["coatings"]] == list(coating_ids())


@pytest.mark.parametrize("columns", ["80", "34"])
def test_one_says_what_it_goes_over_by_standing(capsys, monkeypatch, columns):
    monkeypatch.setenv("COLUMNS", columns)
    assert run(["coatings", "nitrocellulose-lacquer"]) == 0
    lines = capsys.readouterr().out.splitlines()
    heads = ["Goes over itself:", "Goes over, try a panel still:", "Goes over once a panel has held:"]
    places = [lines.index(head) for head in (*heads, "Never straight over:")]
    assert places == sorted(places)
    assert lines[places[-1] + 1].startswith("- oil-varnish.")
    shown = lines[places[0] : places[-1] + 8]
    assert max(map(len, shown)) <= int(columns)


def test_what_it_goes_over_as_json(capsys):
    run(["coatings", "solvent-polyurethane-2k", "--json"])
    record = json.loads(capsys.readouterr().out)
    standing = {each["under"]: each["standing"] for each in record["goes_over"]}
    assert list(standing) == list(coating_ids())
    assert standing["nitrocellulose-lacquer"] == "no"
    assert all(each["words"] and each["source"] for each in record["goes_over"])
    assert record["residues_apart_from"] == ["nitrocellulose-lacquer", "oil-varnish", "precatalysed-lacquer"]


def test_an_own_sheet_stands_among_what_it_goes_over(capsys):
    run(["coatings", "waterborne-colour", "--json", "--config", str(ROOT / "configs" / "boathouse.toml")])
    assert json.loads(capsys.readouterr().out)["goes_over"][0]["under"] == "boathouse-clear"
