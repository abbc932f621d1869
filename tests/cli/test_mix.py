"""`advisor mix`: fixed keys, and one line for everything that cannot be mixed."""

import json

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from advisor.cli.app import run

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


def test_an_estimate_names_the_cup_to_use(capsys):
    assert run([*POT, "--coating", "shellac", "--seconds", "16"]) == 0
    assert "an estimate (outside this cup's range); ISO 4 would measure it" in " ".join(capsys.readouterr().out.split())


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


@given(st.text(max_size=20), st.sampled_from(["--cup", "--seconds", "--material", "--batch", "--target", "--thinned"]))
@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_no_text_breaks_an_option(capsys, text, option):
    assert run([*POT, f"{option}={text}"]) in (0, 2)
    assert len(capsys.readouterr().err.splitlines()) <= 1
