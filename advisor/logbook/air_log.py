"""Readings in the logbook: written once each, read back by series and time."""

import sqlite3
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass

from advisor.catalog.quantities import kind_of
from advisor.logbook.rows import first, insert
from advisor.readings.reading import Reading, Reject, Series

MOST_REJECTS = 100_000  # kept; a sensor gone mad must not fill the disk


@dataclass(frozen=True)
class Written:
    """What became of a batch: new readings, ones that stood there already, and ones against what stood there."""

    new: int
    repeated: int
    conflicts: int


class AirLog:
    """Readings by series over one connection. Series ids are remembered for the connection's life."""

    def __init__(self, connection: sqlite3.Connection) -> None:
        self.connection = connection
        self._ids: dict[Series, int] = {}

    def write(self, readings: Sequence[Reading], calibration_ids: Mapping[str, int] | None = None) -> Written:
        """Write a batch inside the caller's transaction.

        A second value for one series and moment never replaces the first: the same one is a repeat, another one is a
        conflict and is kept as a reject.
        """
        used = calibration_ids or {}
        rows = [
            (
                self._id(reading.series),
                reading.at,
                _scaled(reading),
                reading.level,
                reading.reason,
                used.get(reading.series.sensor) if reading.series.quantity == "relative_humidity" else None,
            )
            for reading in readings
        ]
        before = self.connection.total_changes
        self.connection.executemany("INSERT OR IGNORE INTO reading VALUES (?, ?, ?, ?, ?, ?)", rows)
        new = self.connection.total_changes - before
        if new == len(rows):
            return Written(new, 0, 0)
        conflicts = self._keep_conflicts(readings, rows)
        return Written(new, len(rows) - new - conflicts, conflicts)

    def disown_after(self, at: int) -> None:
        """Mark every reading stamped later than a moment [ms UTC] as of the future, inside the caller's transaction."""
        for series in self.all_series():
            self.connection.execute(
                "UPDATE reading SET level = 'bad', reason = 'future' WHERE series_id = ? AND at > ?",
                (self._id(series), at),
            )

    def reject(self, rejects: Sequence[Reject], at: int) -> None:
        """Keep what gave no reading, with its reason, inside the caller's transaction."""
        self.connection.executemany(
            "INSERT INTO reject (at, source, reason, text) VALUES (?, ?, ?, ?)",
            [(at, reject.source, reject.reason, reject.text) for reject in rejects],
        )
        self.connection.execute("DELETE FROM reject WHERE id <= (SELECT MAX(id) FROM reject) - ?", (MOST_REJECTS,))

    def all_series(self) -> list[Series]:
        """Every series that was ever written."""
        rows = self.connection.execute("SELECT sensor, place, quantity FROM series ORDER BY place, quantity, sensor")
        return [Series(*row) for row in rows]

    def between(self, start: int, end: int, series: Sequence[Series] | None = None) -> Iterator[Reading]:
        """Readings with start <= at <= end [ms UTC], series by series, in the order of time within each.

        One query a series: the primary key then serves as the index.
        """
        for one in self.all_series() if series is None else series:
            yield from self._readings(one, "at BETWEEN ? AND ? ORDER BY at", start, end)

    def _readings(self, series: Series, which: str, *values: int | str) -> Iterator[Reading]:
        rows = self.connection.execute(
            f"SELECT at, value, level, reason FROM reading WHERE series_id = ? AND {which}", (self._id(series), *values)
        )
        for at, value, level, reason in rows:
            yield Reading(series, _unscaled(value, series), at, "logbook", level, reason)

    def thinned(
        self, start: int, end: int, series: Series, step: int, also: tuple[str, str]
    ) -> tuple[list[float], list[float]]:
        """Mean moment [ms UTC] and mean value of a series in each `step` [ms] from start to end.

        Good readings count, and those with one of the two marks `also`. Thinned by the database: a hundred days of
        minutes come back in a fifth of a second.
        """
        rows = self.connection.execute(
            "SELECT AVG(at), AVG(value) FROM reading WHERE series_id = ? AND at BETWEEN ? AND ?"
            " AND value IS NOT NULL AND (level = 'good' OR reason IN (?, ?)) GROUP BY at / ? ORDER BY 1",
            (self._id(series), start, end, *also, step),
        ).fetchall()
        scale = kind_of(series.quantity).resolution
        return [row[0] for row in rows], [float(f"{row[1] * scale:.12g}") for row in rows]

    def newest(self, until: int) -> list[Reading]:
        """The newest reading of each series up to a moment [ms UTC]; one stamped by a wrong clock is passed over.

        Where the newest is a stored message and not a live word, the newest live word comes with it.
        """
        found: list[Reading] = []
        newest_but = "at <= ? AND reason NOT IN ('future', ?) ORDER BY at DESC LIMIT 1"
        for one in self.all_series():
            newest = [*self._readings(one, newest_but, until, "future")]
            if newest and newest[0].reason == "not-live":
                found += self._readings(one, newest_but, until, "not-live")
            found += newest
        return found

    def after(self, at: int) -> list[Reading]:
        """The next reading of each series that is stamped later than a moment [ms UTC].

        First comes one that was not ahead of the clock when it was written, where there is one. A row without a value,
        or with two, tells nothing of that: older logbooks marked it so before they looked at its time.
        """
        which = "at > ? ORDER BY reason = 'future' OR reason = 'conflict' OR value IS NULL, at LIMIT 1"
        return [reading for one in self.all_series() for reading in self._readings(one, which, at)]

    def counts(self) -> Counter[str]:
        """Readings by reason; good ones under `good`, lines that gave none under `rejected`."""
        rows = self.connection.execute(
            "SELECT reason, COUNT(*) FROM reading GROUP BY reason UNION ALL SELECT 'rejected', COUNT(*) FROM reject"
        )
        return +Counter({reason or "good": count for reason, count in rows})

    def _id(self, series: Series) -> int:
        if series not in self._ids:
            key = (series.sensor, series.place, series.quantity)
            where = "SELECT id FROM series WHERE sensor = ? AND place = ? AND quantity = ?"
            known = first(self.connection, int, where, *key)
            self._ids[series] = insert(self.connection, "series", asdict(series)) if known is None else known
        return self._ids[series]

    def forget_ids(self) -> None:
        """After a rolled-back transaction: ids given in it may not stand in the file."""
        self._ids.clear()

    def _keep_conflicts(self, readings: Sequence[Reading], rows: Sequence[tuple[object, ...]]) -> int:
        rejects, conflicts = [], 0
        for reading, row in zip(readings, rows, strict=True):
            stored = self.connection.execute(
                "SELECT value, reason FROM reading WHERE series_id = ? AND at = ?", (row[0], row[1])
            ).fetchone()
            if stored is None:
                continue
            future = reading.reason == "future"
            said = f"{reading.series.sensor} {reading.series.quantity}"
            if stored[1] == "future" and not future:  # stamped by a wrong clock: it gives way, and is kept as a reject
                self.connection.execute(
                    "UPDATE reading SET value = ?, level = ?, reason = ?, calibration_id = ?"
                    " WHERE series_id = ? AND at = ?",
                    (*row[2:6], row[0], row[1]),
                )
                text = f"{said}, stamped by a wrong clock at {reading.at}"
                rejects.append(Reject("logbook", "future", text[:120]))
            elif stored[0] != row[2]:
                conflicts += 1
                text = f"{said} {reading.value} at {reading.at}"
                rejects.append(Reject(reading.source, "future" if future else "conflict", text[:120]))
                # one stamped by a wrong clock tells nothing against what stands there; else the first value stays, and
                # the moment counts as one for which the sensor said two things
                if not future:
                    self.connection.execute(
                        "UPDATE reading SET level = 'bad', reason = 'conflict' WHERE series_id = ? AND at = ?",
                        (row[0], row[1]),
                    )
        self.reject(rejects, readings[-1].at)
        return conflicts


def _scaled(reading: Reading) -> int | None:
    """A value as whole steps of its resolution; None stays None, and so does what no whole number can hold."""
    if reading.value is None:
        return None
    steps = reading.value / kind_of(reading.series.quantity).resolution
    return round(steps) if abs(steps) < 2**62 else None


def _unscaled(value: int | None, series: Series) -> float | None:
    """The value in SI, rounded to its resolution's own digits."""
    return None if value is None else float(f"{value * kind_of(series.quantity).resolution:.12g}")
