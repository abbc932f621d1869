"""Jobs in the logbook: coats, what was seen, rework; every change with its history, nothing deleted.

Which of them want watching, and what was told of each.
"""

import sqlite3
from collections.abc import Iterator, Mapping
from datetime import datetime
from typing import Any

from advisor.jobs.job import Coat, HistoryLine, Job, Observation, Rework, Spraying, Value
from advisor.logbook.rows import Columns, as_kept, first, insert
from advisor.notices.job_notice import OF_POT, OUTLASTS_JOB, JobWord
from advisor.times import milliseconds, moment_of

JOB, COAT, OBSERVATION, REWORK = "job", "coat", "observation", "rework"
MADE, CHANGED, UNDONE = "made", "changed", "undone"
_COLUMNS: dict[str, Columns[Any]] = {
    JOB: Columns(Job, "coats", "observations", "reworks"),
    COAT: Columns(Coat),
    OBSERVATION: Columns(Observation),
    REWORK: Columns(Rework),
}
_ORDER = {JOB: "id", COAT: "started_at, number", OBSERVATION: "at, id", REWORK: "at, id"}


class JobLog:
    """Jobs over one connection. What writes does so inside the caller's transaction."""

    def __init__(self, connection: sqlite3.Connection) -> None:
        self.connection = connection

    def make_job(self, piece: str, schedule: str | None, note: str, at: datetime) -> int:
        """A new job; its id."""
        return self._make(JOB, {"piece": piece, "schedule": schedule, "made_at": at, "note": note}, at)

    def keep_coat(self, job: int, coat: Spraying, at: datetime) -> int:
        """A coat of a job, its number the next one; its id."""
        last = first(self.connection, int, "SELECT MAX(number) FROM coat WHERE job = ? AND undone_at IS NULL", job)
        return self._make(COAT, {**vars(coat), "job": job, "number": (last or 0) + 1}, at)

    def keep_observation(
        self,
        job: int,
        at: datetime,
        kept_at: datetime,
        *,
        coat: int | None = None,
        defect: str | None = None,
        good: bool = False,
        severity: int | None = None,
        spot: str = "",
        photo: str | None = None,
        text: str = "",
    ) -> int:
        """What was seen at a moment; its id."""
        seen = {
            "job": job, "coat": coat, "at": at, "defect": defect, "good": good, "severity": severity, "spot": spot,
            "photo": photo, "text": text,
        }  # fmt: skip
        return self._make(OBSERVATION, seen, kept_at)

    def keep_rework(self, job: int, at: datetime, what: str, kept_at: datetime) -> int:
        """What was done to the piece at a moment; its id."""
        return self._make(REWORK, {"job": job, "at": at, "what": what}, kept_at)

    def change(self, of: str, row: int, values: Mapping[str, Value], at: datetime) -> list[HistoryLine]:
        """Change fields of a job or a coat as one entry; what is as it was is left. The changes made."""
        before = self.row_of(of, row)
        changed = {name: value for name, value in values.items() if as_kept(value) != as_kept(before[name])}
        entry, job = self._next_entry(), row if of == JOB else before["job"]
        self._set(of, row, changed)
        for name, value in changed.items():
            self._remember(entry, at, job, CHANGED, of, row, name, before[name], value)
        return [line for line in self.history(job) if line.entry == entry]

    def undo(self, at: datetime) -> list[HistoryLine]:
        """Take back the last entry that was not taken back yet; the lines of its history, none where there is none."""
        newest = first(
            self.connection,
            int,
            "SELECT MAX(entry) FROM job_history WHERE kind <> 'undone' AND entry NOT IN"
            " (SELECT undoes FROM job_history WHERE undoes IS NOT NULL)",
        )
        if newest is None:
            return []
        lines, entry = list(self._lines("entry = ?", newest)), self._next_entry()
        back: dict[tuple[str, int], dict[str, object]] = {}
        for line in reversed(lines):
            made = line.kind == MADE
            name, before, after = ("undone_at", None, at) if made else (str(line.field), line.after, line.before)
            back.setdefault((line.of, line.row), {})[name] = after
            self._remember(entry, at, line.job, UNDONE, line.of, line.row, name, before, after, newest)
        for (of, row), values in back.items():
            self._set(of, row, values)
        return lines

    def jobs(self, open_only: bool = False) -> list[Job]:
        """Every job with all that belongs to it, the oldest first; those taken back left out."""
        where = "undone_at IS NULL AND finished_at IS NULL" if open_only else "undone_at IS NULL"
        return [self._whole(record) for record in self._records(JOB, where)]

    def job(self, number: int) -> Job | None:
        """A job by its id; None where there is none, or it was taken back."""
        found = self._records(JOB, "undone_at IS NULL AND id = ?", number)
        return next(map(self._whole, found), None)

    def coat_before(self, coat: int) -> Coat | None:
        """The coat of any job that was sprayed before a coat, test panels too; None where there is none."""
        where = (
            "undone_at IS NULL AND id <> ? AND started_at <= (SELECT started_at FROM coat AS this WHERE this.id = ?)"
        )
        found = self._records(COAT, where, coat, coat, order="started_at DESC, id DESC LIMIT 1")
        return next((Coat(**row) for row in found), None)

    def panels_seen(self, start: datetime, now: datetime) -> Iterator[tuple[Coat, Observation]]:
        """The test panels begun from start to now, each with what was seen of it by now, in the order it was seen.

        Good of one defect says nothing of the others: that is no good panel, nor a bad one.
        """
        began = "undone_at IS NULL AND panel = 1 AND started_at BETWEEN ? AND ?"
        coats = {row["id"]: Coat(**row) for row in self._records(COAT, began, milliseconds(start), milliseconds(now))}
        said = f"""undone_at IS NULL AND at <= ? AND (good = 0 OR defect IS NULL)
            AND coat IN ({", ".join(map(str, coats))}) AND job IN (SELECT id FROM job WHERE undone_at IS NULL)"""
        for row in self._records(OBSERVATION, said, milliseconds(now)):
            yield coats[row["coat"]], Observation(**row)

    def history(self, job: int) -> list[HistoryLine]:
        """All that was done to a job, the oldest first, what was taken back too."""
        return list(self._lines("job = ?", job))

    def row_of(self, of: str, row: int) -> dict[str, Any]:
        """A row as it stands, taken back or not."""
        found = self.connection.execute(f"SELECT {_COLUMNS[of]} FROM {of} WHERE id = ?", (row,)).fetchone()
        return _COLUMNS[of].values(found)

    def _whole(self, record: dict[str, Any]) -> Job:
        of_job, number = "undone_at IS NULL AND job = ?", record["id"]
        return Job(
            **record,
            coats=tuple(Coat(**row) for row in self._records(COAT, of_job, number)),
            observations=tuple(Observation(**row) for row in self._records(OBSERVATION, of_job, number)),
            reworks=tuple(Rework(**row) for row in self._records(REWORK, of_job, number)),
        )

    def _records(self, of: str, where: str, *values: int, order: str | None = None) -> Iterator[dict[str, Any]]:
        rows = self.connection.execute(
            f"SELECT {_COLUMNS[of]} FROM {of} WHERE {where} ORDER BY {order or _ORDER[of]}", values
        ).fetchall()
        return map(_COLUMNS[of].values, rows)

    def _lines(self, where: str, value: int) -> Iterator[HistoryLine]:
        rows = self.connection.execute(
            "SELECT entry, at, job, kind, of, row, field, before, after, undoes FROM job_history"
            f" WHERE {where} ORDER BY id",
            (value,),
        ).fetchall()
        for entry, at, job, kind, of, row, field, before, after, undoes in rows:
            was, became = (_COLUMNS[of].value(field, each) for each in (before, after))
            yield HistoryLine(entry, moment_of(at), job, kind, of, row, field, was, became, undoes)

    def _make(self, of: str, values: Mapping[str, Value], at: datetime) -> int:
        row = insert(self.connection, of, values)
        job = row if of == JOB else int(str(values["job"]))
        self._remember(self._next_entry(), at, job, MADE, of, row)
        return row

    def _set(self, of: str, row: int, values: Mapping[str, object]) -> None:
        """All at once: a start moved past the old end fits only together with the new one."""
        if values:
            columns = ", ".join(f"{name} = ?" for name in values)
            kept = map(as_kept, values.values())
            self.connection.execute(f"UPDATE {of} SET {columns} WHERE id = ?", (*kept, row))

    def _next_entry(self) -> int:
        return (first(self.connection, int, "SELECT MAX(entry) FROM job_history") or 0) + 1

    def _remember(
        self,
        entry: int,
        at: datetime,
        job: int,
        kind: str,
        of: str,
        row: int,
        field: str | None = None,
        before: object = None,
        after: object = None,
        undoes: int | None = None,
    ) -> None:
        self.connection.execute(
            "INSERT INTO job_history (entry, at, job, kind, of, row, field, before, after, undoes)"
            " VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
            (entry, milliseconds(at), job, kind, of, row, field, as_kept(before), as_kept(after), undoes),
        )


