"""How a row of a table becomes a record."""

from dataclasses import asdict, dataclass, field

import pytest

from advisor.catalog import sourced
from advisor.catalog.materials import Substrate
from advisor.catalog.sourced import NAMES, Sourced, table_rows


@dataclass(frozen=True)
class Made:
    """A record with a field of each kind."""

    id: str
    number: Sourced
    low: float
    thickness: float
    share: float | None
    burns: bool
    words: tuple[str, ...]
    names: tuple[str, ...] = field(metadata=NAMES)
    factors: tuple[float, ...] = ()


def test_a_table_s_row_becomes_a_record_by_the_types_of_its_fields(monkeypatch):
    cells = {
        "id": "made", "value": "15", "low": "1", "unit": "min", "tag": "from memory", "source": "nobody",
        "thickness_mm": "18", "share_pct": "", "burns": "yes", "words": "a b-c", "names": "a b; c", "factors": "1 2e-3",
        "unread": "x",
    }  # fmt: skip
    monkeypatch.setattr(sourced, "table_rows", lambda _: [cells, {**cells, "share_pct": "7", "burns": "", "words": ""}])
    first, second = sourced.table("made.csv", Made)
    assert asdict(first) == {
        "id": "made", "number": {"value": 900.0, "tag": "from memory", "source": "nobody"}, "low": 60.0,
        "thickness": 0.018, "share": None, "burns": True, "words": ("a", "b-c"), "names": ("a b", "c"),
        "factors": (1.0, 0.002),
    }  # fmt: skip
    assert (second.share, second.burns, second.words) == (0.07, False, ())


@pytest.mark.parametrize("cell", ["one", ""])
def test_a_cell_that_is_no_number_is_not_taken_for_one(monkeypatch, cell):
    rows = [{**row, "density_kg_per_m3": cell} for row in table_rows("substrates.csv")]
    monkeypatch.setattr(sourced, "table_rows", lambda _: rows)
    with pytest.raises(ValueError, match="float"):
        sourced.table("substrates.csv", Substrate)
