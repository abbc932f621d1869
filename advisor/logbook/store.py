"""The SQLite file: opened, checked, migrated. One connection here; what is kept in it stands in the other files.

WAL with synchronous FULL: an acknowledged reading survives a power cut, unless the storage lies about fsync.
"""

import os
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from datetime import datetime
from pathlib import Path

from advisor.errors import AdvisorError, DamagedLogbook, LogbookError
from advisor.files import replacing
from advisor.logbook.daemon_lock import daemon_doubt

MIGRATIONS = Path(__file__).parent / "migrations"
FILE_NAME = "logbook.db"
_SETTINGS = (
    "PRAGMA busy_timeout = 5000",
    "PRAGMA foreign_keys = ON",
    "PRAGMA temp_store = MEMORY",
    "PRAGMA cell_size_check = ON",  # a damaged page is seen as it is read, and not taken for readings
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
        raise _unusable(path, "write", error) from error
    return connection


def open_for_reading(path: Path) -> sqlite3.Connection:
    """A read-only connection, beside a running writer or alone. Raises LogbookError."""
    connection = _read_only(path)
    try:
        version = _version(connection)
    except sqlite3.Error as error:
        raise _unusable(path, "read", error) from error
    if version != newest_version():
        connection.close()
        raise LogbookError(
            f"the logbook {path} has version {version}",
            f"{newest_version()}",
            "`advisor watch` or `advisor import` brings an older one up to date; a newer one needs a newer advisor",
        )
    return connection


def _read_only(path: Path) -> sqlite3.Connection:
    if not path.exists():
        raise LogbookError(f"no logbook at {path}", "", "start `advisor watch`, or `advisor import` a file")
    try:
        connection = sqlite3.connect(
            f"{path.resolve().as_uri()}?mode=ro", uri=True, isolation_level=None, check_same_thread=False
        )
        for setting in _SETTINGS:
            connection.execute(setting)
    except sqlite3.Error as error:
        raise _unusable(path, "read", error) from error
    return connection


@contextmanager
def logbook(
    path: Path, now: datetime | None = None, migrate: bool = True, again: bool = False
) -> Iterator[sqlite3.Connection]:
    """The logbook for one command: to be read, or with `now` to be written too; beside a running daemon or alone.

    Where no daemon looks after the file, it is looked through first; again: this command has opened it just before.
    Raises LogbookError for what goes wrong with it.
    """
    if path.exists() and not again and daemon_doubt(path) is None:
        look_through(path)
    connection = open_for_reading(path) if now is None else open_for_writing(path, now, migrate)
    try:
        yield connection
    except sqlite3.Error as error:
        raise _unusable(path, "read" if now is None else "write", error) from error
    except AdvisorError:
        raise
    except Exception:
        look_through(path)  # what a damaged file holds can look like a fault of our own
        raise
    finally:
        connection.close()


def look_through(path: Path) -> None:
    """Read the whole file once: some 1.2 s for a year of four sensors. Raises DamagedLogbook, or LogbookError."""
    with closing(_read_only(path)) as connection:
        try:
            found = connection.execute("PRAGMA integrity_check(1)").fetchone()[0]
        except sqlite3.Error as error:
            raise _unusable(path, "read", error) from error
    if found != "ok":
        raise _damaged(path, " ".join(found.split()))


def _unusable(path: Path, doing: str, error: Exception) -> LogbookError:
    """The one error for a file that cannot be read or written, with what to do."""
    text = str(error)
    if "locked" in text:
        return LogbookError(f"cannot {doing} the logbook {path}: {text}", "", "another program holds it: try again")
    if isinstance(error, OSError) or any(word in text for word in ("unable to open", "readonly", "full", "disk I/O")):
        others = "; somebody else's can be read while its `advisor watch` runs" if doing == "read" else ""
        do = f"check path, rights and disk space{others}"
        return LogbookError(f"cannot {doing} the logbook {path}: {text}", "", do)
    return _damaged(path, text)


def _damaged(path: Path, how: str) -> DamagedLogbook:
    return DamagedLogbook(
        f"the logbook {path} is damaged: {how}",
        "",
        f"move it away with its -wal and -shm, and put a copy back or let a new one begin; {path.name} stays as it is",
    )


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
