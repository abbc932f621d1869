"""Flammable limits: no published one is lower than the one that counts."""

import pytest

from advisor.catalog.solvents import find_solvent, lower_limits, lowest_limit, solvents
from advisor.errors import CatalogError
from tests.catalog import TAGS
from tests.oracles import chemicals
from tests.support import every, reference_rows

BURNING = [solvent for solvent in solvents().values() if solvent.id != "water"]
NOT_OURS = {"2-ethoxyethanol"}
XYLENES = ("95-47-6", "108-38-3", "106-42-3")
FROM_MEMORY = {"isopropyl-acetate", "pm-acetate", "pm", "dipropylene-glycol-n-butyl-ether", "propylene-glycol",
               "undecane"}  # fmt: skip


def each():
    return every("solvent", BURNING, lambda solvent: solvent.id)


@each()
def test_no_standard_states_a_lower_limit(solvent):
    """IEC 60079-20-1:2010, NFPA 497:2008 and Wikidata as kept by chemicals."""
    lowest = lowest_limit(solvent.id).value
    for cas in XYLENES if solvent.id == "xylene" else (solvent.cas,):
        for method in chemicals.LFL_methods(CASRN=cas):
            assert lowest <= chemicals.LFL(CASRN=cas, method=method) + 1e-9, method


def test_no_table_or_chart_states_a_lower_limit():
    """29 CFR 1910.94(c) Table G-11 (from memory) and two charts that were read."""
    by_cas = {solvent.cas: solvent.id for solvent in BURNING} | {"95-47-6": "xylene"}
    compared = 0
    for row in reference_rows("dilution_table.csv"):
        if row["cas"] in by_cas:
            assert lowest_limit(by_cas[row["cas"]]).value <= float(row["lel_pct"]) / 100 + 1e-9, row["solvent"]
            compared += 1
    for row in reference_rows("lel_charts.csv"):
        if row["solvent"] not in NOT_OURS:
            found = find_solvent(row["solvent"]).id
            assert lowest_limit(found).value <= float(row["lel_low_pct"]) / 100 + 1e-9, row["solvent"]
            compared += 1
    assert compared == 31


@each()
def test_the_solvent_s_own_limit_is_the_lowest_of_them(solvent):
    """Two tables, one number: neither can be changed alone."""
    limits = lower_limits()[solvent.id]
    assert [limit.value for limit in limits] == sorted(limit.value for limit in limits)
    assert lowest_limit(solvent.id) == limits[0]
    assert solvent.lfl == limits[0].value
    assert all(limit.tag in TAGS and limit.source for limit in limits)


def test_water_does_not_burn_and_a_few_limits_are_from_memory():
    assert lowest_limit("water") is None
    assert solvents()["water"].lfl is None
    assert {solvent.id for solvent in BURNING if lowest_limit(solvent.id).tag == "from memory"} == FROM_MEMORY


def test_an_unknown_solvent_is_answered_with_the_nearest():
    with pytest.raises(CatalogError, match="did you mean toluene"):
        lowest_limit("toluen")
