"""Heat and vapour between a surface and the air: air's properties, a small plate, radiation, the analogy."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from advisor.errors import OutOfRange
from advisor.film.wet_film import liquids_of
from advisor.physics.film import transfer
from advisor.physics.film.transfer import convection, mass_transfer
from tests.oracles import coolprop, integrate
from tests.physics.film.film_cases import SEA_LEVEL

ROOM = 293.15  # [K]
LIQUIDS = liquids_of(["acetone", "ethyl-acetate", "toluene", "n-butyl-acetate"])
speeds, lengths = st.floats(0.02, 4.9), st.floats(0.006, 2.9)


@pytest.mark.parametrize("celsius", [0.0, 10.0, 20.0, 30.0, 40.0, 60.0])
def test_dry_air_is_that_of_its_reference_equations_within_1_percent(celsius):
    """CoolProp: Lemmon's equation for air; conductivity claims 1 %, Prandtl's number is a constant of 0.71."""
    kelvin = celsius + 273.15

    def air(quantity):
        return coolprop.PropsSI(quantity, "T", kelvin, "P", SEA_LEVEL, "Air")

    assert transfer.air_density(kelvin, SEA_LEVEL) == pytest.approx(air("D"), rel=0.01)
    assert transfer.air_conductivity(kelvin) == pytest.approx(air("L"), rel=0.01)
    assert transfer.air_viscosity(kelvin) == pytest.approx(air("V"), rel=0.01)
    assert pytest.approx(air("PRANDTL"), rel=0.01) == transfer.AIR_PRANDTL
    assert pytest.approx(air("C"), rel=0.01) == transfer.AIR_HEAT_CAPACITY


def pohlhausen(prandtl: float) -> float:
    """Average Nu / Re^1/2 of an isothermal plate, from Blasius' boundary layer solved here (0.332 at the wall)."""

    def blasius(_, layer):
        stream, speed, shear = layer
        return [speed, shear, -0.5 * stream * shear]

    found = integrate.solve_ivp(blasius, (0.0, 12.0), [0.0, 0.0, 0.332057], dense_output=True, rtol=1e-9, atol=1e-11)
    assert found.y[1, -1] == pytest.approx(1.0, abs=1e-4)  # the free stream is reached: the shear is right
    # the energy equation over it: theta' runs as shear to the power of Pr
    return 2.0 / integrate.quad(lambda height: (found.sol(height)[2] / 0.332057) ** prandtl, 0.0, 12.0)[0]


def test_a_plate_in_moving_air_takes_up_heat_as_the_boundary_layer_equations_say():
    """The 0.664 Pr^1/3 form is good to 2.5 % for Pr 0.6 to 15 (heat-transfer textbooks, from memory)."""
    speed, length = 2.0, 0.1
    kinematic = transfer.air_viscosity(ROOM) / transfer.air_density(ROOM, SEA_LEVEL)
    exact = pohlhausen(0.71) * np.sqrt(speed * length / kinematic) * transfer.air_conductivity(ROOM) / length
    assert convection(speed, length, ROOM, SEA_LEVEL, difference=0.0) == pytest.approx(exact, rel=0.025)


def test_a_small_plate_in_still_air_has_the_few_watts_of_natural_convection():
    """Handbooks give 3 to 6 W/(m2 K) without radiation for 0.1 m and some kelvins (common practice, no source)."""
    assert 3.0 < float(convection(0.0, 0.1, ROOM, SEA_LEVEL)) < 6.0


@given(speeds, lengths)
def test_heat_transfer_rises_with_speed_and_falls_with_size(speed, length):
    here = convection(speed, length, ROOM, SEA_LEVEL)
    assert convection(speed * 1.02, length, ROOM, SEA_LEVEL) > here
    assert convection(speed, length * 1.02, ROOM, SEA_LEVEL) < here
    assert convection(speed, length, ROOM, SEA_LEVEL, difference=8.0) > here
    assert here > convection(0.0, length, ROOM, SEA_LEVEL)


