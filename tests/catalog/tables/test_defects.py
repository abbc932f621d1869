"""Thirteen defects, each found by any of its names."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from advisor.catalog.mechanisms import defects, find_defect
from advisor.errors import CatalogError
from tests.support import every

THIRTEEN = (
    "blush", "nibs", "orange-peel", "dry-spray", "runs", "solvent-pop", "wrinkling", "fisheyes", "peeling", "soft",
    "cracking", "shrink-back", "water-spots",
)  # fmt: skip


def test_the_thirteen_are_there():
    assert tuple(defects()) == THIRTEEN


@every("defect", defects().values(), ids=lambda defect: defect.id)
def test_every_name_finds_it_whatever_its_case_or_hyphens(defect):
    for word in (defect.id, defect.name, *defect.also_called):
        assert find_defect(f" {word.upper()} ") == defect
        assert find_defect(word.replace(" ", "-")) == defect


@pytest.mark.parametrize(
    ("typed", "meant"), [("blsh", "blush"), ("orange peal", "orange-peel"), ("crater", "fisheyes")]
)
def test_the_nearest_is_named(typed, meant):
    try:
        assert find_defect(typed).id == meant
    except CatalogError as error:
        assert f"did you mean {meant}?" in str(error)


@given(st.text(max_size=60))
def test_any_text_is_a_defect_or_one_line(text):
    try:
        assert find_defect(text).id in THIRTEEN
    except CatalogError as error:
        assert len(str(error).splitlines()) == 1
