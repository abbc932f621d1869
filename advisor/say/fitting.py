"""One engine that fits what is said into the lines of a screen: what can best be missed goes first, a caution never."""

import textwrap
from collections.abc import Sequence
from dataclasses import dataclass

_COLUMNS = 80
STAYS = 0  # the rank of what is never left out


@dataclass(frozen=True)
class Paragraph:
    """A paragraph from its fullest wording to its shortest; an empty last one may be left out.

    rank: who is shortened first, the highest; STAYS: never. One of the same rank further down goes first.
    """

    wordings: tuple[str, ...]
    rank: int = STAYS


def said(text: str, rank: int = STAYS, *shorter: str) -> Paragraph:
    """A paragraph: with a rank it goes through its shorter wordings and is then left out."""
    return Paragraph((text, *shorter, "") if rank > STAYS else (text, *shorter), rank)


def fitted(paragraphs: Sequence[Paragraph], lines: int) -> list[str]:
    """The paragraphs in so many lines of 80 columns, as far as what may be shortened or left out allows."""
    taken = [0] * len(paragraphs)

    def now() -> list[str]:
        return [text for each, n in zip(paragraphs, taken, strict=True) if (text := each.wordings[n])]

    while height(now()) > lines:
        left = [
            (each.rank, index)
            for index, each in enumerate(paragraphs)
            if each.rank > STAYS and taken[index] + 1 < len(each.wordings)
        ]
        if not left:
            break
        taken[max(left)[1]] += 1
    return now()


def first_that_fits(variants: Sequence[Sequence[str]], lines: int) -> list[str]:
    """The first variant, its empty paragraphs left out, that takes no more lines of 80 columns; else the last one."""
    kept = [[paragraph for paragraph in variant if paragraph] for variant in variants]
    return next((paragraphs for paragraphs in kept if height(paragraphs) <= lines), kept[-1])


def height(paragraphs: Sequence[str]) -> int:
    """Lines of 80 columns that paragraphs take."""
    return sum(
        len(textwrap.wrap(text, _COLUMNS, subsequent_indent="  ", break_on_hyphens=False)) for text in paragraphs
    )
