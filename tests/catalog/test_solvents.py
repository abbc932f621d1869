"""The solvent table as the tool reads it: found by any usual spelling, its chemistry."""

import pytest

from advisor.catalog.coatings import coating_ids, load_coating
from advisor.catalog.solvents import find_solvent, solvents
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
