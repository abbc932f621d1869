"""`advisor film`: its fixed keys, its pictures, and one line for everything that is no film."""

import json
from xml.etree import ElementTree

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.catalog.coatings import coating_ids
from advisor.catalog.materials import substrates
from advisor.cli.app import run
from tests.oracles import figures
from tests.support import examples

LACQUER = ["film", "--air", "24C", "--rh", "62%", "--coating", "nitrocellulose-lacquer"]
KEYS = {
    "lowest_film_temperature", "dew_point", "minutes_below_dew", "water_condensed", "water_to_slow_solvent_at_set",
    "blush_onset_relative_humidity", "dew_onset_relative_humidity", "times",
}  # fmt: skip


def record(capsys, *arguments: str):
    assert run([*arguments, "--json"]) == 0
    return json.loads(capsys.readouterr().out)


@pytest.fixture(autouse=True)
def _no_config(no_config):
    pass


def test_the_names_outside_checks_call_are_there(capsys):
    found = record(capsys, *LACQUER)
    assert found.keys() >= KEYS
    assert 15.0 < found["lowest_film_temperature"] < 24.0
    assert found["dew_point"] == pytest.approx(16.3, abs=0.1)
    assert 0.6 < found["blush_onset_relative_humidity"] < 0.75
    assert set(found["times"]) == {"set", "dust_free", "recoat_from", "recoat_until", "handle", "sand"}
    assert found["thinner_unknown"] is True


def test_an_unknown_thinner_is_said_once(capsys):
    assert run(LACQUER) == 0
    assert capsys.readouterr().out.count("unknown: taken as the fastest") == 1
    assert run([*LACQUER, "--thinner", "medium"]) == 0
    assert "unknown" not in capsys.readouterr().out


@pytest.mark.slow
@pytest.mark.parametrize("substrate", substrates())
@pytest.mark.parametrize("gun", ["compressor", "turbine", "none"])
def test_every_substrate_and_gun_has_its_film(capsys, substrate, gun):
    found = record(capsys, *LACQUER, "--substrate", substrate, "--gun", gun, "--air-speed", "0.5m/s")
    assert (found["substrate"], found["gun"], found["air_speed"]) == (substrate, gun, 0.5)


