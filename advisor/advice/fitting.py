"""Which of several ways to say a thing fits on the screen."""

import textwrap
from collections.abc import Sequence

_COLUMNS = 80


def first_that_fits(variants: Sequence[Sequence[str]], lines: int) -> list[str]:
    """The first variant, its empty paragraphs left out, that takes no more lines of 80 columns; else the last one."""
    kept = [[paragraph for paragraph in variant if paragraph] for variant in variants]
    return next((paragraphs for paragraphs in kept if height(paragraphs) <= lines), kept[-1])


def height(paragraphs: Sequence[str]) -> int:
    """Lines of 80 columns that paragraphs take."""
    return sum(
        len(textwrap.wrap(text, _COLUMNS, subsequent_indent="  ", break_on_hyphens=False)) for text in paragraphs
    )