# its clocks ran from something that was corrected since: it counts as not told
_CORRECTED = """EXISTS (
    SELECT 1 FROM job_history AS line
    WHERE line.job = told.job AND line.of = 'coat' AND line.row = told.coat AND line.at > told.at
        AND line.field IN ('coating', 'started_at', 'ended_at', 'mixed_at', 'material', 'place', 'panel')
)"""


def jobs_to_watch(connection: sqlite3.Connection, done_since: datetime) -> dict[int, int]:
    """The ids of jobs that are open, or done since then, each with the newest entry of its history."""
    return dict(
        connection.execute(
            "SELECT job.id, MAX(line.entry) FROM job JOIN job_history AS line ON line.job = job.id"
            " WHERE job.undone_at IS NULL AND (job.finished_at IS NULL OR job.finished_at >= ?) GROUP BY job.id",
            (milliseconds(done_since),),
        )
    )


def is_as_it_was(connection: sqlite3.Connection, job: int, entry: int) -> bool:
    """Whether nothing was done to a job since that entry of its history."""
    return first(connection, int, "SELECT MAX(entry) FROM job_history WHERE job = ?", job) == entry


def told_of(connection: sqlite3.Connection, job: int, now: datetime) -> frozenset[tuple[int, str]]:
    """What was told of a job: coat and kind.

    What was told in what is now the future was told by a clock that was wrong, and counts for nothing.
    """
    rows = connection.execute(
        f"SELECT coat, kind FROM job_told AS told WHERE job = ? AND at <= ? AND NOT {_CORRECTED}",
        (job, milliseconds(now)),
    )
    return frozenset((coat, kind) for coat, kind in rows)


