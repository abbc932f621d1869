"""The logbook's file: durable settings, migrations with a backup, a newer version refused, one daemon at a time."""

import os
import sqlite3
import subprocess
import sys
import tempfile
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from advisor.errors import LogbookError
from advisor.judge.verdict import State
from advisor.logbook import outbox, store
from advisor.logbook.daemon_lock import DOUBTS, DaemonLock, daemon_doubt
from advisor.logbook.plan_log import open_plans
from advisor.logbook.store import logbook_path, open_for_reading, open_for_writing, transaction
from advisor.logbook.verdict_log import current_record, keep_verdict, load_announced, save_announced
from advisor.notices.announced import Announced
from tests.support import NOON, ROOT


def test_it_is_wal_with_full_sync(tmp_path):
    """A power cut must not lose what was acknowledged."""
    connection = open_for_writing(tmp_path / "log.db", NOON)
    assert connection.execute("PRAGMA journal_mode").fetchone()[0] == "wal"
    assert connection.execute("PRAGMA synchronous").fetchone()[0] == 2
    assert connection.execute("PRAGMA foreign_keys").fetchone()[0] == 1
    assert oct((tmp_path / "log.db").stat().st_mode)[-3:] == "640"


def test_it_makes_its_folder_for_group_and_owner_only(tmp_path):
    open_for_writing(tmp_path / "new" / "log.db", NOON)
    assert oct((tmp_path / "new").stat().st_mode)[-3:] == "750"


def test_readers_read_beside_a_writer_and_cannot_write(tmp_path):
    writer = open_for_writing(tmp_path / "log.db", NOON)
    reader = open_for_reading(tmp_path / "log.db")
    with transaction(writer):
        writer.execute("INSERT INTO event (at, kind, detail) VALUES (1, 'a', 'b')")
    assert reader.execute("SELECT COUNT(*) FROM event").fetchone()[0] == 1
    with pytest.raises(sqlite3.OperationalError):
        reader.execute("DELETE FROM event")


def test_a_failed_transaction_leaves_nothing(tmp_path):
    writer = open_for_writing(tmp_path / "log.db", NOON)
    with pytest.raises(RuntimeError), transaction(writer):
        writer.execute("INSERT INTO event (at, kind, detail) VALUES (1, 'a', 'b')")
        raise RuntimeError
    assert writer.execute("SELECT COUNT(*) FROM event").fetchone()[0] == 0


def test_an_older_file_is_backed_up_before_it_is_brought_up_to_date(tmp_path, monkeypatch):
    path = tmp_path / "log.db"
    connection = open_for_writing(path, NOON)
    with transaction(connection):
        connection.execute("INSERT INTO event (at, kind, detail) VALUES (1, 'a', 'b')")
    connection.close()
    newest = store.newest_version()
    steps = [*store.migrations(), (newest + 1, "ALTER TABLE event ADD COLUMN more TEXT NOT NULL DEFAULT '';")]
    monkeypatch.setattr(store, "migrations", lambda: steps)
    with pytest.raises(LogbookError, match=f"version {newest}"):
        open_for_reading(path)
    newer = open_for_writing(path, datetime(2026, 1, 1, tzinfo=UTC))
    assert newer.execute("SELECT more FROM event").fetchone()[0] == ""
    backup = sqlite3.connect(tmp_path / f"log.db.20260101T000000Z.v{newest}.bak")
    assert backup.execute("SELECT detail FROM event").fetchone()[0] == "b"
    assert backup.execute("PRAGMA integrity_check").fetchone()[0] == "ok"


