"""Vapour: the regulation's arithmetic row by row, ideal gas, Le Chatelier, and a room that fills and clears."""

from math import exp, inf, nan

import pytest
from hypothesis import given
from hypothesis import strategies as st

from advisor.catalog.solvents import solvents
from advisor.errors import OutOfRange
from advisor.physics.room import vapour as v
from tests.oracles import chemicals
from tests.support import every, reference_rows

TABLE = reference_rows("dilution_table.csv")
GALLON, FOOT = 231 * 0.0254**3, 0.3048
ROOM_70F = (70 - 32) / 1.8
# kg/m3 at 20 °C, from memory, where no library keeps one: iso-amyl acetate, 1,2-dichloroethylene, ethyl lactate,
# 2-ethoxyethanol and its acetate, 2-methoxyethanol
DENSITIES = {"123-92-2": 872.0, "540-59-0": 1270.0, "97-64-3": 1033.0, "110-80-5": 930.0, "111-15-9": 973.0,
             "109-86-4": 965.0}  # fmt: skip
made, drawn, limits = st.floats(1e-6, 0.01), st.floats(0.01, 5.0), st.floats(0.005, 0.08)


def liquid(cas: str) -> tuple[float, float] | None:
    """Molar mass [kg/mol] and density near 70 °F [kg/m3]: of our catalog, or of handbooks kept by chemicals."""
    for solvent in solvents().values():
        if solvent.cas == cas:
            return solvent.molar_mass, solvent.density
    kelvin = ROOM_70F + 273.15
    if cas in chemicals.volume.rho_data_VDI_PPDS_2.index:
        row = chemicals.volume.rho_data_VDI_PPDS_2.loc[cas]
        rest = 1 - kelvin / row.Tc
        terms = zip((row.A, row.B, row.C, row.D), (0.35, 2 / 3, 1.0, 4 / 3), strict=True)
        return chemicals.MW(cas) / 1000, row.rhoc + sum(factor * rest**power for factor, power in terms)
    if cas in chemicals.volume.rho_data_Perry_8E_105_l.index:
        row = chemicals.volume.rho_data_Perry_8E_105_l.loc[cas]
        density = chemicals.EQ105(kelvin, row.C1, row.C2, row.C3, row.C4) * chemicals.MW(cas) / 1000
        return chemicals.MW(cas) / 1000, density
    return (chemicals.MW(cas) / 1000, DENSITIES[cas]) if cas in DENSITIES else None


@every("row", TABLE, lambda row: row["solvent"])
def test_the_air_a_gallon_needs_is_the_regulation_s(row):
    """29 CFR 1910.94(c)(6)(ii) with Table G-11, from memory: 4 (100 - LEL) ft3 of vapour / LEL, to its last figure."""
    air = v.dilution_air(float(row["vapour_ft3_per_gallon"]), float(row["lel_pct"]) / 100)
    assert air == pytest.approx(float(row["air_ft3_per_gallon"]), abs=0.51)


def test_toluene_is_the_regulation_s_own_example():
    assert v.dilution_air(30.4, 0.014) == pytest.approx(8564, abs=0.5)


def test_today_s_limit_asks_for_more_air_than_the_table_of_1971():
    for row in TABLE:
        newer = [float(row[key]) for key in ("lel_pct_iec", "lel_pct_nfpa") if row[key]]
        lowest = min([*newer, float(row["lel_pct"])])
        assert v.dilution_air(1.0, lowest / 100) >= v.dilution_air(1.0, float(row["lel_pct"]) / 100)
    assert v.dilution_air(30.4, solvents()["toluene"].lfl) > 1.4 * 8564


@pytest.mark.slow
def test_a_gallon_makes_the_vapour_of_the_table_within_6_percent():
    """Ideal gas at 70 °F from a handbook's density, six of them from memory; Table G-11 from memory."""
    computed, left = {}, []
    for row in TABLE:
        if found := liquid(row["cas"]):
            per_kilogram = v.vapour_of([v.Volatile(1.0, found[0], 0.01)], ROOM_70F).volume
            computed[row["solvent"]] = per_kilogram * found[1] * GALLON / FOOT**3
        else:
            left.append(row["solvent"])
    stated = {row["solvent"]: float(row["vapour_ft3_per_gallon"]) for row in TABLE if row["solvent"] in computed}
    assert stated == pytest.approx(computed, rel=0.06)
    assert left == ["Naphtha VM&P (76 naphtha)", "Naphtha 100 flash / Stoddard", "Turpentine"]


