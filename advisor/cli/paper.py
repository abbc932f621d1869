"""How text is laid on the screen: wrapped to the terminal, never wider than 80 columns."""

import re
import shutil
import textwrap
from collections.abc import Iterable
from typing import Any, TextIO

from advisor.errors import printable

WIDEST, NARROWEST = 80, 30  # columns
# control signs but the line's end and the tab, what turns the writing about, what no encoding holds
_STEERS = re.compile(
    r"\r(?!\n)|[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069\ud800-\udfff]"
)


class PlainStream:
    """A text stream through which nothing steers the terminal, wherever the text came from: `?` for each such sign."""

    def __init__(self, stream: TextIO) -> None:
        self._stream = stream

    def write(self, text: str) -> int:
        """Write, cleaned."""
        return self._stream.write(_STEERS.sub("?", text))

    def __getattr__(self, name: str) -> Any:
        return getattr(self._stream, name)


def wrapped(paragraph: str) -> str:
    """A paragraph in lines that fit the terminal, the later ones indented; nothing in it steers the terminal."""
    width = max(NARROWEST, min(WIDEST, shutil.get_terminal_size((WIDEST, 24)).columns))
    return textwrap.fill(printable(paragraph), width, subsequent_indent="  ", break_on_hyphens=False)


def print_wrapped(paragraphs: Iterable[str]) -> None:
    """Print each paragraph wrapped."""
    for paragraph in paragraphs:
        print(wrapped(paragraph))
