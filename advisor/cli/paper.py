"""How text is laid on the screen: wrapped to the terminal, never wider than 80 columns."""

import json
import re
import shutil
import textwrap
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import Any, TextIO

from advisor.errors import UsageError, printable, shown
from advisor.files import replacing

Said = Mapping[str, Any] | Iterable[str]  # a record, or paragraphs
Answer = tuple[Said, int]  # of a command: what is said, and the exit code

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


def print_answer(answer: Said) -> None:
    """Print a record as JSON on one line, or paragraphs wrapped."""
    if isinstance(answer, Mapping):
        print(json.dumps(answer, ensure_ascii=False, allow_nan=False))
    else:
        print_wrapped(answer)


@contextmanager
def writing(name: str, path: Path) -> Iterator[Path]:
    """Where to write the file asked for by the option `name`: it comes whole or not at all. Raises UsageError."""
    try:
        with replacing(path) as beside:
            yield beside
    except OSError as error:
        raise UsageError(f"{name} {shown(str(path))}: {error.strerror}", "a file that can be written", "") from error