def keep_told(connection: sqlite3.Connection, job: int, word: JobWord, now: datetime, notice: int) -> None:
    """Keep that a word was told, inside the caller's transaction."""
    connection.execute(
        "INSERT OR REPLACE INTO job_told (job, coat, kind, at, notice) VALUES (?, ?, ?, ?, ?)",
        (job, word.coat, word.kind, milliseconds(now), notice),
    )


def notices_out_of_date(connection: sqlite3.Connection) -> list[int]:
    """Notices that still wait and are so no more.

    Their coat or job was taken back, their coat was corrected or has another over it, or their job is done.
    """
    lasting, of_pot = (", ".join(f"'{kind}'" for kind in kinds) for kinds in (OUTLASTS_JOB, OF_POT))
    rows = connection.execute(
        "SELECT DISTINCT told.notice FROM outbox JOIN job_told AS told ON told.notice = outbox.notice_id"
        " JOIN coat ON coat.id = told.coat JOIN job ON job.id = told.job WHERE outbox.status = 'pending' AND ("
        " coat.undone_at IS NOT NULL OR job.undone_at IS NOT NULL"
        f" OR (job.finished_at IS NOT NULL AND told.kind NOT IN ({lasting}))"
        f" OR (told.kind NOT IN ({of_pot}) AND EXISTS (SELECT 1 FROM coat AS later WHERE later.job = told.job"
        " AND later.undone_at IS NULL AND later.panel = 0 AND later.started_at > coat.started_at))"
        f" OR {_CORRECTED})"
    )
    return [notice for (notice,) in rows]
