"""Volatile liquids as arrays: vapour pressure, heat of vaporisation, diffusivity, and Flory-Huggins from dilution."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from advisor.catalog.solvents import solvents
from advisor.catalog.sourced import table_rows
from advisor.errors import OutOfRange
from advisor.film.wet_film import liquids_of
from advisor.physics.film.liquids import interaction_from_dilute_activity
from tests.oracles import coolprop
from tests.physics.film.film_cases import SEA_LEVEL
from tests.support import every

LIQUIDS = liquids_of(list(solvents()))
ROOM = 298.15  # [K]
REFERENCE_EQUATIONS = {"water": "Water", "acetone": "Acetone", "methanol": "Methanol", "ethanol": "Ethanol"}
kelvins = st.floats(250.0, 330.0)


def of(name: str) -> int:
    return LIQUIDS.names.index(name)


@pytest.mark.parametrize(
    ("name", "published", "source"),
    [
        ("water", 2.5e-5, "heat-transfer textbooks, water vapour in air at 25 °C (from memory)"),
        ("toluene", 0.85e-5, "textbooks, toluene in air at 25 °C, 0.84 to 0.88 (from memory)"),
        ("ethanol", 1.19e-5, "textbooks, ethanol in air at 25 °C (from memory)"),
    ],
)
def test_diffusivity_in_air_meets_measured_values_within_twice_the_stated_average_error(name, published, source):
    """Fuller's authors state about 4 % on average; a single pair may lie at twice that."""
    assert LIQUIDS.diffusivity(ROOM, SEA_LEVEL)[of(name)] == pytest.approx(published, rel=0.08), source


def test_diffusivity_of_water_meets_textbooks_within_the_stated_average_error():
    assert LIQUIDS.diffusivity(ROOM, SEA_LEVEL)[of("water")] == pytest.approx(2.5e-5, rel=0.04)


def test_diffusivity_rises_with_warmth_and_falls_with_pressure_and_size():
    """T^1.75 and 1/p are the equation's own; a heavier ester moves more slowly than a lighter one."""
    cold, warm = LIQUIDS.diffusivity(280.0, SEA_LEVEL), LIQUIDS.diffusivity(308.0, SEA_LEVEL)
    assert warm / cold == pytest.approx(1.1**1.75)
    assert LIQUIDS.diffusivity(280.0, 2 * SEA_LEVEL) * 2 == pytest.approx(cold)
    assert cold[of("methyl-acetate")] > cold[of("ethyl-acetate")] > cold[of("n-butyl-acetate")]


def test_diffusivity_of_several_temperatures_is_that_of_each():
    both = LIQUIDS.diffusivity(np.array([280.0, 308.0]), SEA_LEVEL)
    assert both.shape == (2, len(LIQUIDS.names))
    assert both[1] == pytest.approx(LIQUIDS.diffusivity(308.0, SEA_LEVEL), rel=1e-14)


@given(kelvins)
def test_the_slope_is_the_slope_of_the_vapour_pressure(kelvin):
    low, high = (np.log(LIQUIDS.vapour_pressure(np.array(kelvin + side))) for side in (-0.01, 0.01))
    assert (high - low) / 0.02 == pytest.approx(LIQUIDS.vapour_slope(np.array(kelvin)), rel=1e-6)


@given(kelvins)
def test_every_vapour_pressure_rises_and_every_latent_heat_falls_with_warmth(kelvin):
    here, warmer = np.array(kelvin), np.array(kelvin + 1.0)
    assert np.all(LIQUIDS.vapour_pressure(warmer) > LIQUIDS.vapour_pressure(here))
    assert np.all(LIQUIDS.latent_heat(warmer) < LIQUIDS.latent_heat(here))


def test_latent_heat_at_25_degrees_is_that_of_the_table():
    table = np.array([solvents()[name].heat_of_vaporisation / solvents()[name].molar_mass for name in LIQUIDS.names])
    assert LIQUIDS.latent_heat(np.array(ROOM)) == pytest.approx(table, rel=1e-12)


@pytest.mark.parametrize(("name", "fluid"), REFERENCE_EQUATIONS.items())
def test_latent_heat_moves_with_temperature_as_reference_equations_do(name, fluid):
    """CoolProp's equations of state, 0.1 to 40 °C; the form is an ideal vapour's, so 1.5 % (water 0.3 %)."""
    for celsius in (0.1, 10.0, 25.0, 40.0):
        kelvin = celsius + 273.15
        vapour, liquid = (coolprop.PropsSI("H", "T", kelvin, "Q", quality, fluid) for quality in (1, 0))
        claim = 0.003 if name == "water" else 0.015
        assert LIQUIDS.latent_heat(np.array(kelvin))[of(name)] == pytest.approx(vapour - liquid, rel=claim)


def test_latent_heat_and_vapour_pressure_belong_together():
    """Clausius-Clapeyron: the heat is R T2 times the slope, within the 6 % that real vapours and fits leave."""
    slope = LIQUIDS.vapour_slope(np.array(ROOM)) * 8.314462618 * ROOM**2 / LIQUIDS.molar_mass
    tags = {row["id"]: row["thermal_tag"] for row in table_rows("solvents.csv")}
    published = np.array([tags[name] == "published" for name in LIQUIDS.names])
    assert published.sum() > 15
    assert (LIQUIDS.latent_heat(np.array(ROOM)) / slope)[published] == pytest.approx(1.0, abs=0.06)


def test_molar_volume_is_mass_over_density():
    assert LIQUIDS.molar_volume[of("water")] == pytest.approx(18.05e-6, rel=1e-3)


@given(st.floats(0.1, 5_000.0), st.floats(0.05, 5.0))
def test_interaction_gives_back_the_activity_coefficient_it_came_from(coefficient, ratio):
    """ln gamma = ln r + 1 - r + chi at infinite dilution, Flory 1953 ch. XII."""
    chi = interaction_from_dilute_activity(np.array([coefficient]), np.array([ratio]))
    assert np.exp(np.log(ratio) + 1.0 - ratio + chi) == pytest.approx(coefficient, rel=1e-12)


def test_a_liquid_of_the_same_size_that_behaves_ideally_has_no_interaction():
    assert interaction_from_dilute_activity(np.array([1.0]), np.array([1.0]))[0] == 0.0


def test_a_liquid_that_is_pushed_out_more_has_the_higher_interaction():
    low, high = interaction_from_dilute_activity(np.array([2.0, 20.0]), np.array([0.2, 0.2]))
    assert high - low == pytest.approx(np.log(10.0))


@pytest.mark.parametrize(("coefficient", "ratio"), [(0.0, 1.0), (-1.0, 1.0), (1.0, 0.0), (np.nan, 1.0)])
def test_an_activity_coefficient_or_ratio_that_cannot_be_is_refused(coefficient, ratio):
    with pytest.raises(OutOfRange, match="activity coefficient"):
        interaction_from_dilute_activity(np.array([coefficient]), np.array([ratio]))


@every("name", ["molar_mass", "density", "antoine_b", "heat_of_vaporisation", "heat_capacity", "diffusion_volume"])
@every("value", [0.0, -1.0, np.nan])
def test_figures_no_liquid_has_are_refused(name, value):
    figures = getattr(LIQUIDS, name).copy()
    figures[2] = value
    with pytest.raises(OutOfRange, match=name):
        replace(LIQUIDS, **{name: figures})


def test_a_figure_short_is_refused():
    with pytest.raises(OutOfRange, match="density"):
        replace(LIQUIDS, density=LIQUIDS.density[:-1])