def test_a_logbook_of_before_places_were_kept_loses_nothing_and_counts_for_the_place_named_since(tmp_path):
    """Version 6 kept verdicts, announced states, notices and plans by coating alone."""
    path = tmp_path / "log.db"
    older = sqlite3.connect(path, isolation_level=None)
    for number, sql in store.migrations()[:6]:
        older.executescript(f"{sql}\nPRAGMA user_version = {number};")
    rows = {
        "verdict": ("shellac", 5, "boot", 7, 9, '{"state": "go"}'),
        "verdict_change": ("shellac", 5, "go", 0, ""),
        "announced": ("shellac", "go", 0, "", 5, None, "wait", "go", 0),
        "notice": (1, 5, "go", "shellac", "go", "", "GO", 0, 9),
        "outbox": (1, "json", "sent", 1, 5, ""),
        "plan": (1, 5, 6, "shellac", 2, 300.0, "lids", None, None, None),
        "plan_told": (1, 1, "added", 5, "go", 0, ""),
    }
    for table, row in rows.items():
        older.execute(f"INSERT INTO {table} VALUES ({', '.join('?' for _ in row)})", row)
    names = {table: [each[1] for each in older.execute(f"PRAGMA table_info({table})")] for table in rows}
    older.close()
    connection = open_for_writing(path, NOON)
    for table, row in rows.items():
        assert connection.execute(f"SELECT {', '.join(names[table])} FROM {table}").fetchall() == [row], table
    for place in ("", "booth"):
        of = (place, "shellac")
        assert current_record(connection, of, 6, ("boot", 8), 5) == {"state": "go"}
        assert load_announced(connection, of) == Announced(
            "shellac", State.GO, False, "", 5, told_state="go", place=place
        )
        assert outbox.last_told_at(connection, "shellac", "go", "", place) == 5
        assert outbox.last_sent_state(connection, "shellac", place) == "go"
    assert open_plans(connection, NOON - timedelta(days=30_000))[0].note == "lids"


def test_what_is_kept_of_a_coating_at_one_place_says_nothing_of_it_at_another(tmp_path):
    connection = open_for_writing(tmp_path / "log.db", NOON)
    for place, state in (("booth", State.GO), ("barn", State.WAIT)):
        save_announced(connection, Announced("shellac", state, False, "", 5, told_state=state.value, place=place))
        keep_verdict(connection, (place, "shellac"), (state.value, False, ""), {"state": state.value}, 5, ("b", 7), 9)
        notice = outbox.Notice(5, state.value, "shellac", state.value, "", "text", False, 9, place)
        outbox.put(connection, notice, ["json"], 5)
    assert load_announced(connection, ("booth", "shellac")).state is State.GO
    assert current_record(connection, ("barn", "shellac"), 6, ("b", 8), 5) == {"state": "wait"}
    assert outbox.last_told_at(connection, "shellac", "wait", "", "booth") is None
    outbox.supersede(connection, "shellac", "booth")
    assert [row.notice.place for row in outbox.waiting(connection, 5)] == ["barn"]


def test_a_step_that_fails_leaves_the_file_as_it_was(tmp_path, monkeypatch):
    path = tmp_path / "log.db"
    open_for_writing(path, NOON).close()
    steps = [*store.migrations(), (store.newest_version() + 1, "CREATE TABLE more (x INTEGER) STRICT; nonsense;")]
    monkeypatch.setattr(store, "migrations", lambda: steps)
    with pytest.raises(LogbookError):
        open_for_writing(path, NOON)
    monkeypatch.undo()
    tables = open_for_reading(path).execute("SELECT COUNT(*) FROM sqlite_master WHERE name = 'more'")
    assert tables.fetchone()[0] == 0


def test_a_newer_file_is_refused(tmp_path):
    connection = open_for_writing(tmp_path / "log.db", NOON)
    connection.execute("PRAGMA user_version = 99")
    connection.close()
    with pytest.raises(LogbookError, match="update the advisor"):
        open_for_writing(tmp_path / "log.db", NOON)
    with pytest.raises(LogbookError, match="version 99"):
        open_for_reading(tmp_path / "log.db")


@pytest.mark.parametrize("content", [b"no database at all, but long enough to be one" * 100, b"\x00" * 5000])
def test_a_damaged_file_is_one_plain_error_and_stays_as_it_is(tmp_path, content):
    path = tmp_path / "log.db"
    path.write_bytes(content)
    with pytest.raises(LogbookError):
        open_for_writing(path, NOON)
    assert path.read_bytes() == content


def test_no_logbook_says_how_to_get_one(tmp_path):
    with pytest.raises(LogbookError, match="advisor watch"):
        open_for_reading(tmp_path / "none.db")


def test_where_it_lies(tmp_path, monkeypatch):
    monkeypatch.setenv("STATE_DIRECTORY", str(tmp_path / "state"))
    assert logbook_path(tmp_path / "own.db") == tmp_path / "own.db"
    assert logbook_path(None) == tmp_path / "state" / "logbook.db"
    monkeypatch.delenv("STATE_DIRECTORY")
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    assert logbook_path(None) == tmp_path / "data" / "spray-day-advisor" / "logbook.db"


