"""One daemon a logbook, and what it doubts told to the commands beside it: by locks on the file itself (Linux)."""

import contextlib
import fcntl
import os
import struct
from pathlib import Path

from advisor.errors import LogbookError

# what a daemon may hold against its own GO
DOUBTS = ("no-store", "clock-set", "fault", "starting", "log-gone", "damaged")
_LOCK_AT = 1 << 62  # of the file: far behind its end, and behind what SQLite locks
_SPAN = "hhqqi0q"  # struct flock


class DaemonLock:
    """Keeps a second daemon off the same file, by whatever name; let go when the process ends, however it ends.

    The lock lies on the file itself. Behind it the daemon holds what it doubts, for commands that judge from the same
    file: a lock needs no room on a full disk, and is gone with its daemon. Take it before SQLite opens the file and let
    it go after: closing any handle of a file frees the locks that SQLite has on it in this process.
    """

    def __init__(self, path: Path) -> None:
        self._path, self._size = path, 0
        self._file: int | None = None
        self._files: list[tuple[int, int]] = []

    def take(self) -> None:
        """Make the file if there is none. Raises LogbookError when another daemon has it."""
        try:
            self._path.parent.mkdir(parents=True, exist_ok=True, mode=0o750)
            self._file = os.open(self._path, os.O_CREAT | os.O_RDWR | os.O_CLOEXEC, 0o640)
            self._set(fcntl.F_WRLCK, 0)
        except BlockingIOError as error:
            raise LogbookError(
                f"another `advisor watch` has the logbook {self._path}", "one", "stop that one first"
            ) from error
        except OSError as error:
            raise LogbookError(f"cannot lock {self._path}: {error.strerror}", "", "check path and rights") from error

    def doubt(self, reason: str) -> None:
        """Tell what the daemon doubts from now on: one of DOUBTS, or nothing."""
        for number, each in sorted(enumerate(DOUBTS, start=1), key=lambda pair: pair[1] != reason):
            self._set(fcntl.F_WRLCK if each == reason else fcntl.F_UNLCK, number)

    def _set(self, kind: int, number: int) -> None:
        if self._file is not None:
            span = struct.pack(_SPAN, kind, os.SEEK_SET, _LOCK_AT + number, 1, 0)
            fcntl.fcntl(self._file, fcntl.F_OFD_SETLK, span)

    def opened(self) -> None:
        """Remember the files as they are, once SQLite has opened them."""
        self._files, self._size = self._look()

    def still_there(self) -> bool:
        """Whether the file and what belongs to it are the ones that were opened, and none was cut."""
        try:
            files, size = self._look()
        except OSError:
            return False
        grown, self._size = size >= self._size, max(size, self._size)
        return grown and files == self._files

    def set_aside(self) -> list[Path]:
        """Rename what belongs to a file that is gone, which else would be read as part of the one in its place."""
        path = self._path.resolve()
        names = [(Path(f"{path}{end}"), Path(f"{path}.gone{end}")) for end in ("", "-wal", "-shm")]
        with contextlib.suppress(OSError):
            if _identity(path) == self._files[0]:
                return []  # cut, but still the same file
        for (name, aside), mine in list(zip(names, self._files, strict=True))[1:]:
            with contextlib.suppress(OSError):
                if _identity(name) == mine:
                    name.rename(aside)
        return [aside for _, aside in names[1:]]

    def _look(self) -> tuple[list[tuple[int, int]], int]:
        path = self._path.resolve()
        return [_identity(Path(f"{path}{end}")) for end in ("", "-wal", "-shm")], path.stat().st_size

    def let_go(self) -> None:
        """Give it back."""
        if self._file is not None:
            os.close(self._file)
            self._file = None


def _identity(path: Path) -> tuple[int, int]:
    found = path.stat()
    return found.st_dev, found.st_ino


def daemon_doubt(path: Path) -> str | None:
    """What the daemon on this logbook doubts, empty for nothing; None where none runs. Ask before opening it."""
    try:
        file = path.open("rb")
    except OSError:
        return None
    with file:
        held = [number for number in range(len(DOUBTS) + 1) if _is_held(file.fileno(), number)]
    if 0 not in held:
        return None
    return DOUBTS[held[1] - 1] if len(held) > 1 else ""


def _is_held(file: int, number: int) -> bool:
    span = struct.pack(_SPAN, fcntl.F_RDLCK, os.SEEK_SET, _LOCK_AT + number, 1, 0)
    return int(struct.unpack(_SPAN, fcntl.fcntl(file, fcntl.F_OFD_GETLK, span))[0]) != fcntl.F_UNLCK
