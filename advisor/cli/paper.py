"""How text is laid on the screen: wrapped to the terminal, never wider than 80 columns."""

import shutil
import textwrap
from collections.abc import Iterable

WIDEST, NARROWEST = 80, 30  # columns


def wrapped(paragraph: str) -> str:
    """A paragraph in lines that fit the terminal, the later ones indented; nothing in it steers the terminal."""
    width = max(NARROWEST, min(WIDEST, shutil.get_terminal_size((WIDEST, 24)).columns))
    clean = "".join(sign if sign.isprintable() else "?" for sign in paragraph)
    return textwrap.fill(clean, width, subsequent_indent="  ", break_on_hyphens=False)


def print_wrapped(paragraphs: Iterable[str]) -> None:
    """Print each paragraph wrapped."""
    for paragraph in paragraphs:
        print(wrapped(paragraph))
