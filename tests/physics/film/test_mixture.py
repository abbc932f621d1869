"""Activities in a drying film: the limiting laws of Flory and Huggins, and what water may never do."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from advisor.catalog.solvents import solvents
from advisor.film.wet_film import liquids_of, pull_from_uptake
from advisor.physics.film.mixture import Resin, activity_per_mass

NAMES = ("acetone", "toluene", "n-butyl-acetate", "isopropanol")
LIQUIDS = liquids_of(NAMES)
WATER = LIQUIDS.names.index("water")
LACQUER, DISPERSION = Resin(3.0, False), Resin(3.0, True)
NONE = np.zeros(1)
amounts = st.lists(st.floats(0.0, 0.2), min_size=5, max_size=5)


def activity(masses, resin_volume=0.0, resin=LACQUER, liquids=LIQUIDS):
    """Activities (S,) of one film."""
    mass = np.asarray(masses, dtype=np.float64)[None]
    return (activity_per_mass(mass, NONE + resin_volume, liquids, resin) * mass)[0]


def mass_of(**moles: float):
    return [moles.get(name.replace("-", "_"), 0.0) * LIQUIDS.molar_mass[n] for n, name in enumerate(LIQUIDS.names)]


def test_molecules_of_one_size_without_resin_follow_raoult():
    """With equal molar volumes an activity is the mole fraction (Flory 1953, ch. XII, x = 1)."""
    same = replace(LIQUIDS, density=LIQUIDS.molar_mass / 1e-4)
    moles = {"acetone": 0.2, "toluene": 0.5, "n_butyl_acetate": 0.3}
    found = activity(mass_of(**moles), liquids=same)
    for name, share in moles.items():
        assert found[LIQUIDS.names.index(name.replace("_", "-"))] == pytest.approx(share, rel=1e-6)


def test_a_pure_liquid_has_an_activity_of_1():
    for name in LIQUIDS.names:
        masses = [0.05 if each == name else 0.0 for each in LIQUIDS.names]
        assert activity(masses)[LIQUIDS.names.index(name)] == pytest.approx(1.0, rel=1e-6)


@pytest.mark.parametrize("name", NAMES)
def test_a_trace_of_water_in_a_solvent_has_the_activity_of_the_solvent_table(name):
    """Round trip of the table's activity coefficient through the interaction to the film's activity."""
    masses = np.array(mass_of(**{name.replace("-", "_"): 1.0, "water": 1e-6}))
    expected = solvents()[name].water_activity_coefficient * 1e-6
    assert activity(masses)[WATER] == pytest.approx(expected, rel=1e-3)


@given(st.floats(0.002, 0.4))
def test_the_bare_resin_holds_the_water_it_was_said_to_in_saturated_air(uptake):
    """Round trip: at that share of the volume the water's activity is 1."""
    resin = Resin(pull_from_uptake(uptake), False)
    volume = 20e-6
    masses = np.zeros(5)
    masses[WATER] = volume * uptake / (1.0 - uptake) * LIQUIDS.density[WATER]
    assert activity(masses, volume, resin)[WATER] == pytest.approx(1.0, abs=1e-5)
    masses[WATER] *= 0.9
    assert activity(masses, volume, resin)[WATER] < 1.0


@given(amounts, st.floats(0.0, 1e-4), st.sampled_from([LACQUER, DISPERSION]))
def test_waters_activity_is_never_over_1_and_none_is_below_0(masses, resin_volume, resin):
    found = activity(masses, resin_volume, resin)
    assert np.all(np.isfinite(found))
    assert found[WATER] <= 1.0 + 1e-12
    assert np.all(found >= 0.0)


@given(amounts, st.floats(1e-6, 1e-4))
def test_in_a_dispersion_water_is_no_freer_than_its_share_of_the_moles(masses, resin_volume):
    """What mixes with water lowers it as Raoult says; the particles do not until they are nearly dry."""
    moles = np.asarray(masses) / LIQUIDS.molar_mass
    share = moles[WATER] / max((moles * LIQUIDS.water_miscible).sum(), 1e-12)
    assert activity(masses, resin_volume, DISPERSION)[WATER] <= share + 1e-9


def test_water_in_a_wet_dispersion_is_nearly_free_and_in_its_last_traces_is_held():
    """Half water by volume: activity 1; 1 % of the resin: as Flory says, phi exp(1 - phi + chi (1 - phi)^2)."""
    volume = 20e-6
    wet, dry = np.zeros(5), np.zeros(5)
    wet[WATER], dry[WATER] = volume * LIQUIDS.density[WATER], 0.01 * volume * LIQUIDS.density[WATER]
    assert activity(wet, volume, DISPERSION)[WATER] == pytest.approx(1.0, abs=1e-6)
    phi = 0.01 / 1.01
    expected = phi * np.exp(1.0 - phi + DISPERSION.water_interaction * (1.0 - phi) ** 2)
    assert activity(dry, volume, DISPERSION)[WATER] == pytest.approx(expected, rel=1e-5)
    assert expected < 0.6


@given(st.floats(0.01, 0.99), st.floats(0.001, 0.009))
def test_a_solvent_pushes_less_the_more_resin_there_is(share, more):
    """Flory-Huggins with chi 0.4: no second phase, so the activity falls all the way as the resin's share rises."""
    volume, index = 50e-6, LIQUIDS.names.index("n-butyl-acetate")

    def at(resin_share):
        masses = np.zeros(5)
        masses[index] = volume * (1.0 - resin_share) * LIQUIDS.density[index]
        return activity(masses, volume * resin_share)[index]

    assert at(share) > at(min(share + more, 0.999))


def test_a_solvent_in_much_resin_is_held_as_flory_says():
    """Infinite dilution in a resin: a = phi exp(1 + chi)."""
    index, volume = LIQUIDS.names.index("toluene"), 50e-6
    masses = np.zeros(5)
    masses[index] = 1e-6 * volume * LIQUIDS.density[index]
    found = activity(masses, volume)[index]
    assert found == pytest.approx(1e-6 * np.exp(1.0 + LIQUIDS.resin_interaction[index]), rel=1e-4)


@given(amounts, st.floats(1e-7, 1e-4), st.floats(0.1, 10.0))
def test_activities_know_the_make_up_and_not_the_thickness(masses, resin_volume, times):
    if sum(masses) < 1e-3:
        return
    thick = activity(np.array(masses) * times, resin_volume * times)
    # a guard against dividing by nothing is felt at traces: 1.3e-4 for 0.1 mg in a film of 125 g/m2
    assert thick == pytest.approx(activity(masses, resin_volume), rel=1e-3, abs=1e-9)


def test_a_list_without_water_is_taken_as_it_is():
    without = LIQUIDS.names.index("water")
    keep = [n for n in range(5) if n != without]
    columns = {
        name: getattr(LIQUIDS, name)[keep] for name in LIQUIDS.__dataclass_fields__ if name not in ("names", "water")
    }
    dry = replace(LIQUIDS, names=tuple(LIQUIDS.names[n] for n in keep), water=None, **columns)
    masses = np.array([0.01, 0.02, 0.03, 0.01])
    full = np.insert(masses, without, 0.0)
    assert activity(masses, 1e-5, liquids=dry) == pytest.approx(activity(full, 1e-5)[keep], rel=1e-9)
