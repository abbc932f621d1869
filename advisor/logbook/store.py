"""The SQLite file: opened, checked, migrated. One connection here; what is kept in it stands in the other files.

WAL with synchronous FULL: an acknowledged reading survives a power cut, unless the storage lies about fsync.
"""

import fcntl
import os
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path

from advisor.errors import LogbookError
from advisor.files import replacing

MIGRATIONS = Path(__file__).parent / "migrations"
FILE_NAME = "logbook.db"
_SETTINGS = (
    "PRAGMA busy_timeout = 5000",
    "PRAGMA foreign_keys = ON",
    "PRAGMA temp_store = MEMORY",
)
_WRITER_SETTINGS = (
    "PRAGMA journal_mode = WAL",
    "PRAGMA synchronous = FULL",
    "PRAGMA wal_autocheckpoint = 1000",
    "PRAGMA journal_size_limit = 16777216",
)


def migrations() -> list[tuple[int, str]]:
    """The numbered steps (version, SQL), in order."""
    return [(int(path.stem), path.read_text("utf-8")) for path in sorted(MIGRATIONS.glob("[0-9]*.sql"))]


def newest_version() -> int:
    """The version this program writes."""
    return migrations()[-1][0]


def open_for_writing(path: Path, now: datetime, migrate: bool = True, durable: bool = True) -> sqlite3.Connection:
    """A writing connection; makes the file and its folder, and brings an older one up to date after a backup.

    durable: False for a logbook that nothing outlives. Raises LogbookError when it cannot be opened, is damaged, or was
    written by a newer version.
    """
    try:
        path.parent.mkdir(parents=True, exist_ok=True, mode=0o750)
        if not path.exists():
            os.close(os.open(path, os.O_CREAT | os.O_RDWR, 0o640))
        connection = sqlite3.connect(path, isolation_level=None, check_same_thread=False)
        for setting in (*_SETTINGS, *_WRITER_SETTINGS):
            connection.execute(setting)
        if not durable:
            connection.execute("PRAGMA synchronous = OFF")
        _bring_up_to_date(connection, path, now, migrate)
    except (OSError, sqlite3.Error) as error:
        raise LogbookError(
            f"cannot write the logbook {path}: {error}", "", "check path, rights and disk space"
        ) from error
    return connection


def open_for_reading(path: Path) -> sqlite3.Connection:
    """A read-only connection, beside a running writer or alone. Raises LogbookError."""
    if not path.exists():
        raise LogbookError(f"no logbook at {path}", "", "start `advisor watch`, or `advisor import` a file")
    try:
        connection = sqlite3.connect(
            f"{path.resolve().as_uri()}?mode=ro", uri=True, isolation_level=None, check_same_thread=False
        )
        for setting in _SETTINGS:
            connection.execute(setting)
        version = _version(connection)
    except sqlite3.Error as error:
        raise LogbookError(
            f"cannot read the logbook {path}: {error}",
            "a reader in the writer's group, or a running `advisor watch`",
            "run as the same person, or start the daemon",
        ) from error
    if version != newest_version():
        connection.close()
        raise LogbookError(
            f"the logbook {path} has version {version}",
            f"{newest_version()}",
            "`advisor watch` or `advisor import` brings an older one up to date; a newer one needs a newer advisor",
        )
    return connection


@contextmanager
def transaction(connection: sqlite3.Connection) -> Iterator[None]:
    """One short writing transaction: all of it or nothing."""
    connection.execute("BEGIN IMMEDIATE")
    try:
        yield
    except BaseException:
        if connection.in_transaction:
            connection.execute("ROLLBACK")
        raise
    connection.execute("COMMIT")


def _version(connection: sqlite3.Connection) -> int:
    return int(connection.execute("PRAGMA user_version").fetchone()[0])


def _bring_up_to_date(connection: sqlite3.Connection, path: Path, now: datetime, migrate: bool) -> None:
    version = _version(connection)
    if version > newest_version():
        raise LogbookError(
            f"the logbook {path} has version {version}", f"up to {newest_version()}", "update the advisor"
        )
    steps = [(number, sql) for number, sql in migrations() if number > version]
    if not steps:
        return
    if version and not migrate:
        raise LogbookError(f"the logbook {path} has version {version}", f"{newest_version()}", "start `advisor watch`")
    if version:
        backup = path.with_name(f"{path.name}.{now:%Y%m%dT%H%M%SZ}.v{version}.bak")
        with replacing(backup, 0o640) as beside:
            connection.execute("VACUUM INTO ?", (str(beside),))
    connection.execute("PRAGMA secure_delete = ON")  # what a step takes out is gone from the file, not just unlinked
    for number, sql in steps:
        try:
            connection.executescript(f"BEGIN IMMEDIATE;\n{sql}\nPRAGMA user_version = {number};\nCOMMIT;")
        except sqlite3.Error:
            if connection.in_transaction:
                connection.execute("ROLLBACK")
            if _version(connection) < number:  # another process may have taken the same step first
                raise
    connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")


def logbook_path(stated: Path | None) -> Path:
    """Where the logbook lies: as configured, else $STATE_DIRECTORY, else the user's data folder."""
    if stated is not None:
        return stated / FILE_NAME if stated.is_dir() else stated
    if os.environ.get("STATE_DIRECTORY"):
        return Path(os.environ["STATE_DIRECTORY"].split(":")[0]) / FILE_NAME
    from platformdirs import user_data_path  # noqa: PLC0415 - only when nothing nearer is stated

    return user_data_path("spray-day-advisor") / FILE_NAME


class DaemonLock:
    """Keeps a second daemon off the same logbook; let go when the process ends, however it ends."""

    def __init__(self, path: Path) -> None:
        self._path = path.with_name(f"{path.name}.lock")
        self._file: int | None = None

    def take(self) -> None:
        """Raises LogbookError when another daemon has it."""
        try:
            self._path.parent.mkdir(parents=True, exist_ok=True, mode=0o750)
            self._file = os.open(self._path, os.O_CREAT | os.O_RDWR | os.O_CLOEXEC, 0o640)
            fcntl.flock(self._file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError as error:
            raise LogbookError(
                f"another `advisor watch` has the logbook beside {self._path}", "one", "stop that one first"
            ) from error
        except OSError as error:
            raise LogbookError(f"cannot lock {self._path}: {error.strerror}", "", "check path and rights") from error

    def let_go(self) -> None:
        """Give it back."""
        if self._file is not None:
            os.close(self._file)
            self._file = None
