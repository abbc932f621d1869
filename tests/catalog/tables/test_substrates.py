"""The table of substrates: every row a slab that can be, with a source."""

import pytest

from advisor.catalog.materials import find_substrate, substrates
from advisor.errors import CatalogError


def test_the_substrates_a_sprayer_names_are_there():
    assert {"wood", "thin-wood", "mdf", "steel", "glass"} <= set(substrates())


@pytest.mark.parametrize("each", substrates().values(), ids=lambda each: each.id)
def test_every_substrate_states_where_its_figures_come_from(each):
    assert each.tag in ("published", "computed", "common practice", "from memory")
    assert each.source


def test_the_table_is_turned_into_si():
    """Textbook diffusivities (from memory): wood across the grain 1.2e-7 to 1.7e-7, steel 1.2e-5 to 1.6e-5 m2/s."""
    assert find_substrate("wood").thickness == 0.020
    for name, low, high in (("wood", 1.2e-7, 1.7e-7), ("mdf", 1.0e-7, 1.5e-7), ("steel", 1.2e-5, 1.6e-5)):
        found = find_substrate(name)
        assert low < found.conductivity / (found.density * found.heat_capacity) < high
    assert find_substrate("thin-wood").conductivity == find_substrate("wood").conductivity


def test_a_substrate_spelt_wrong_is_answered_with_the_nearest():
    with pytest.raises(CatalogError, match="did you mean steel"):
        find_substrate("steal")
