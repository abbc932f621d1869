"""A recorded file through the daemon: same parser, writer, tick and outbox; only timer and source are replaced."""

import json
import tempfile
import time
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import closing
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import chain
from pathlib import Path
from zoneinfo import ZoneInfo

from advisor.errors import FileError
from advisor.logbook.air_log import AirLog
from advisor.logbook.outbox import Waiting
from advisor.logbook.plan_log import keep_plan
from advisor.logbook.store import open_for_writing
from advisor.notices.announced import Notice
from advisor.readings.csv_file import CsvReadings, parse_time
from advisor.readings.payload import Message, PayloadReader
from advisor.readings.quality import QualityControl
from advisor.readings.reading import Calibrator, Reading, Reject
from advisor.shop.shop import Shop
from advisor.times import milliseconds, moment_of
from advisor.watch.clock import SimulatedClock
from advisor.watch.daemon import INTERVAL, Daemon
from advisor.watch.sender import Sender
from advisor.watch.writer import Incoming, Writer

SCREEN = "screen"
LONGEST_LINE = 20_000  # characters of a capture


@dataclass(frozen=True)
class ReplayedPlan:
    """A session meant within a recorded file; spray [s] a coat."""

    at: datetime
    coating: str
    coats: int
    spray: float


def replay(
    path: Path,
    shop: Shop,
    coatings: tuple[str, ...],
    tell: Callable[[Notice, str], None],
    speed: float | None = None,
    zone: ZoneInfo | None = None,
    plans: Sequence[ReplayedPlan] = (),
    until: datetime | None = None,
) -> int:
    """Run a CSV file or a capture (.jsonl) through the daemon; gives the number of ticks.

    tell: gets each notice with its text as it is sent. speed: times real time; None runs as fast as it goes. plans:
    made at the first reading. until: the present; a reading of a past file that is stamped beyond it is handed in when
    it comes. Raises FileError.
    """
    capture = path.suffix == ".jsonl"
    source = read_capture(path) if capture else CsvReadings(path, shop.csv, zone, shop.spray_place or "shop")
    moments = _by_moment(source, None if until is None else milliseconds(until))
    first = next(moments, None)
    if first is None:
        raise FileError(f"{path} holds no readings", "a CSV file or a capture", "check the file")
    clock = SimulatedClock(moment_of(first[0]))
    with tempfile.TemporaryDirectory(prefix="advisor-replay-") as folder:
        connection = open_for_writing(Path(folder) / "logbook.db", clock.now().wall, durable=False)
        for plan in plans:
            keep_plan(connection, clock.now().wall, plan.at, plan.coating, plan.coats, plan.spray, "", shop.booth)
        fresh_for, tolerance = (shop.limit(key).value for key in ("fresh_for", "clock_tolerance"))
        reader = PayloadReader(shop.topics, fresh_for, tolerance, shop.limit("settle_after_connect").value)
        writer = Writer(connection, reader, QualityControl(shop.accuracy), Calibrator(), clock)
        daemon = Daemon(shop, coatings, AirLog(connection), writer.do_now, (SCREEN,))

        def send(row: Waiting, text: str) -> str:
            tell(row.notice, text)
            return ""

        def tick(at: datetime) -> None:
            _wait_until(at, clock, speed)
            daemon.tick(clock.now())
            sender.round()

        sender = Sender(shop, send, clock, connection, writer.do_now)
        begin = due = clock.now().wall
        with closing(connection):
            for at, entries in chain([first], moments):
                while due < moment_of(at):
                    tick(due)
                    due += INTERVAL
                _wait_until(moment_of(at), clock, speed)
                _hand_in(entries, writer)
            tick(due)
    return (due - begin) // INTERVAL + 1


def _wait_until(moment: datetime, clock: SimulatedClock, speed: float | None) -> None:
    ahead = moment - clock.now().wall
    if ahead > timedelta(0):
        if speed is not None:
            time.sleep(ahead.total_seconds() / speed)
        clock.advance(ahead)


def _hand_in(entries: list[Reading | Reject | Message], writer: Writer) -> None:
    ready = [entry for entry in entries if not isinstance(entry, Message)]
    writer.write(ready)
    for entry in entries:
        if isinstance(entry, Message):
            writer.offer(Incoming(entry))
    while writer.step(0.0):
        pass


def _by_moment(
    entries: Iterable[Reading | Reject | Message], until: int | None
) -> Iterator[tuple[int, list[Reading | Reject | Message]]]:
    """Entries grouped by the moment they came in [ms UTC]; a reject belongs to the moment before it, and so does what a
    wrong clock stamped ahead of the present.
    """
    at: int | None = None
    group: list[Reading | Reject | Message] = []
    for entry in entries:
        own = at if isinstance(entry, Reject) else entry.at
        if until is not None and at is not None and own is not None and at <= until < own:
            own = at
        if group and own is not None and at is not None and own > at:
            yield at, group
            group = []
        at = own if at is None or (own is not None and own > at) else at
        group.append(entry)
    if group and at is not None:
        yield at, group


def read_capture(path: Path) -> Iterator[Message | Reject]:
    """The messages of a capture in the order of its lines: JSON lines of time, topic, payload, retain, as they came.

    Raises FileError when it cannot be read at all.
    """
    try:
        with path.open(encoding="utf-8", errors="backslashreplace") as stream:
            number = 0
            while line := stream.readline(LONGEST_LINE + 1):
                number += 1
                if line.strip():
                    yield _message(line, number)
    except OSError as error:
        raise FileError(f"cannot read {path}: {error.strerror}", "", "check the path") from error


def _message(line: str, number: int) -> Message | Reject:
    try:
        entry = json.loads(line)
        moment = parse_time(entry["time"], None)
        if moment is None or not isinstance(entry["payload"], str) or not isinstance(entry["topic"], str):
            raise ValueError
        return Message(
            entry["topic"], entry["payload"].encode("utf-8"), milliseconds(moment), entry.get("retain") is True
        )
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError, UnicodeEncodeError):
        return Reject(f"line {number}", "no capture line", line[:40].strip())
