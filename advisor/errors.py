"""Every error the tool raises on purpose.

    AdvisorError            anything the user can put right; the command line shows one line, exit code 2
    ├── OutOfRange          a number outside what an equation or a limit allows (also a ValueError)
    ├── UsageError          words on the command line that do not fit together
    ├── ConfigError         the shop's configuration file
    ├── CatalogError        a coating or data-sheet file
    ├── FileError           a readings file that cannot be read at all
    └── LogbookError        the logbook cannot be opened, read or written
        └── DamagedLogbook  and will not be before somebody has put its file right

Each says what was got, what is allowed and what to do.
"""

import difflib
import re
from collections.abc import Iterable

LONGEST_SHOWN = 40  # characters of a foreign text that fit into one line of an error
ADDRESS = re.compile(r"\S*://.*|\S*[^\s:]:\S+@.*", re.DOTALL)  # may hold a password or a token: never shown
_LONGEST_READ = 400  # characters that are looked through for one


class AdvisorError(Exception):
    """An error with its three parts: what was got, what is allowed, what to do."""

    exit_code = 2

    def __init__(self, got: str, allowed: str = "", do: str = "") -> None:
        self.got = got
        self.allowed = allowed
        self.do = do
        parts = (got, f"allowed: {allowed}" if allowed else "", do)
        super().__init__("; ".join(part for part in parts if part))


class OutOfRange(AdvisorError, ValueError):
    """A number outside the range of an equation or a limit."""


class UsageError(AdvisorError):
    """Words on the command line that do not fit together."""


def refuse(*rows: tuple[object, str, str, str], kind: type[AdvisorError] = UsageError) -> None:
    """Raise an error for the first row that applies: whether it does, what came, what is allowed, what to do."""
    for applies, got, allowed, to_do in rows:
        if applies:
            raise kind(got, allowed, to_do)


class ConfigError(AdvisorError):
    """The shop's configuration file cannot be used."""


class CatalogError(AdvisorError):
    """A coating is unknown, or its data file cannot be used."""


class FileError(AdvisorError):
    """A file of readings, or the password's, cannot be read at all."""


class LogbookError(AdvisorError):
    """The logbook cannot be opened, read or written."""


class DamagedLogbook(LogbookError):
    """What stands in the logbook's file is no logbook any more."""


def printable(text: str) -> str:
    """A foreign text in which nothing steers a terminal or breaks a line: `?` for each sign that would."""
    return "".join(sign if sign.isprintable() else "?" for sign in text)


def shown(text: str) -> str:
    """A foreign text, quoted and fit for one line: addresses left out, control signs replaced, long texts cut."""
    clean = printable(ADDRESS.sub("…", text[:_LONGEST_READ]))
    return f"'{clean}'" if len(clean) <= LONGEST_SHOWN else f"'{clean[:LONGEST_SHOWN]}…'"


def nearest(got: str, options: Iterable[str], likeness: float = 0.6) -> str | None:
    """The option most like a word, or None when none is as alike as `likeness` (0 to 1, difflib's ratio)."""
    near = difflib.get_close_matches(got[:LONGEST_SHOWN], list(options), n=1, cutoff=likeness)
    return near[0] if near else None


def did_you_mean(got: str, options: Iterable[str]) -> str:
    """A hint naming the nearest allowed word, or all of them when none is near."""
    known = sorted(options)
    near = nearest(got, known)
    return f"did you mean {near}?" if near else f"known: {', '.join(known)}"
