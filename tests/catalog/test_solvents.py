"""The solvent table as the tool reads it: found by any usual spelling, its chemistry, every bad cell refused."""

import pytest

from advisor.catalog.coatings import coating_ids, load_coating
from advisor.catalog.solvents import find_solvent, solvents, solvents_from_rows
from advisor.catalog.sourced import table_rows
from advisor.errors import CatalogError
from tests.support import every

SOLVENTS = tuple(solvents().values())


def test_chemistry_stands_in_the_data():
    reacting = {solvent.id for solvent in SOLVENTS if solvent.hydroxyl}
    assert reacting == {
        "water", "methanol", "ethanol", "isopropanol", "isobutanol", "n-butanol", "2-butoxyethanol", "pm",
        "dipropylene-glycol-methyl-ether", "dipropylene-glycol-n-butyl-ether", "propylene-glycol", "diacetone-alcohol",
    }  # fmt: skip
    assert all(solvents()[name].roles["polyurethane"] == "none" for name in reacting)
    assert solvents()["decane"].roles["nitrocellulose"] == "none", "mineral spirits throw nitrocellulose out"
    assert solvents()["toluene"].roles["nitrocellulose"] == "diluent"
    assert solvents()["ethanol"].roles == {
        "nitrocellulose": "latent", "acrylic": "latent", "shellac": "true", "polyurethane": "none",
    }  # fmt: skip


def test_every_solvent_of_every_blend_is_known():
    used = {
        name for key in coating_ids() for blend in load_coating(key).blends.values() for name in blend.mass_fractions
    }
    assert used <= set(solvents())


@every(
    "text, found",
    [
        ("n-butyl-acetate", "n-butyl-acetate"), ("n butyl acetate", "n-butyl-acetate"), ("MEK", "methyl-ethyl-ketone"),
        ("Butyl Acetate", "n-butyl-acetate"), ("methyl ethyl ketone", "methyl-ethyl-ketone"), ("PM", "pm"),
        ("2-butanone", "methyl-ethyl-ketone"), ("isopropyl alcohol", "isopropanol"), (" ipa ", "isopropanol"),
        ("ETHYL ALCOHOL", "ethanol"), ("PM acetate", "pm-acetate"), ("1,2-Propanediol", "propylene-glycol"),
        ("xylenes", "xylene"), ("DPnB", "dipropylene-glycol-n-butyl-ether"), ("n_butanol", "n-butanol"),
    ],
)  # fmt: skip
def test_a_solvent_is_found_by_any_usual_spelling(text, found):
    assert find_solvent(text).id == found


@every("solvent", SOLVENTS, ids=lambda solvent: solvent.id)
def test_a_solvent_is_found_by_all_its_own_names(solvent):
    for word in (solvent.id, solvent.name, *solvent.also, solvent.name.upper()):
        assert find_solvent(word) is solvent


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("n-butil acetate", "did you mean n-butyl acetate"), ("2-butanon", "did you mean 2-butanone"),
        ("toluen", "did you mean toluene"), ("", "known: "), ("\x00" * 500, "known: "),
    ],
)  # fmt: skip
def test_an_unknown_solvent_is_answered_with_the_nearest(text, words):
    with pytest.raises(CatalogError, match=words):
        find_solvent(text)


BAD = [
    ("density_kg_per_m3", "-880.9"), ("density_kg_per_m3", "0.8809"), ("molar_mass_g_per_mol", "nan"),
    ("molar_mass_g_per_mol", ""), ("lfl", "1.2"), ("lfl", "0"), ("lfl", ""), ("flash_point_c", "295"),
    ("antoine_low_c", "60"), ("antoine_high_c", "20"), ("antoine_high_c", "-30"), ("antoine_b_k", "-3400"),
    ("antoine_c_k", "58"), ("antoine_tag", "hearsay"), ("vapour_pressure_source", ""),
    ("vapour_pressure_fit_error", "0.2"), ("heat_of_vaporisation_kj_per_mol", "43860"),
    ("heat_capacity_j_per_mol_k", "2.2"), ("diffusion_volume", "inf"), ("rer_high", "0.5"), ("rer_high", ""),
    ("rer_low", "one"), ("water_miscible", "true"), ("water_solubility_mass_fraction", "1.25"),
    ("water_solubility_mass_fraction", "1"), ("water_activity_coefficient", "0"), ("hydroxyl", ""),
    ("nitrocellulose", "active"), ("shellac", ""), ("cas", "123-86-5"), ("cas", "butyl"), ("id", "Butyl Acetate"),
    ("name", " "), ("fire_tag", ""), ("fire_source", ""), ("also", "toluol"),
]  # fmt: skip


@every("column, cell", BAD)
def test_a_bad_cell_is_refused_with_file_row_and_column(column, cell):
    rows = table_rows("solvents.csv")
    for row in rows:
        if row["id"] == "n-butyl-acetate":
            row[column] = cell
    with pytest.raises(CatalogError) as caught:
        solvents_from_rows(rows, "solvents.csv")
    assert "solvents.csv" in str(caught.value)
    # an empty limit beside a flash point is told at the second of the pair; toluene's other name is taken first
    assert f"{'flash_point_c' if (column, cell) == ('lfl', '') else column} is" in str(caught.value)
    row = {"id": cell, "also": "toluene"}.get(column, "n-butyl-acetate")
    assert f"row {row}" in str(caught.value)


def test_a_missing_a_foreign_and_a_doubled_column_or_row_are_refused():
    first, *rest = table_rows("solvents.csv")
    with pytest.raises(CatalogError, match="unknown column 'lfl_pct'; did you mean lfl"):
        solvents_from_rows([{**first, "lfl_pct": "1"}], "solvents.csv")
    with pytest.raises(CatalogError, match="column lfl is missing"):
        solvents_from_rows([{key: cell for key, cell in first.items() if key != "lfl"}], "solvents.csv")
    with pytest.raises(CatalogError, match="row water"):
        solvents_from_rows([first, *rest, first], "solvents.csv")