def test_the_air_of_the_regulation_leaves_a_quarter_of_the_limit():
    """It takes (100 - LEL) for the air of the mix at its limit, so the room stands at a quarter or a hair over it."""
    for limit in (0.006, 0.014, 0.06):
        air = v.dilution_air(1.0, limit)
        assert 0.25 <= 1.0 / (1.0 + air) / limit < 0.263


@given(st.floats(0.0, 1.0), limits, limits)
def test_a_blend_lies_between_its_parts_as_le_chatelier_says(share, first, second):
    """1 / L = sum of mole share / L."""
    parts = [v.Volatile(share, 0.1, first), v.Volatile(1 - share, 0.1, second)]
    blend = v.vapour_of(parts)
    assert 1 / blend.lower_limit == pytest.approx(share / first + (1 - share) / second)
    assert min(first, second) * 0.999 <= blend.lower_limit <= max(first, second) * 1.001


def test_equal_shares_by_mole_are_not_equal_by_mass():
    """Worked by hand: a mole of each, limits 1 and 3 %: 2 / (1/1 + 1/3) = 1.5 %; 24.06 L a mole at 20 °C."""
    mix = [v.Volatile(0.3, 0.030, 0.01), v.Volatile(0.6, 0.060, 0.03)]
    blend = v.vapour_of(mix)
    assert blend.lower_limit == pytest.approx(0.015)
    assert blend.volume == pytest.approx(20 * 0.024055, rel=1e-4)


def test_water_and_solids_make_no_burning_vapour():
    water, alcohol = v.Volatile(0.6, 0.018015, None), v.Volatile(0.05, 0.046, 0.03)
    assert v.vapour_of([water]) is None
    assert v.vapour_of([]) is None
    assert v.vapour_of([v.Volatile(0.0, 0.046, 0.03), water]) is None
    assert v.vapour_of([water, alcohol]) == v.vapour_of([alcohol])


def test_warm_thin_air_holds_the_same_moles_in_more_room():
    toluene = [v.Volatile(0.7, 0.092138, 0.01)]
    here = v.vapour_of(toluene)
    assert v.vapour_of(toluene, 30.0).volume > here.volume
    assert v.vapour_of(toluene, 20.0, 90_000.0).volume > here.volume
    assert v.vapour_flow(0.004, here) == pytest.approx(0.004 * here.volume)


@given(made, drawn, limits)
def test_more_air_thins_and_more_spray_thickens(vapour_made, exhaust, limit):
    here = v.share_of_limit(vapour_made, exhaust, limit)
    assert v.share_of_limit(vapour_made, exhaust * 1.1, limit) < here
    assert v.share_of_limit(vapour_made * 1.1, exhaust, limit) > here
    assert v.share_of_limit(vapour_made, exhaust, limit * 1.1) < here
    assert v.share_of_limit(vapour_made, exhaust, limit, mixing_factor=1.0) == pytest.approx(here / 3.0)


@given(made, limits, st.floats(0.01, 1.0))
def test_the_exhaust_for_a_share_gives_that_share(vapour_made, limit, share):
    exhaust = v.exhaust_for(vapour_made, limit, share)
    if exhaust <= 100.0:
        assert v.share_of_limit(vapour_made, exhaust, limit) == pytest.approx(share)


def test_a_room_fills_as_a_well_mixed_room_does():
    """c = G K / Q (1 - exp(-Q t / K V)), by hand: 0.5 L/s of vapour, 0.9 m3/s of exhaust, 60 m3, after 200 s."""
    expected = 0.0005 * 3 / 0.9 * (1 - exp(-0.9 * 200 / 3 / 60)) / 0.01
    assert v.share_of_limit(0.0005, 0.9, 0.01, 60.0, 200.0) == pytest.approx(expected)


