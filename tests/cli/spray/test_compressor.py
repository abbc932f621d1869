"""`advisor compressor`: fixed keys, the turbine, and one line for everything that cannot be answered."""

import json

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.cli.app import run
from tests.support import examples

TANK = ["compressor", "--tank", "38l", "--full", "8bar", "--least", "4bar", "--gun-air", "250l/min"]
AIR = ["--air", "22C", "--rh", "60%"]
TEXTS = ["--tank", "--full", "--least", "--gun-air", "--delivers", "--air", "--rh", "--line", "--dryer"]
KEYS = {
    "schema", "computed_at", "air_supply", "tank_volume", "full_pressure", "lowest_pressure", "gun_flow",
    "compressor_flow", "keeps_up", "trigger_seconds", "trigger_seconds_least", "refill_seconds", "air_temperature",
    "relative_humidity", "gun_air_warmer", "dryer_dew_point", "tank_temperature", "line_temperature",
    "pressure_dew_point", "line_dew_point", "spits", "water_entering", "water_condensed_in_tank",
    "water_condensed_in_line", "line_dry_up_to", "to_do", "cautions",
}  # fmt: skip


@pytest.fixture(autouse=True)
def _no_config(no_config):
    pass


def record(capsys, *words: str):
    assert run([*words, "--json"]) == 0
    return json.loads(capsys.readouterr().out, parse_constant=pytest.fail)


def test_the_names_outside_checks_call_are_there(capsys):
    found = record(capsys, *TANK, *AIR, "--line", "18C", "--delivers", "150l/min")
    assert found.keys() == KEYS
    assert found["schema"] == 1
    assert found["trigger_seconds"] == pytest.approx(90.0, abs=0.05)
    assert found["trigger_seconds_least"] == pytest.approx(67.5, abs=0.05)
    assert found["refill_seconds"] == pytest.approx(60.0, abs=0.05)
    assert found["full_pressure"] == 8e5
    assert found["compressor_flow"] == pytest.approx(0.0025)
    assert found["spits"] is True
    assert found["water_entering"] == pytest.approx(0.01165 * 0.25 / 60, rel=2e-3)  # 11.65 g/m3 at 22 °C, 60 %


def test_both_systems_of_units_are_read_alike(capsys):
    metric = record(capsys, *TANK, *AIR)
    us = ["--tank", "10.0385gal", "--full", "116.03psi", "--least", "58.015psi", "--gun-air", "8.8287cfm"]
    found = record(capsys, "compressor", *us, "--air", "71.6F", "--rh", "60")
    for key in ("trigger_seconds", "water_entering", "pressure_dew_point"):
        assert found[key] == pytest.approx(metric[key], rel=1e-3)


def test_unknown_is_null_and_said(capsys):
    found = record(capsys, *TANK)
    for key in ("spits", "water_entering", "line_dew_point", "refill_seconds", "compressor_flow", "dryer_dew_point"):
        assert found[key] is None
    assert run(TANK) == 0
    out = capsys.readouterr().out
    assert "without --delivers the compressor counts as nothing" in out
    assert "cannot tell without --air and --rh" in out


def test_endless_trigger_is_null_with_a_boolean(capsys):
    found = record(capsys, *TANK, "--delivers", "250l/min")
    assert found["keeps_up"] is True
    assert found["trigger_seconds"] is found["trigger_seconds_least"] is found["refill_seconds"] is None


def test_a_turbine_has_no_tank_and_the_shop_s_air(capsys):
    found = record(capsys, "compressor", "--turbine", *AIR)
    assert found.keys() == KEYS
    assert found["air_supply"] == "turbine"
    assert found["spits"] is False
    assert found["trigger_seconds"] is found["tank_volume"] is None
    assert found["gun_air_warmer"] == 10.0
    assert run(["compressor", "--turbine"]) == 0
    assert "the shop's humidity comes with it" in capsys.readouterr().out


def test_a_shop_with_a_turbine_need_not_say_so_but_a_tank_named_counts(capsys, tmp_path):
    config = tmp_path / "shop.toml"
    config.write_text('coatings = ["shellac"]\nair_supply = "turbine"\n', "utf-8")
    assert record(capsys, "compressor", "--config", str(config))["air_supply"] == "turbine"
    assert record(capsys, *TANK, "--config", str(config))["air_supply"] == "compressor"