@pytest.mark.slow
@pytest.mark.parametrize("coating", coating_ids())
def test_every_coating_has_its_film_in_words_of_80_columns(capsys, monkeypatch, coating):
    monkeypatch.setenv("COLUMNS", "80")
    assert run(["film", "--air", "22C", "--rh", "55%", "--coating", coating]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert all(len(line) <= 80 for line in lines)
    assert len(lines) < 12


def test_own_solvents_need_no_coating(capsys):
    found = record(capsys, "film", "--air", "26.7C", "--rh", "50%", "--solvents", "n-butyl acetate:0.7,toluene:0.3")
    assert found["coating"] is None
    assert found["solvents"] == {"n-butyl-acetate": 0.7, "toluene": 0.3}
    assert found["times"].keys() == {"set"}


def test_a_diluent_tailed_thinner_is_named_for_what_it_is(capsys):
    """What leaves last does not dissolve the resin: it falls out in dry air too."""
    assert run(["film", "--air", "24C", "--rh", "30%", "--solvents", "acetone:0.5,xylene:0.5"]) == 0
    assert "What leaves last is diluent" in capsys.readouterr().out


@pytest.mark.slow
@pytest.mark.parametrize("ending", ["svg", "png", "pdf", "SVG"])
def test_a_picture_is_drawn(capsys, tmp_path, ending):
    file = tmp_path / f"film.{ending}"
    assert run([*LACQUER, "--plot", str(file)]) == 0
    assert file.stat().st_size > 3_000
    if ending == "svg":
        assert ElementTree.parse(file).getroot().tag.endswith("svg")
    capsys.readouterr()


def words_in(figure) -> str:
    """Every word drawn, for SVG writes its letters as paths."""
    return " | ".join(each.get_text() for each in figure.findobj(figures.Text))


@pytest.fixture
def drawn(monkeypatch):
    """The figures drawn, kept to be looked at."""
    kept = []

    class Kept(figures.Figure):
        def savefig(self, *args, **options):
            kept.append(self)
            return super().savefig(*args, **options)

    monkeypatch.setattr("advisor.cli.spray.film_plot.Figure", Kept)
    return kept


@pytest.mark.slow
@pytest.mark.parametrize(
    ("air", "said"), [("13C", "TOO COLD: the film does not form"), ("18C", "COLD: the film may not form"),
                      ("24C", "The film forms")]
)  # fmt: skip
def test_the_picture_of_a_water_borne_film_says_whether_it_forms_and_shows_its_mfft(capsys, tmp_path, drawn, air, said):
    """At 13 °C `check` says WAIT, and the picture showed a dot well under the only line it had."""
    asked = ["film", "--air", air, "--rh", "40%", "--coating", "waterborne-clear-1k"]
    assert run([*asked, "--plot", str(tmp_path / "film.svg")]) == 0
    text = capsys.readouterr().out
    (figure,) = drawn
    assert f"{said} (" in words_in(figure)
    assert "needs 15 °C; MFFT 12 °C" in words_in(figure)
    for word in ("MFFT", "film needs", "too cold", "film forms", "now"):
        assert word in words_in(figure).split(" | ")
    left, right = figure.axes
    assert {12.0, 15.0} <= {float(line.get_ydata()[0]) for line in left.lines if len(set(line.get_ydata())) == 1}
    forming = next(line for line in right.lines if line.get_linestyle() == "-.")
    at_40 = np.interp(40.0, forming.get_ydata(), forming.get_xdata())
    assert bool(float(air[:-1]) < at_40) is (said != "The film forms")
    assert (said in text) is (said != "The film forms")


def test_the_picture_of_a_lacquer_has_no_mfft(tmp_path, drawn, capsys):
    assert run([*LACQUER, "--plot", str(tmp_path / "film.svg")]) == 0
    assert "MFFT" not in words_in(drawn[0])
    assert "blush line" in words_in(drawn[0])
    capsys.readouterr()


def test_the_record_says_whether_a_water_borne_film_forms(capsys):
    found = record(capsys, "film", "--air", "13C", "--rh", "40%", "--coating", "waterborne-clear-1k")["film_forming"]
    assert (found["state"], found["minimum_film_forming_temperature"], found["needed"]) == ("does_not_form", 12, 15)
    assert found["at_packing"] < 12
    assert record(capsys, *LACQUER)["film_forming"] is None


@pytest.mark.parametrize(
    "wrong",
    [
        ["film"], ["film", "--air", "24C"], ["film", "--rh", "50%"], ["film", "--air", "24C", "--rh", "50%"],
        [*LACQUER, "--solvents", "toluene:1"], [*LACQUER, "--air", "24"], [*LACQUER, "--air", "60C"],
        [*LACQUER, "--air", "-20C"], [*LACQUER, "--rh", "0.5"], [*LACQUER, "--rh", "120%"],
        [*LACQUER, "--surface", "80C"], [*LACQUER, "--liquid", "-30C"], [*LACQUER, "--substrate", "cheese"],
        [*LACQUER, "--gun", "nailgun"], [*LACQUER, "--thinner", "turpentine"], [*LACQUER, "--retarder", "20%"],
        [*LACQUER, "--retarder", "10"], [*LACQUER, "--retarder", "-1%"], [*LACQUER, "--retarder", "x"],
        [*LACQUER, "--air-speed", "0.3"], [*LACQUER, "--air-speed", "50m/s"], [*LACQUER, "--air-speed", "-1m/s"],
        [*LACQUER, "--plot", "film.doc"], [*LACQUER, "--plot", "/no/such/folder/film.svg"],
        [*LACQUER, "--coating", "no-such"], ["film", "--air", "24C", "--rh", "50%", "--solvents", "x:1"],
        ["film", "--air", "24C", "--rh", "50%", "--solvents", "toluene:1", "--thinner", "hot"],
        ["film", "--air", "24C", "--rh", "50%", "--coating", "precatalysed-lacquer", "--thinner", "hot"],
        ["film", "--air", "24C", "--rh", "50%", "--coating", "solvent-polyurethane-2k", "--retarder", "1%"],
        ["check", "--air", "24C", "--rh", "50%", "--thinner", "hot"],
        ["check", "--air", "24C", "--rh", "50%", "--coating", "shellac", "--thinner", "hot"],
    ],
    ids=lambda wrong: " ".join(wrong[-3:]),
)  # fmt: skip
def test_what_is_no_film_is_one_line_and_exit_2(capsys, wrong):
    assert run(wrong) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert len(said.err.splitlines()) == 1
    assert said.err.startswith("advisor: ")


@given(
    air=st.floats(-5.0, 45.0),
    rh=st.integers(1, 100),
    surface=st.one_of(st.none(), st.floats(-5.0, 45.0)),
    coating=st.sampled_from(coating_ids()),
    speed=st.one_of(st.none(), st.floats(0.0, 5.0)),
)
@settings(max_examples=examples(25))
def test_any_film_at_all_gives_numbers_or_null_and_never_a_traceback(capsys, air, rh, surface, coating, speed):
    more = [] if surface is None else ["--surface", f"{surface:.2f}C"]
    more += [] if speed is None else ["--air-speed", f"{speed:.2f}m/s"]
    found = record(capsys, "film", "--air", f"{air:.2f}C", "--rh", f"{rh}%", "--coating", coating, *more)
    assert found["lowest_film_temperature"] is not None
    assert found["minutes_below_dew"] >= 0
    assert found["water_condensed"] >= 0
    for key in ("blush_onset_relative_humidity", "dew_onset_relative_humidity", "critical_relative_humidity"):
        assert found[key] is None or 0 < found[key] <= 1


def test_a_spray_that_lands_dry_says_so(capsys):
    assert run(["film", "--air", "24C", "--rh", "62%", "--solvents", "acetone:1"]) == 0
    assert "lands almost dry: dry spray" in capsys.readouterr().out


def test_a_droplet_at_the_end_of_its_range_is_no_crash(capsys, tmp_path):
    config = tmp_path / "advisor.toml"
    config.write_text('coatings = ["shellac"]\n[limits]\ndroplet_diameter = "10 um"\nflight_time = "200 ms"\n')
    for command in (["film"], ["check"]):
        done = run([*command, "--config", str(config), "--air", "22C", "--rh", "50%", "--coating", "shellac"])
        assert done == 0
    capsys.readouterr()


def test_check_takes_thinner_retarder_and_gun(capsys):
    """Slower stuff in the pot clears what the fastest would not."""
    base = ["check", "--air", "24C", "--rh", "58%", "--surface", "21C", "--coating", "nitrocellulose-lacquer", "--json"]
    onsets = []
    for more in ([], ["--thinner", "medium"], ["--thinner", "medium", "--retarder", "10%", "--gun", "turbine"]):
        run([*base, *more])
        onsets.append(json.loads(capsys.readouterr().out)["film"]["blush_onset_relative_humidity"])
    assert onsets == sorted(onsets)
    assert len(set(onsets)) == 3
