"""`advisor import`: a CSV file into the logbook, each reading with its mark."""

import io
import sqlite3
import sys
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import typer

from advisor.catalog.marks import in_short
from advisor.cli.paper import print_wrapped
from advisor.errors import ConfigError
from advisor.logbook.air_log import AirLog, Written
from advisor.logbook.store import logbook, logbook_path, transaction
from advisor.readings.csv_file import CsvReadings
from advisor.readings.quality import QualityControl
from advisor.readings.reading import Reading, Reject
from advisor.shop.find import shop_from
from advisor.sources.air_source import zone_of
from advisor.times import milliseconds

BATCH = 5_000  # entries a transaction: short enough for a daemon beside it


def run_import(config: Path | None, path: Path, zone_name: str | None) -> int:
    """Read, mark and write; print what became of it. Exit code 0; 2 when the file cannot be read."""
    shop = shop_from(config)
    if not shop.coatings and shop.logbook is None:
        raise ConfigError("no configuration found", "--config FILE", "name the shop whose logbook this goes into")
    now = datetime.now(UTC)
    source = CsvReadings(path, shop.csv, zone_of(zone_name or shop.zone), shop.spray_place or "shop")
    present = milliseconds(now)
    until = present + round(shop.limit("clock_tolerance").value * 1000)
    control = QualityControl(shop.accuracy)
    total, rejected = Written(0, 0, 0), 0
    entries: list[Reading | Reject] = []

    def flush(connection: sqlite3.Connection, air_log: AirLog) -> None:
        nonlocal total, rejected
        readings = [control.mark(entry, until) for entry in entries if isinstance(entry, Reading)]
        rejects = [entry for entry in entries if isinstance(entry, Reject)]
        with transaction(connection):
            air_log.reject(rejects, present)
            written = air_log.write(readings) if readings else Written(0, 0, 0)
        total = Written(total.new + written.new, total.repeated + written.repeated, total.conflicts + written.conflicts)
        rejected += len(rejects)
        entries.clear()

    with logbook(logbook_path(shop.logbook), now) as connection:
        air_log = AirLog(connection)
        size = path.stat().st_size if path.is_file() else 0
        lines = iter(source)
        entries += [entry for entry in (next(lines, None),) if entry is not None]  # a file that is none fails here
        with _progress(size) as bar:
            for entry in lines:
                entries.append(entry)
                if len(entries) >= BATCH:
                    flush(connection, air_log)
                    bar.update(source.take_consumed())
            flush(connection, air_log)
            bar.update(source.take_consumed())
    print_wrapped(_told(path, total, rejected, control, source.unread_columns))
    return 0


def _progress(size: int) -> Any:
    """A bar on a terminal, nothing in a log file."""
    quiet = None if sys.stderr.isatty() else io.StringIO()
    return typer.progressbar(length=size, label="importing", file=quiet or sys.stderr)


def _told(path: Path, total: Written, rejected: int, control: QualityControl, unread: tuple[str, ...]) -> list[str]:
    marks = "; ".join(f"{count:,} {in_short(reason)}" for reason, count in control.counts.most_common())
    lines = [f"{path.name}: {total.new:,} readings new in the logbook, {total.repeated:,} stood there already."]
    if total.conflicts:
        lines.append(f"{total.conflicts:,} said something else than what stands there; the first value was kept.")
    if marks:
        lines.append(f"Marked: {marks}.")
    if rejected:
        lines.append(f"{rejected:,} lines gave no reading; they are kept with their reason.")
    if unread:
        lines.append(f"Columns not read: {', '.join(unread[:5])}.")
    return lines
