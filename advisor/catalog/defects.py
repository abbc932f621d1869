"""Thirteen things that go wrong with a coat, and what else they are called."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from advisor.catalog.sourced import table_rows
from advisor.errors import CatalogError, nearest, shown


@dataclass(frozen=True)
class Defect:
    """A defect: its id, its name, and other words for it."""

    id: str
    name: str
    also_called: tuple[str, ...]


@cache
def defects() -> Mapping[str, Defect]:
    """Every defect by its id. Raises CatalogError where one word stands for two."""
    found: dict[str, Defect] = {}
    meant: dict[str, str] = {}
    for row in table_rows("defects.csv"):
        defect = Defect(row["id"], row["name"], tuple(word.strip() for word in row["also_called"].split(";")))
        for word in {_plain(word) for word in (defect.id, defect.name, *defect.also_called)}:
            if not word or word in meant:
                raise CatalogError(f"defects.csv: {word!r} stands for {defect.id} and {meant.get(word)}", "one", "")
            meant[word] = defect.id
        found[defect.id] = defect
    return found


def find_defect(text: str) -> Defect:
    """A defect by its id, its name or another word for it, hyphens and case aside.

    Raises CatalogError with the nearest id, or with all of them.
    """
    words = {
        _plain(word): defect for defect in defects().values() for word in (defect.id, defect.name, *defect.also_called)
    }
    typed = _plain(text)
    if typed in words:
        return words[typed]
    near = nearest(typed, words)
    known = ", ".join(defects())
    raise CatalogError(f"no defect {shown(text)}", "", f"did you mean {words[near].id}?" if near else f"known: {known}")


def _plain(text: str) -> str:
    return " ".join(text.casefold().replace("-", " ").split())
