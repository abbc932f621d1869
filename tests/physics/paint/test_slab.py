"""Conduction into a slab against exact solutions (Carslaw and Jaeger, Conduction of Heat in Solids, 2nd ed. 1959)."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from advisor.errors import OutOfRange
from advisor.physics.film.slab import CELLS, Slab, cell_widths, slab_modes
from tests.physics.film.film_cases import slab_of

WOOD = Slab(0.020, 0.16, 680.0, 1650.0, 0.0)
THIN = Slab(0.004, 0.16, 680.0, 1650.0, 0.0)
STEEL = Slab(0.001, 50.0, 7850.0, 470.0, 0.0)
FLOW = 300.0  # [W/m2] into the face, about what a wet film draws


def warmed(slab: Slab, seconds: float, cells: int = CELLS, steps: int = 1, flow: float = FLOW, back_air: float = 0.0):
    """The face's warming [K] and the heat stored [J/m2] after a steady flow, in so many exact steps."""
    modes = slab_modes((slab,), cells)
    step = seconds / steps
    turned = modes.rates[0] * step
    decay = np.exp(-turned)
    held = np.where(turned > 1e-9, -np.expm1(-turned) / np.maximum(modes.rates[0], 1e-30), step)
    state = np.zeros(cells)
    for _ in range(steps):
        state = state * decay + held * (modes.drive[0] * flow + modes.back_drive[0] * back_air)
    face = float(modes.front[0] @ state) + flow / modes.conductance[0]
    return face, float(modes.heat_content[0] @ state)


@pytest.mark.parametrize("seconds", [3.0, 10.0, 60.0, 200.0])
def test_a_thick_slab_warms_as_a_half_space_under_constant_flux(seconds):
    """T = 2 q sqrt(t / (pi k rho c)), section 2.9; the cells are good to 2 % of it after the first 3 s."""
    exact = 2.0 * FLOW * np.sqrt(seconds / (np.pi * 0.16 * 680.0 * 1650.0))
    assert warmed(WOOD, seconds)[0] == pytest.approx(exact, rel=0.02)


def test_finer_cells_come_nearer_to_the_half_space():
    exact = 2.0 * FLOW * np.sqrt(10.0 / (np.pi * 0.16 * 680.0 * 1650.0))
    errors = [abs(warmed(WOOD, 10.0, cells)[0] - exact) for cells in (8, 16, 32, 64)]
    assert errors == sorted(errors, reverse=True)
    assert errors[-1] < 0.003 * exact


def plate(slab: Slab, seconds: float) -> float:
    """The face of a plate with an insulated back under constant flux, section 3.8 (iii)."""
    fourier = slab.conductivity * seconds / (slab.density * slab.heat_capacity * slab.thickness**2)
    n = np.arange(1, 400)
    series = (2.0 / np.pi**2) * np.sum(np.exp(-((n * np.pi) ** 2) * fourier) / n**2)
    return FLOW * slab.thickness / slab.conductivity * (fourier + 1.0 / 3.0 - series)


@pytest.mark.parametrize("slab", [THIN, WOOD, STEEL], ids=["4 mm wood", "20 mm wood", "1 mm steel"])
@pytest.mark.parametrize("seconds", [5.0, 60.0, 600.0])
def test_a_plate_with_an_insulated_back_follows_its_exact_series(slab, seconds):
    assert warmed(slab, seconds)[0] == pytest.approx(plate(slab, seconds), rel=0.02)


@given(st.floats(0.0005, 0.05), st.floats(0.05, 60.0), st.floats(0.01, 1e5))
def test_a_slab_that_loses_nothing_stores_exactly_what_flowed_in(thickness, conductivity, seconds):
    _, stored = warmed(Slab(thickness, conductivity, 800.0, 1500.0, 0.0), seconds)
    assert stored == pytest.approx(FLOW * seconds, rel=1e-6)


@given(st.integers(2, 40))
def test_one_long_step_is_many_short_ones(steps):
    slab = Slab(0.02, 0.16, 680.0, 1650.0, 8.0)
    assert warmed(slab, 120.0, steps=steps) == pytest.approx(warmed(slab, 120.0), rel=1e-9)


def test_in_the_long_run_the_heat_leaves_by_the_back():
    """Steady: q (1 / back + thickness / conductivity); the cells carry it exactly."""
    slab = Slab(0.02, 0.16, 680.0, 1650.0, 8.0)
    assert warmed(slab, 1e7)[0] == pytest.approx(FLOW * (1 / 8.0 + 0.02 / 0.16), rel=1e-6)


def test_air_at_the_back_brings_the_whole_slab_to_its_temperature():
    slab = Slab(0.02, 0.16, 680.0, 1650.0, 8.0)
    face, stored = warmed(slab, 1e7, flow=0.0, back_air=5.0)
    assert face == pytest.approx(5.0, rel=1e-6)
    assert stored == pytest.approx(5.0 * 0.02 * 680.0 * 1650.0, rel=1e-6)


@given(st.floats(1.0, 1000.0))
def test_the_face_warms_on_and_less_in_what_conducts_and_stores_more(seconds):
    here = warmed(WOOD, seconds)[0]
    assert warmed(WOOD, 1.1 * seconds)[0] > here
    assert warmed(Slab(0.02, 0.32, 680.0, 1650.0, 0.0), seconds)[0] < here
    assert warmed(Slab(0.02, 0.16, 900.0, 1650.0, 0.0), seconds)[0] < here
    assert warmed(Slab(0.02, 0.16, 680.0, 1650.0, 8.0), seconds)[0] <= here + 1e-9


@given(st.floats(2e-4, 0.2), st.integers(2, 60))
def test_cells_fill_the_slab_and_grow_from_the_face(thickness, cells):
    widths = cell_widths(thickness, cells)
    assert widths.sum() == pytest.approx(thickness)
    assert np.all(np.diff(widths) >= -1e-12)


def test_several_slabs_at_once_are_each_their_own():
    both = slab_modes((WOOD, STEEL))
    assert both.rates.shape == (2, CELLS)
    assert both.rates[1] == pytest.approx(slab_modes((STEEL,)).rates[0])
    assert both.conductance[0] == pytest.approx(slab_modes((WOOD,)).conductance[0])


@pytest.mark.parametrize(
    "figures",
    [(0.0, 0.16, 680.0, 1650.0, 8.0), (0.02, -1.0, 680.0, 1650.0, 8.0), (0.02, 0.16, np.nan, 1650.0, 8.0),
     (0.02, 0.16, 680.0, np.inf, 8.0), (0.02, 0.16, 680.0, 1650.0, -1.0), (0.02, 0.16, 680.0, 1650.0, np.nan)],
)  # fmt: skip
def test_what_cannot_be_a_slab_is_refused(figures):
    with pytest.raises(OutOfRange, match="slab"):
        Slab(*figures)


def test_wood_warms_more_than_thin_steel_and_thin_steel_more_than_glass():
    """After a minute: 1 mm of steel is warm right through and stores less than half of what 4 mm of glass does."""
    faces = [warmed(slab_of(name, back=0.0), 60.0)[0] for name in ("wood", "steel", "glass")]
    assert faces == sorted(faces, reverse=True)
