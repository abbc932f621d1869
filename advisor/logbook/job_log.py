"""Jobs in the logbook: coats, what was seen, rework; every change with its history, nothing deleted."""

import sqlite3
from collections.abc import Iterator, Mapping
from datetime import datetime
from typing import Any

from advisor.jobs.job import Coat, HistoryLine, Job, Observation, Rework, Spraying, Value
from advisor.logbook.rows import Columns, as_kept, first, insert
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
        before = dict(zip(_COLUMNS[of].names, self._row(of, row), strict=True))
        kept = {name: as_kept(value) for name, value in values.items()}
        changed = {name: value for name, value in kept.items() if value != before[name]}
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
            back.setdefault((line.of, line.row), {})[name] = as_kept(after)
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
        found = [self._whole(record) for record in self._records(JOB, "undone_at IS NULL AND id = ?", number)]
        return found[0] if found else None

    def coat_before(self, coat: int) -> Coat | None:
        """The coat of any job that was sprayed before a coat, test panels too; None where there is none."""
        where = (
            "undone_at IS NULL AND id <> ? AND started_at <= (SELECT started_at FROM coat AS this WHERE this.id = ?)"
        )
        found = list(self._records(COAT, where, coat, coat, order="started_at DESC, id DESC LIMIT 1"))
        return Coat(**found[0]) if found else None

    def panels_seen(self, start: datetime, now: datetime) -> Iterator[tuple[Coat, Observation]]:
        """The test panels begun from start to now, each with what was seen of it by now, in the order it was seen.

        Good of one defect says nothing of the others: that is no good panel, nor a bad one.
        """
        began = "undone_at IS NULL AND panel = 1 AND started_at BETWEEN ? AND ?"
        coats = {row["id"]: Coat(**row) for row in self._records(COAT, began, milliseconds(start), milliseconds(now))}
        said = f"""undone_at IS NULL AND at <= ? AND (good = 0 OR defect IS NULL)
            AND coat IN ({", ".join(map(str, coats))}) AND job IN (SELECT id FROM job WHERE undone_at IS NULL)"""
        for row in self._records(OBSERVATION, said, milliseconds(now)):
            seen = Observation(**row)
            yield coats[row["coat"]], seen

    def history(self, job: int) -> list[HistoryLine]:
        """All that was done to a job, the oldest first, what was taken back too."""
        return list(self._lines("job = ?", job))

    def row_of(self, of: str, row: int) -> dict[str, Any]:
        """A row as it stands, taken back or not."""
        return _COLUMNS[of].values(self._row(of, row))

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

    def _row(self, of: str, row: int) -> tuple[Any, ...]:
        found: tuple[Any, ...] = self.connection.execute(
            f"SELECT {_COLUMNS[of]} FROM {of} WHERE id = ?", (row,)
        ).fetchone()
        return found

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
            self.connection.execute(f"UPDATE {of} SET {columns} WHERE id = ?", (*values.values(), row))

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