def test_us_shops_read_gallons_psi_and_cfm(capsys, tmp_path):
    config = tmp_path / "shop.toml"
    config.write_text('coatings = ["shellac"]\nunits = "us"\n', "utf-8")
    us = ["--tank", "10gal", "--full", "120psi", "--least", "40psi", "--gun-air", "9cfm", "--delivers", "5cfm"]
    assert run(["compressor", *us, "--air", "72F", "--rh", "60%", "--config", str(config)]) == 0
    out = capsys.readouterr().out
    for said in ("Tank 10 gal, 120 to 40 psi, gun 9 cfm", "at 5 cfm", "line 72 °F", "fl oz of water"):
        assert said in out


@pytest.mark.parametrize(
    "wrong",
    [
        ["compressor"], TANK[:-2], ["compressor", *TANK[3:]], [*TANK, "--tank", "38"], [*TANK, "--tank", "0l"],
        [*TANK, "--tank", "0.99l"], [*TANK, "--tank", "1001l"], [*TANK, "--tank", "-38l"], [*TANK, "--tank", "38bar"],
        [*TANK, "--full", "20.1bar"], [*TANK, "--full", "8"], [*TANK, "--full", "nan bar"], [*TANK, "--full", "-1bar"],
        [*TANK, "--full", "4bar"], [*TANK, "--least", "8bar"], [*TANK, "--least", "9bar"], [*TANK, "--gun-air", "0cfm"],
        [*TANK, "--gun-air", "0.9l/min"], [*TANK, "--gun-air", "6001l/min"], [*TANK, "--delivers", "0l/min"],
        [*TANK, "--delivers", "150l"], [*TANK, "--air", "22C"], [*TANK, "--rh", "60%"], [*TANK, "--line", "18C"],
        [*TANK, "--dryer", "3C"], [*TANK, "--air", "22C", "--rh", "0.6"], [*TANK, "--air", "46C", "--rh", "60%"],
        [*TANK, *AIR, "--line", "-5.1C"], [*TANK, *AIR, "--line", "46C"], [*TANK, *AIR, "--dryer", "-71C"],
        [*TANK, *AIR, "--dryer", "46C"], [*TANK, "--turbine"], ["compressor", "--turbine", "--line", "18C"],
        [*TANK, "--air", "45C", "--rh", "100%", "--full", "20bar"], ["compressor", "--turbine", "--air", "22C"],
    ],
    ids=lambda wrong: " ".join(wrong[-2:]),
)  # fmt: skip
def test_what_cannot_be_answered_is_one_line_and_exit_2(capsys, wrong):
    assert run(wrong) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert len(said.err.splitlines()) == 1


@pytest.mark.parametrize(
    "edge",
    [["--tank", "1l"], ["--tank", "1000l"], ["--full", "20bar"], ["--least", "0bar"], ["--gun-air", "1l/min"],
     ["--gun-air", "6000l/min"], ["--line", "-5C"], ["--line", "45C"], ["--dryer", "-70C"], ["--dryer", "45C"]],
    ids=" ".join,
)  # fmt: skip
def test_the_edges_are_answered(capsys, edge):
    assert record(capsys, *TANK, *AIR, *edge)["trigger_seconds"] > 0.0


@given(st.text(max_size=20), st.sampled_from(TEXTS))
@settings(max_examples=examples(80))
def test_no_text_breaks_an_option(capsys, text, option):
    assert run([*TANK, *AIR, f"{option}={text}"]) in (0, 2)
    assert len(capsys.readouterr().err.splitlines()) <= 1


@given(
    st.floats(-80.0, 80.0), st.floats(0.0, 110.0), st.floats(0.0, 25.0), st.floats(0.0, 25.0), st.floats(0.0, 7000.0)
)
@settings(max_examples=examples(80))
def test_no_figure_breaks_it_and_no_nan_comes_out(capsys, celsius, percent, full, least, delivers):
    words = [f"--air={celsius:.3f}C", f"--rh={percent:.2f}%", f"--full={full:.3f}bar", f"--least={least:.3f}bar"]
    code = run([*TANK, *words, f"--delivers={delivers:.1f}l/min", "--json"])
    said = capsys.readouterr()
    assert code in (0, 2)
    if code == 0:
        json.loads(said.out, parse_constant=pytest.fail)
    else:
        assert len(said.err.splitlines()) == 1