@pytest.mark.parametrize("name", ["log.db", "sub/../log.db", "symbolic.db", "hard.db"])
def test_a_second_daemon_is_kept_off_until_the_first_is_gone_by_whatever_name(tmp_path, name):
    (tmp_path / "sub").mkdir()
    first, second = DaemonLock(tmp_path / "log.db"), DaemonLock(tmp_path / name)
    first.take()
    if name in ("symbolic.db", "hard.db"):
        (os.symlink if name == "symbolic.db" else os.link)(tmp_path / "log.db", tmp_path / name)
    with pytest.raises(LogbookError, match="another"):
        second.take()
    first.let_go()
    second.take()
    second.let_go()


def test_what_a_daemon_doubts_is_known_beside_it_and_gone_with_it(tmp_path):
    path = tmp_path / "log.db"
    assert daemon_doubt(path) is None
    lock = DaemonLock(path)
    lock.take()
    assert daemon_doubt(path) == ""
    for reason in (*DOUBTS, ""):
        lock.doubt(reason)
        assert daemon_doubt(path) == reason
    lock.let_go()
    assert daemon_doubt(path) is None


@pytest.mark.parametrize("end", ["", "-wal", "-shm"])
@pytest.mark.parametrize("how", ["deleted", "replaced"])
def test_a_file_of_the_logbook_that_is_another_one_is_seen(tmp_path, end, how):
    path, lock = tmp_path / "log.db", DaemonLock(tmp_path / "log.db")
    lock.take()
    connection = open_for_writing(path, NOON)
    lock.opened()
    with transaction(connection):
        connection.execute("INSERT INTO event (at, kind, detail) VALUES (1, 'a', 'b')")
    connection.execute("PRAGMA wal_checkpoint(PASSIVE)")
    assert lock.still_there()
    file = tmp_path / f"log.db{end}"
    file.rename(tmp_path / "aside")
    if how == "replaced":
        file.write_bytes((tmp_path / "aside").read_bytes())
    assert not lock.still_there()
    connection.close()
    lock.let_go()


def test_what_belonged_to_a_file_that_is_gone_is_set_aside_and_nothing_else(tmp_path):
    path, lock = tmp_path / "log.db", DaemonLock(tmp_path / "log.db")
    lock.take()
    connection = open_for_writing(path, NOON)
    lock.opened()
    assert lock.set_aside() == [], "the file is there"
    path.unlink()
    (tmp_path / "log.db-shm").rename(tmp_path / "old-shm")
    (tmp_path / "log.db-shm").write_bytes(b"of another")
    lock.set_aside()
    assert sorted(file.name for file in tmp_path.iterdir()) == ["log.db-shm", "log.db.gone-wal", "old-shm"]
    connection.close()
    lock.let_go()


def test_a_killed_daemon_leaves_no_lock(tmp_path):
    code = (
        "import os, sys; from pathlib import Path; from advisor.logbook.daemon_lock import DaemonLock; "
        f"DaemonLock(Path({str(tmp_path / 'log.db')!r})).take(); os.kill(os.getpid(), 9)"
    )
    subprocess.run([sys.executable, "-c", code], check=False, cwd=ROOT)
    lock = DaemonLock(tmp_path / "log.db")
    lock.take()
    lock.let_go()


def test_a_second_person_reading_alone_is_told_and_not_left_with_a_traceback(tmp_path):
    """A WAL file without its writer cannot be opened read-only by somebody who may not write beside it."""
    path = tmp_path / "log.db"
    open_for_writing(path, NOON).close()
    become = ""
    if os.geteuid() == 0:
        root = Path(tempfile.gettempdir())
        for place in (path, *(parent for parent in path.parents if root in parent.parents)):
            place.chmod(0o755 if place.is_dir() else 0o644)
        become = "import os; os.setgid(65534); os.setuid(65534)\n"
    else:
        path.chmod(0o444)
        path.parent.chmod(0o555)
    code = (
        "from pathlib import Path\nfrom advisor.logbook.store import open_for_reading\n"
        "from advisor.errors import LogbookError\n" + become + f"path = Path({str(path)!r})\n"
        "try:\n    open_for_reading(path).execute('SELECT COUNT(*) FROM event').fetchone(); print('read')\n"
        "except LogbookError as error:\n    print('told', error)\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False, cwd=ROOT)
    path.parent.chmod(0o755)
    assert done.stdout.startswith(("read", "told")), done.stderr[-500:]