def test_fast_air_goes_with_the_root_of_speed_over_length():
    fast = convection(4.0, 0.1, ROOM, SEA_LEVEL, difference=0.0)
    assert fast / convection(1.0, 0.1, ROOM, SEA_LEVEL, difference=0.0) == pytest.approx(2.0)
    assert fast / convection(4.0, 0.4, ROOM, SEA_LEVEL, difference=0.0) == pytest.approx(2.0)


def test_several_airs_at_once_are_each_their_own():
    kelvins = np.array([280.0, 300.0])
    both = convection(np.array([0.3, 1.0]), 0.1, kelvins, SEA_LEVEL)
    assert both == pytest.approx([float(convection(v, 0.1, t, SEA_LEVEL)) for v, t in ((0.3, 280.0), (1.0, 300.0))])
    moved = mass_transfer(both, LIQUIDS, kelvins, SEA_LEVEL)
    assert moved.shape == (2, len(LIQUIDS.names))
    assert moved[0] == pytest.approx(mass_transfer(both[0], LIQUIDS, 280.0, SEA_LEVEL))


@pytest.mark.parametrize(
    ("speed", "length", "words"),
    [(-0.1, 0.1, "air speed"), (5.1, 0.1, "air speed"), (np.nan, 0.1, "air speed"), (1.0, 0.004, "dimension"),
     (1.0, 3.1, "dimension")],
)  # fmt: skip
def test_air_or_a_thing_outside_the_range_is_refused(speed, length, words):
    with pytest.raises(OutOfRange, match=words):
        convection(speed, length, ROOM, SEA_LEVEL)


@pytest.mark.parametrize(("speed", "length"), [(0.0, 0.005), (5.0, 3.0)])
def test_the_edges_of_the_range_are_inside(speed, length):
    assert convection(speed, length, ROOM, SEA_LEVEL) > 0.0


def test_radiation_is_the_slope_of_the_fourth_power_law():
    """Within the second-order term, 0.5 % at 10 K on either side."""
    watts = transfer.EMISSIVITY * transfer.STEFAN_BOLTZMANN * ((ROOM + 5.0) ** 4 - (ROOM - 5.0) ** 4)
    assert transfer.radiation(ROOM) == pytest.approx(watts / 10.0, rel=0.005)
    assert transfer.radiation(ROOM + 10.0) > transfer.radiation(ROOM)


def test_water_and_air_have_the_psychrometric_ratio_of_the_textbooks():
    """950 J/(kg K), Treybal 3rd ed. ch. 7 (from memory); the analogy itself is good to some 5 %."""
    ratio = 10.0 / (mass_transfer(10.0, LIQUIDS, ROOM, SEA_LEVEL) * transfer.air_density(ROOM, SEA_LEVEL))
    assert ratio[LIQUIDS.names.index("water")] == pytest.approx(950.0, rel=0.05)
    order = [ratio[LIQUIDS.names.index(name)] for name in ("acetone", "ethyl-acetate", "toluene", "n-butyl-acetate")]
    assert order == sorted(order)  # the slower the vapour, the more heat comes with it


def test_in_still_air_a_sphere_has_sherwood_number_2():
    """Nu = 2 goes with Sh = 2, so the coefficient is 2 D / d of each vapour, whatever heat does."""
    diameter = 30e-6
    heat = 2.0 * float(transfer.air_conductivity(ROOM)) / diameter
    found = mass_transfer(heat, LIQUIDS, ROOM, SEA_LEVEL, transfer.IN_STILL_AIR)
    assert found == pytest.approx(2.0 * LIQUIDS.diffusivity(ROOM, SEA_LEVEL) / diameter, rel=1e-12)


@given(st.floats(1.0, 60.0))
def test_vapour_moves_in_proportion_to_heat_and_lighter_vapour_faster(heat):
    found = mass_transfer(heat, LIQUIDS, ROOM, SEA_LEVEL)
    assert mass_transfer(2.0 * heat, LIQUIDS, ROOM, SEA_LEVEL) == pytest.approx(2.0 * found)
    assert found[LIQUIDS.names.index("water")] == found.max()
