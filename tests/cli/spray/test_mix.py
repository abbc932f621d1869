"""`advisor mix`: fixed keys, and one line for everything that cannot be mixed."""

import json

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.cli.app import run
from tests.support import examples

POT = [
    "mix",
    "--coating",
    "waterborne-colour",
    "--cup",
    "DIN 4",
    "--seconds",
    "38",
    "--material",
    "19C",
    "--batch",
    "500ml",
]
KEYS = {
    "viscosity", "thinner", "share", "capped", "retarder_share", "hardener", "pot_life_until", "dry_film_per_coat",
    "extra_coats",
}  # fmt: skip


@pytest.fixture(autouse=True)
def _no_config(no_config):
    pass


def record(capsys, *more: str):
    assert run([*POT, *more, "--json"]) == 0
    return json.loads(capsys.readouterr().out)


def test_the_names_outside_checks_call_are_there(capsys):
    found = record(capsys, "--target", "22")
    assert found.keys() >= KEYS
    assert found["viscosity"] == pytest.approx(161.77e-6, rel=1e-3)
    assert found["thinner"] == pytest.approx(found["share"] * 500e-6, rel=1e-5)
    assert found["capped"] is False
    assert found["hardener"] is None


def test_a_two_pack_has_hardener_and_a_clock(capsys):
    found = record(capsys, "--coating", "waterborne-clear-2k")
    assert found["hardener"] == pytest.approx(50e-6)
    assert found["pot_life_until"].endswith("Z")


def told(capsys, *more: str) -> str:
    assert run([*POT, *more]) == 0
    return " ".join(capsys.readouterr().out.split())


def test_hardener_of_a_family_says_where_it_is_from(capsys):
    found = record(capsys, "--coating", "waterborne-clear-2k")
    assert found["hardener_source"] == {"share": pytest.approx(0.1), "tag": "common practice"}
    assert record(capsys)["hardener_source"] is None


def test_hardener_of_the_shops_own_sheet_is_by_that_sheet(capsys, tmp_path):
    numbers = 'air_temperature_min = "14 C"\nrelative_humidity_max = "70 %"\nrecoat_from = "3 h"\n'
    numbers += 'recoat_until = "16 h"\npot_life = "90 min"\n'
    for more, words in (
        ('hardener_share = "25 %"\n', "Hardener 125 ml exactly, by your sheet."),
        ("", "Hardener 50 ml at the family's 10 %"),
    ):
        head = 'based_on = "waterborne-clear-2k"\nid = "own-clear"\nname = "Own clear"\n[numbers]\n'
        (tmp_path / "own.toml").write_text(head + numbers + more, encoding="utf-8")
        (tmp_path / "advisor.toml").write_text('coatings = ["own-clear"]\ndata_sheets = ["own.toml"]\n', "utf-8")
        assert words in told(capsys, "--config", str(tmp_path / "advisor.toml"), "--coating", "own-clear")


@pytest.mark.parametrize(("thinned", "over"), [("10%", False), ("9.9%", False), ("10.1%", True), ("30%", True)])
def test_a_pot_thinned_past_the_most_it_takes_is_never_said_to_run_as_it_is(capsys, thinned, over):
    """Two-pack clear takes 10 %: past it the pot said "Add nothing: it runs as it is"."""
    pot = ["--coating", "waterborne-clear-2k", "--seconds", "20", "--thinned", thinned]
    assert ("it runs as it is" in told(capsys, *pot)) is not over
    assert record(capsys, *pot)["over_thinned"] is over


def test_a_pot_too_thin_says_how_much_unthinned_paint_brings_it_back(capsys):
    """500 ml thinned 30 % is 384.6 paint and 115.4 thinner, which is 10 % of 1,153.8 paint."""
    pot = ["--coating", "waterborne-clear-2k", "--seconds", "20", "--thinned", "30%"]
    found = record(capsys, *pot)
    assert found["paint_back"] == pytest.approx(769.2e-6, rel=1e-3)
    assert found["thinner"] == 0.0
    assert record(capsys, "--coating", "waterborne-clear-2k", "--thinned", "10%")["paint_back"] is None


def test_a_coating_that_takes_no_thinner_and_has_had_some_wants_a_new_batch(capsys, tmp_path):
    numbers = 'air_temperature_min = "14 C"\nrelative_humidity_max = "70 %"\nrecoat_from = "3 h"\n'
    numbers += 'recoat_until = "16 h"\npot_life = "90 min"\nthinning_max = "0 %"\nthinning_usual_high = "0 %"\n'
    head = 'based_on = "waterborne-clear-2k"\nid = "own-clear"\nname = "Own clear"\n[numbers]\n'
    (tmp_path / "own.toml").write_text(head + numbers, encoding="utf-8")
    (tmp_path / "advisor.toml").write_text('coatings = ["own-clear"]\ndata_sheets = ["own.toml"]\n', "utf-8")
    own = ["--config", str(tmp_path / "advisor.toml"), "--coating", "own-clear", "--seconds", "20", "--thinned", "5%"]
    assert "Thinned 5 % already, it takes none: too thin" in (said := told(capsys, *own))
    assert "Mix a new batch unthinned." in said
    assert record(capsys, *own)["paint_back"] is None


