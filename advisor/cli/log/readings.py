"""`advisor readings`: what the logbook holds, and its export.

`advisor import`: a CSV file into the logbook, each reading with its mark.
"""

import csv
import io
import json
import sys
from collections.abc import Iterator
from dataclasses import astuple
from datetime import UTC, datetime, timedelta
from itertools import chain, islice
from pathlib import Path
from typing import Annotated, Any

import typer

from advisor.catalog.limits import in_short, marks
from advisor.catalog.quantities import kind_of, label
from advisor.cli.options import ConfigOption, ZoneOption
from advisor.cli.paper import Answer, print_wrapped
from advisor.desk.typed import past_moment
from advisor.errors import ConfigError, refuse
from advisor.judge.verdict import State
from advisor.logbook.air_log import AirLog, Written
from advisor.logbook.daemon_lock import daemon_doubt
from advisor.logbook.store import logbook, logbook_path, transaction
from advisor.logbook.verdict_log import current_record
from advisor.readings.csv_file import CsvReadings
from advisor.readings.quality import QualityControl
from advisor.readings.reading import Reading, Reject
from advisor.say.as_json import number
from advisor.say.numbers import quantity, span
from advisor.say.phrases import STATE_WORDS
from advisor.shop.find import shop_from
from advisor.shop.shop import Shop
from advisor.sources.air_source import zone_of
from advisor.times import milliseconds, moment_of
from advisor.watch.clock import SystemClock
from advisor.watch.daemon import INTERVAL

COLUMNS = ("time", "place", "quantity", "value", "unit", "sensor", "quality")
_DANGEROUS = ("=", "+", "-", "@", "\t", "\r", "\x00")  # what a spreadsheet may take for a formula


def run_readings(
    config: ConfigOption = None,
    since: Annotated[str | None, typer.Option("--since", help="Export from this ISO time on.")] = None,
    as_csv: Annotated[bool, typer.Option("--csv", help="Export all readings as CSV.")] = False,
    as_json: Annotated[bool, typer.Option("--json", help="Export all readings as JSON.")] = False,
) -> int:
    """Show the newest readings in the logbook with their age and quality, or export them."""
    refuse((as_csv and as_json, "--csv together with --json", "one or the other", "leave one out"))
    shop, now = shop_from(config), datetime.now(UTC)
    path = logbook_path(shop.logbook)
    doubt = daemon_doubt(path)
    with logbook(path) as connection:
        air_log = AirLog(connection)
        ever = now + timedelta(days=36_500)
        start = 0 if since is None else milliseconds(past_moment("--since", since, zone_of(shop.zone), ever))
        rows = _rows(air_log, start, milliseconds(ever))
        if as_csv:
            _write_csv(rows)
        elif as_json:
            _write_json(rows)
        else:
            _print_newest(air_log, shop, now, doubt)
    return 0


def _rows(air_log: AirLog, start: int, end: int) -> Iterator[dict[str, Any]]:
    """Every reading from a moment to another [ms UTC]."""
    for reading in air_log.between(start, end):
        yield {
            "time": moment_of(reading.at).isoformat(timespec="milliseconds").replace("+00:00", "Z"),
            "place": reading.series.place,
            "quantity": reading.series.quantity,
            "value": reading.value,
            "unit": kind_of(reading.series.quantity).si_unit,
            "sensor": reading.series.sensor,
            "quality": reading.reason or reading.level,
        }


def _write_csv(rows: Iterator[dict[str, Any]]) -> None:
    writer = csv.DictWriter(sys.stdout, COLUMNS, lineterminator="\n")
    writer.writeheader()
    for row in rows:
        texts = {key: safe_text(row[key]) for key in ("place", "sensor", "quality")}
        writer.writerow({**row, **texts, "value": "" if row["value"] is None else repr(row["value"])})


def safe_text(text: str) -> str:
    """A text that no spreadsheet takes for a formula; numbers are written as numbers and not touched."""
    return f"'{text}" if text.startswith(_DANGEROUS) else text


def _write_json(rows: Iterator[dict[str, Any]]) -> None:
    """A list, written row by row: a year of readings need not fit into memory."""
    sys.stdout.write("[")
    for index, row in enumerate(rows):
        sys.stdout.write(",\n" if index else "\n")
        json.dump({**row, "value": number(row["value"])}, sys.stdout, ensure_ascii=False, allow_nan=False)
    sys.stdout.write("\n]\n")


def _print_newest(air_log: AirLog, shop: Shop, now: datetime, doubt: str | None) -> None:
    """doubt: of the daemon; None where none runs."""
    newest = air_log.newest(milliseconds(now + timedelta(seconds=shop.limit("clock_tolerance").value)))
    for reading in newest:
        age = (milliseconds(now) - reading.at) / 1000.0
        when = f"{span(age)} ago" if age >= 0 else f"{span(-age)} ahead of now"
        quality = reading.reason or reading.level
        print(
            f"{reading.series.place:<10} {label(reading.series.quantity):<24} {_value(reading, shop):>12}  "
            f"{when}, {reading.series.sensor}, {quality}"
        )
    clock = SystemClock().now()
    allowed = 2 * INTERVAL // timedelta(milliseconds=1)
    for coating in shop.coatings:
        kept = current_record(air_log.connection, (shop.booth, coating), milliseconds(now), clock.boot, allowed)
        if doubt:
            print_wrapped([f"{coating}: the daemon says WAIT, cannot tell. {marks()[doubt].sentence}"])
        elif doubt is None or kept is None:
            print_wrapped([f"{coating}: no current word from the daemon, so WAIT; `advisor check` judges by itself."])
        else:
            told = "WAIT, cannot tell" if kept["cannot_tell"] else STATE_WORDS[State(kept["state"])]
            print_wrapped([f"{coating}: the daemon says {told}, as of {kept['as_of']}."])
    counts = ", ".join(f"{count:,} {reason}" for reason, count in air_log.counts().most_common())
    print_wrapped([f"In all: {counts}." if counts else "No readings yet."])


_KINDS = {
    "temperature": "temperature",
    "fraction": "share",
    "mass_concentration": "particle_mass",
    "pressure": "air_pressure",
    "number_concentration": "particles",
}


def _value(reading: Reading, shop: Shop) -> str:
    kind = _KINDS[kind_of(reading.series.quantity).dimension]
    return "none" if reading.value is None else quantity(kind, reading.value, shop.units)


BATCH = 5_000  # entries a transaction: short enough for a daemon beside it


def run_import(
    shop: Shop,
    now: datetime,
    csv: Annotated[Path, typer.Argument(help="A CSV file of readings.")],
    zone: ZoneOption = None,
) -> Answer:
    """Bring a CSV file of readings into the logbook."""
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
    return _told(csv, total, rejected, control, source.unread_columns), 0


def _told(path: Path, total: Written, rejected: int, control: QualityControl, unread: tuple[str, ...]) -> list[str]:
    marks = "; ".join(f"{count:,} {in_short(reason)}" for reason, count in control.counts.most_common())
    others = "said something else than what stands there; the first value was kept."
    lines = (
        (True, f"{path.name}: {total.new:,} readings new in the logbook, {total.repeated:,} stood there already."),
        (total.conflicts, f"{total.conflicts:,} {others}"),
        (marks, f"Marked: {marks}."),
        (rejected, f"{rejected:,} lines gave no reading; they are kept with their reason."),
        (unread, f"Columns not read: {', '.join(unread[:5])}."),
    )
    return [line for met, line in lines if met]