@given(made, drawn, limits, st.floats(5.0, 500.0), st.floats(1.0, 3600.0))
def test_it_rises_from_nothing_towards_the_steady_share(vapour_made, exhaust, limit, room, seconds):
    here = v.share_of_limit(vapour_made, exhaust, limit, room, seconds)
    steady = v.share_of_limit(vapour_made, exhaust, limit)
    assert v.share_of_limit(vapour_made, exhaust, limit, room, 0.0) == 0.0
    later = v.share_of_limit(vapour_made, exhaust, limit, room, seconds * 1.1)
    assert 0.0 < here <= later * (1 + 1e-9) <= steady * (1 + 2e-9)
    assert v.share_of_limit(vapour_made, exhaust, limit, room, 1e7) == pytest.approx(steady)
    assert here <= v.share_of_limit(vapour_made, 0.0, limit, room, seconds) * (1 + 1e-9)
    assert here >= v.share_of_limit(vapour_made, exhaust, limit, room * 1.1, seconds) * (1 - 1e-9)


def test_without_exhaust_vapour_only_gathers():
    assert v.share_of_limit(0.001, 0.0, 0.01) == inf
    assert v.share_of_limit(0.0, 0.0, 0.01) == 0.0
    assert v.share_of_limit(0.001, 0.0, 0.01, 60.0, 600.0) == pytest.approx(1.0)
    assert v.share_of_limit(0.001, 1e-12, 0.01, 60.0, 600.0) == pytest.approx(1.0)


def test_mask_and_fan_outlast_the_removal_threefold_and_the_flash():
    assert v.mask_and_fan_time(23 * 60.0, 10 * 60.0) == 79 * 60.0
    assert v.mask_and_fan_time(23 * 60.0, 10 * 60.0, 10.0) == 240 * 60.0
    assert v.mask_and_fan_time(0.0, 0.0) == 0.0


TOLUENE = v.Volatile(0.7, 0.092138, 0.01)


@every(
    "function, figures, words",
    [
        (v.vapour_of, ([TOLUENE], 61.0), "air temperature"), (v.vapour_of, ([TOLUENE], nan), "air temperature nan"),
        (v.vapour_of, ([TOLUENE], 20.0, 1.0), "air pressure"), (v.vapour_of, ([TOLUENE, TOLUENE],), "together 1.4"),
        (v.vapour_of, ([v.Volatile(-0.1, 0.09, 0.01)],), "mass fraction -0.1"),
        (v.vapour_of, ([v.Volatile(0.1, 92.0, 0.01)],), "molar mass 92"),
        (v.vapour_of, ([v.Volatile(0.1, 0.09, 1.2)],), "flammable limit 1.2"),
        (v.vapour_of, ([v.Volatile(0.1, 0.09, nan)],), "flammable limit nan"),
        (v.vapour_flow, (0.11, v.Vapour(0.2, 0.01)), "spray rate"), (v.dilution_air, (-1.0, 0.01), "vapour -1"),
        (v.dilution_air, (nan, 0.01), "vapour nan"), (v.dilution_air, (1.0, 1.4), "limit 1.4"),
        (v.share_of_limit, (0.001, -1.0, 0.01), "exhaust"), (v.share_of_limit, (nan, 1.0, 0.01), "vapour made"),
        (v.share_of_limit, (0.001, 1.0, 0.0), "limit 0"), (v.share_of_limit, (0.001, 1.0, 0.01, 60.0), "both"),
        (v.share_of_limit, (0.001, 1.0, 0.01, None, 60.0), "both"),
        (v.share_of_limit, (0.001, 1.0, 0.01, 60.0, -1.0), "time -1"),
        (v.share_of_limit, (0.001, 1.0, 0.01, 0.0, 1.0), "room 0"),
        (v.share_of_limit, (0.001, 1.0, 0.01, 60.0, 1.0, 0.9), "mixing factor"),
        (v.exhaust_for, (0.001, 0.01, 0.0), "share"), (v.exhaust_for, (0.001, 0.01, 0.25, 11.0), "mixing factor"),
        (v.exhaust_for, (-0.001, 0.01), "vapour made"), (v.exhaust_for, (0.001, nan), "limit nan"),
        (v.mask_and_fan_time, (-1.0, 0.0), "removal time"), (v.mask_and_fan_time, (1.0, nan), "flash-off nan"),
        (v.mask_and_fan_time, (1.0, 1.0, 0.5), "mixing factor"),
    ],
)  # fmt: skip
def test_figures_outside_the_range_are_refused(function, figures, words):
    with pytest.raises(OutOfRange, match=words):
        function(*figures)