@pytest.mark.parametrize(
    "wrong",
    [
        ["mix"], POT[:-2], [*POT, "--cup", "teacup"], [*POT, "--cup", "iso 8"], [*POT, "--seconds", "0"],
        [*POT, "--seconds", "-3"], [*POT, "--seconds", "nan"], [*POT, "--seconds", "1e9"], [*POT, "--seconds", "4"],
        [*POT, "--material", "19"], [*POT, "--material", "90C"], [*POT, "--batch", "0ml"], [*POT, "--batch", "500"],
        [*POT, "--batch", "900l"], [*POT, "--target", "x"], [*POT, "--thinned", "300%"], [*POT, "--coats", "0"],
        [*POT, "--air", "24C"], [*POT, "--rh", "50%"], [*POT, "--air", "24C", "--rh", "0.5"],
        [*POT, "--coating", "no-such"], [*POT, "--target", "3"],
    ],
    ids=lambda wrong: " ".join(wrong[-2:]),
)  # fmt: skip
def test_what_cannot_be_mixed_is_one_line_and_exit_2(capsys, wrong):
    assert run(wrong) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert len(said.err.splitlines()) == 1


@given(
    st.text(max_size=20),
    st.sampled_from(
        ["--cup", "--seconds", "--material", "--batch", "--target", "--thinned", "--area", "--wet-film", "--mixed"]
    ),
)
@settings(max_examples=examples(60))
def test_no_text_breaks_an_option(capsys, text, option):
    assert run([*POT, f"{option}={text}"]) in (0, 1, 2)
    assert len(capsys.readouterr().err.splitlines()) <= 1


def test_an_area_stands_for_the_batch(capsys):
    asked = [*POT[:-2], "--area", "2.5m2", "--coats", "2", "--json"]
    assert run(asked) == 0
    found = json.loads(capsys.readouterr().out)
    assert found["batch"] == pytest.approx(found["for_area"]["paint"])
    assert found["thinner"] == pytest.approx(found["for_area"]["thinner"])
    assert run([*asked[:-1]]) == 0
    assert "2.5 m2, 2 coats" in capsys.readouterr().out


def test_a_mix_too_old_is_not_to_be_sprayed(capsys):
    assert run([*POT, "--coating", "shellac", "--seconds", "20", "--mixed", "2019-05-01", "--json"]) == 1
    found = json.loads(capsys.readouterr().out)
    assert found["stopped"] is True
    assert found["gates"][0]["kind"] == "too_old"
    assert run([*POT, "--coating", "shellac", "--seconds", "20", "--mixed", "2019-05-01"]) == 1
    assert capsys.readouterr().out.startswith("WAIT: mixed ")


def test_a_wet_film_over_the_most_is_not_to_be_sprayed(capsys):
    asked = [*POT, "--coating", "waterborne-clear-2k", "--json"]
    assert run([*asked, "--wet-film", "151um"]) == 1
    assert run([*asked, "--wet-film", "150um"]) == 0
    capsys.readouterr()


@pytest.fixture
def shop(tmp_path):
    file = tmp_path / "advisor.toml"
    file.write_text('coatings = ["shellac"]\nlogbook = "log/logbook.db"\n', encoding="utf-8")
    return ["--config", str(file)]


def test_kept_readings_refine_the_next_answer(capsys, shop):
    """This paint thins half as fast as its family: after two kept readings more thinner is asked for."""
    before = record(capsys, *shop, "--target", "24")
    assert before["own_readings"] == 0
    for seconds, thinned in (("38", "0%"), ("33", "5%")):
        record(capsys, *shop, "--seconds", seconds, "--thinned", thinned, "--keep", "--tin", "blue")
    after = record(capsys, *shop, "--target", "24")
    assert after["own_readings"] == 2
    assert after["thinning_slope"] < before["thinning_slope"]
    assert after["thinner"] > before["thinner"]
    assert run([*POT, *shop]) == 0
    assert "By your own 2 cup readings" in capsys.readouterr().out
    assert record(capsys, *shop, "--coating", "waterborne-sealer")["own_readings"] == 0


def test_a_reading_kept_without_a_tin_is_todays(capsys, shop):
    record(capsys, *shop, "--keep")
    assert record(capsys, *shop, "--seconds", "33", "--thinned", "5%", "--keep")["own_readings"] == 2


def test_contradicting_readings_are_left_out_with_a_word(capsys, shop):
    for seconds, thinned in (("38", "0%"), ("140", "60%")):
        assert run([*POT, *shop, "--seconds", seconds, "--thinned", thinned, "--keep", "--tin", "a"]) == 0
    said = capsys.readouterr()
    assert "left out" in said.err
    assert record(capsys, *shop)["own_readings"] == 0


def test_a_broken_logbook_does_not_close_the_bench(capsys, shop, tmp_path):
    (tmp_path / "log").mkdir()
    (tmp_path / "log" / "logbook.db").write_bytes(b"no database" * 100)
    assert run([*POT, *shop]) == 0
    said = capsys.readouterr()
    assert "Add " in said.out
    assert len(said.err.splitlines()) == 1
    assert run([*POT, *shop, "--keep"]) == 2


@pytest.mark.parametrize(
    "wrong",
    [["--area", "0m2"], ["--area", "2.5"], ["--area", "900m2"], ["--wet-film", "5mm"], ["--mixed", "yesterday"],
     ["--mixed", "2999-01-01"], ["--tin", "blue"], ["--keep", "--tin", " "], ["--keep", "--tin", "x" * 61]],
    ids=" ".join,
)  # fmt: skip
def test_what_is_wrong_about_area_film_age_and_tin_is_one_line(capsys, shop, wrong):
    assert run([*POT, *shop, *wrong]) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert len(said.err.splitlines()) == 1


def test_what_lies_below_is_told_at_the_bench(capsys):
    below = ["--coating", "solvent-polyurethane-2k", "--over", "nitrocellulose-lacquer"]
    assert run([*POT, *below, "--json"]) == 1
    assert json.loads(capsys.readouterr().out)["over"]["standing"] == "no"
    assert run([*POT, *below]) == 1
    assert "nitrocellulose" in capsys.readouterr().out.lower()
    assert record(capsys)["over"] is None
