"""Which rule decides for which family: an unknown on a deciding rule makes a WAIT, on an advisory one never."""

from collections.abc import Mapping
from functools import cache

from advisor.catalog.sourced import table_rows

DECIDING, ADVISORY, WHILE_NEW = "deciding", "advisory", "while new"  # while new: until the piece has settled


@cache
def standings() -> Mapping[tuple[str, str], str]:
    """Standing by (rule, family)."""
    return {
        (row["rule"], family): standing
        for row in table_rows("deciding.csv")
        for family, standing in row.items()
        if family not in ("rule", "tag", "source")
    }
