"""`advisor import`: a CSV file into the logbook, each reading with its mark."""

import io
import sys
from dataclasses import astuple
from datetime import UTC, datetime
from itertools import chain, islice
from pathlib import Path
from typing import Annotated

import typer

from advisor.catalog.marks import in_short
from advisor.cli.options import ConfigOption, ZoneOption
from advisor.cli.paper import print_answer
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


def run_import(
    csv: Annotated[Path, typer.Argument(help="A CSV file of readings.")],
    config: ConfigOption = None,
    zone: ZoneOption = None,
) -> int:
    """Bring a CSV file of readings into the logbook."""
    shop, now = shop_from(config), datetime.now(UTC)
    if not shop.coatings and shop.logbook is None:
        raise ConfigError("no configuration found", "--config FILE", "name the shop whose logbook this goes into")
    source = CsvReadings(csv, shop.csv, zone_of(zone or shop.zone), shop.spray_place or "shop")
    until = milliseconds(now) + round(shop.limit("clock_tolerance").value * 1000)
    control, written, rejected = QualityControl(shop.accuracy), [], 0
    with logbook(logbook_path(shop.logbook), now) as connection:
        air_log, lines = AirLog(connection), iter(source)
        entries = chain([*islice(lines, 1)], lines)  # a file that is none fails here
        screen = sys.stderr if sys.stderr.isatty() else io.StringIO()  # a bar on a terminal, nothing in a log file
        size = csv.stat().st_size if csv.is_file() else 0
        with typer.progressbar(length=size, label="importing", file=screen) as bar:
            while batch := list(islice(entries, BATCH)):
                readings = [control.mark(entry, until) for entry in batch if isinstance(entry, Reading)]
                rejects = [entry for entry in batch if isinstance(entry, Reject)]
                with transaction(connection):
                    air_log.reject(rejects, milliseconds(now))
                    written += [air_log.write(readings)] if readings else []
                rejected += len(rejects)
                bar.update(source.take_consumed())
    total = Written(*(sum(counts) for counts in zip((0, 0, 0), *map(astuple, written), strict=True)))
    print_answer(_told(csv, total, rejected, control, source.unread_columns))
    return 0


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
