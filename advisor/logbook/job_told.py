"""Which jobs want watching, and what was told of each."""

import sqlite3
from datetime import datetime

from advisor.logbook.rows import first
from advisor.notices.job_notice import OF_POT, OUTLASTS_JOB, JobWord
from advisor.times import milliseconds

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
