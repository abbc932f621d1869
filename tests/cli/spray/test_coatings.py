"""`advisor coatings`: the list, and one coating with numbers, units, sources and cautions."""

import json
import re
from dataclasses import replace

import pytest

from advisor.catalog.coatings import coating_ids, load_coating, number_kinds
from advisor.cli.app import run
from advisor.cli.spray.coatings import _value
from advisor.errors import CatalogError
from advisor.shop.shop import Shop
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


SHOWN = {
    "metric": {
        "temperature": r"-?\d+(\.\d+)? °C", "fraction": r"\d+(\.\d)? %|ratio \d+(\.\d+)?",
        "length": r"\d+ µm|\d(\.\d)? mm", "time": r"\d+(\.\d)? (s|min|h|days?)( \d+ min)?",
        "pressure": r"\d+(\.\d)? bar", "molar_energy": r"\d+ kJ/mol", "count": r"1 coat|\d+ coats",
        "ratio": r"ratio \d+(\.\d+)?",
    },
}  # fmt: skip
SHOWN["us"] = {
    **SHOWN["metric"],
    "temperature": r"-?\d+(\.\d+)? °F",
    "length": r"\d+(\.\d+)? mil|\d(\.\d)? mm",
    "pressure": r"\d+ psi",
}


@pytest.mark.parametrize("units", SHOWN)
@pytest.mark.parametrize("coating", coating_ids())
def test_every_number_is_shown_with_its_unit_in_the_users_units(capsys, tmp_path, coating, units):
    """Pressures came as 170000 and flow energies as 25000, without one; a count and a ratio are named as such."""
    (tmp_path / "advisor.toml").write_text(f'coatings = ["{coating}"]\nunits = "{units}"\n', encoding="utf-8")
    shop = ["--config", str(tmp_path / "advisor.toml")]
    assert run(["coatings", coating, "--json", *shop]) == 0
    numbers = json.loads(capsys.readouterr().out)["numbers"]
    assert run(["coatings", coating, *shop]) == 0
    lines = [re.sub(r"\s+", " ", line) for line in capsys.readouterr().out.replace("\n  ", " ").splitlines()]
    for key, number in numbers.items():
        label = re.escape(number_kinds()[key].label)
        row = rf"{label} ({SHOWN[units][number['dimension']]}) {number['tag']}.*"
        assert [line for line in lines if re.fullmatch(row, line)], (key, [line for line in lines if label in line])


def test_a_number_of_a_kind_without_a_unit_is_never_shown_bare():
    kind = replace(number_kinds()["gun_pressure_low"], dimension="area")
    with pytest.raises(CatalogError, match="no unit to show area in"):
        _value(load_coating("shellac").numbers["gun_pressure_low"], kind, Shop())


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
