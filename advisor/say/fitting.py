"""One engine that fits what is said into the lines of a screen: what can best be missed goes first, a caution never."""

import textwrap
from collections.abc import Callable, Sequence
from dataclasses import dataclass

_COLUMNS = 80
STAYS = 0  # the rank of what is never left out
_NOBODY = 1_000_000  # a rank that nothing has


@dataclass(frozen=True)
class Paragraph:
    """A paragraph in its fullest wording, and what it becomes at which rank, the highest first; empty: left out."""

    text: str
    steps: tuple[tuple[int, str], ...] = ()

    def at(self, rank: int) -> str:
        """Its wording once all of this rank and of higher ones gave way."""
        return next((wording for least, wording in reversed(self.steps) if least >= rank), self.text)


def paragraph(text: str, rank: int = STAYS, *shorter: str) -> Paragraph:
    """A paragraph that is left out at its rank, its shorter wordings at those just above; STAYS: never."""
    gone = enumerate(reversed((*shorter, "")), rank)
    return Paragraph(text, tuple(reversed([*gone])) if rank > STAYS else ())


def fitted(paragraphs: Sequence[Paragraph], lines: int) -> list[str]:
    """The paragraphs in so many lines of 80 columns, as far as what may be shortened or left out allows."""
    return given_way(paragraphs, lambda texts: height(texts) <= lines)


def given_way(paragraphs: Sequence[Paragraph], fits: Callable[[list[str]], bool]) -> list[str]:
    """What is left once the paragraphs gave way, rank by rank, until it fits; all that stays where it never does."""
    ranks = sorted({rank for each in paragraphs for rank, _ in each.steps}, reverse=True)
    kept: list[str] = []
    for rank in (_NOBODY, *ranks):
        kept = [text for each in paragraphs if (text := each.at(rank))]
        if fits(kept):
            break
    return kept


def first_met(*rows: tuple[object, str]) -> str:
    """What the first row says that is met; empty where none is."""
    return next((text for met, text in rows if met), "")


def height(paragraphs: Sequence[str]) -> int:
    """Lines of 80 columns that paragraphs take."""
    return sum(
        len(textwrap.wrap(text, _COLUMNS, subsequent_indent="  ", break_on_hyphens=False)) for text in paragraphs
    )
