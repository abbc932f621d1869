"""How every file of ours is written: whole or not at all, and never through a symbolic link."""

import errno
import os
import secrets
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path


@contextmanager
def replacing(path: Path, mode: int = 0o666) -> Iterator[Path]:
    """An empty file beside `path` to be written; it takes the place of `path` at the end, and goes where that fails.

    mode: rights of a new file, less the umask; one that is replaced keeps its own. Raises OSError, also where `path` is
    a symbolic link or no plain file: what it points to is not ours to overwrite.
    """
    there = path.exists()
    for refused, number, why in (
        (path.is_symlink(), errno.ELOOP, "it is a symbolic link; name the file it points to"),
        (there and not path.is_file(), errno.EINVAL, "it is no plain file"),
        (there and not os.access(path, os.W_OK), errno.EACCES, "it may not be written"),
    ):
        if refused:
            raise OSError(number, why)
    kept = path.stat().st_mode & 0o777 if there else None
    beside = path.with_name(f".{secrets.token_hex(8)}{path.suffix}")
    os.close(os.open(beside, os.O_CREAT | os.O_EXCL | os.O_WRONLY, mode))
    try:
        if kept is not None:
            beside.chmod(kept)
        yield beside
        os.replace(beside, path)
    except BaseException:
        beside.unlink(missing_ok=True)
        raise
