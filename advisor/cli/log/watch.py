"""`advisor watch`: the daemon, or a recorded file through it."""

import contextlib
import logging
import sys
import time
from collections.abc import Callable, MutableMapping
from datetime import UTC, datetime
from pathlib import Path
from typing import Annotated, Any, TextIO, cast
from zoneinfo import ZoneInfo

import structlog
import typer

from advisor.catalog.coatings import coating_ids
from advisor.cli.options import ConfigOption, ZoneOption
from advisor.cli.paper import print_answer
from advisor.desk.typed import coats_and_spray
from advisor.errors import UsageError, refuse, shown
from advisor.notices.announced import Notice
from advisor.readings.csv_file import parse_time
from advisor.say.as_json import keyed, utc
from advisor.shop.find import shop_from
from advisor.shop.shop import Shop
from advisor.sources.air_source import zone_of
from advisor.times import moment_of
from advisor.watch.replay import ReplayedPlan, replay

AGAIN = 60.0  # [s] after which a fault that lasts is said again


def run_watch(
    config: ConfigOption = None,
    recorded: Annotated[
        Path | None, typer.Option("--replay", help="Run a CSV file or a capture (.jsonl) through the daemon instead.")
    ] = None,
    speed: Annotated[
        float | None, typer.Option("--speed", help="With --replay: times real time; else as fast as it goes.")
    ] = None,
    zone: ZoneOption = None,
    plan: Annotated[
        list[str] | None,
        typer.Option("--plan", help='With --replay: a session meant in it, "2025-08-26T18:00 shellac 2" (coats).'),
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help="With --replay: one JSON line for each notice.")] = False,
) -> int:
    """Watch the air day and night: log it, judge it every minute, tell what changes."""
    refuse((
        recorded is None and (speed is not None or as_json or plan),
        "--speed, --plan and --json go with --replay", "--replay FILE", "leave them out",
    ))  # fmt: skip
    if speed is not None and not speed > 0:
        raise UsageError(f"--speed {speed:g}", "over 0: times real time", "leave it out to run as fast as it goes")
    shop = shop_from(config)
    log_to_stderr(quiet=recorded is not None)
    if recorded is None:
        from advisor.watch.service import run_service  # noqa: PLC0415 - broker and scheduler only where they run

        run_service(shop)
        return 0

    def tell(notice: Notice, text: str) -> None:
        said = {"at": utc(moment_of(notice.at)), **keyed("state coating reason", notice), "text": text}
        print_answer(said if as_json else [text])
        sys.stdout.flush()

    where = zone_of(zone or shop.zone)
    meant = [_replayed_plan(text, shop, where) for text in plan or ()]
    replay(recorded, shop, shop.coatings or coating_ids(), tell, speed, where, meant, datetime.now(UTC))
    return 0


def _replayed_plan(text: str, shop: Shop, zone: ZoneInfo | None) -> ReplayedPlan:
    """`2025-08-26T18:00 shellac`, with the coats behind it when they are not the shop's usual ones."""
    words = text.split()
    at = parse_time(words[0], zone or ZoneInfo("UTC")) if len(words) in (2, 3) else None
    if at is None or (len(words) == 3 and not words[2].isdecimal()):
        raise UsageError(f"--plan {shown(text)}", '"2025-08-26T18:00 shellac 2"', "give time, coating, coats")
    coats, spray = coats_and_spray(int(words[2]) if len(words) == 3 else None, None, shop)
    return ReplayedPlan(at, shop.coating(words[1]).id, coats, spray)


def log_to_stderr(quiet: bool) -> None:
    """Log lines to standard error; a replay says only what goes wrong."""
    stream = cast("TextIO", Unfailing())
    structlog.configure(
        processors=[
            structlog.processors.add_log_level,
            OnceAMinute(),
            structlog.processors.TimeStamper(fmt="iso", utc=True),
            structlog.processors.KeyValueRenderer(key_order=["timestamp", "level", "event"]),
        ],
        wrapper_class=structlog.make_filtering_bound_logger(logging.ERROR if quiet else logging.INFO),
        logger_factory=lambda *_: structlog.PrintLogger(stream),
    )


class Unfailing:
    """Standard error for log lines: what cannot be written there is left out, for no line is worth a thread's life."""

    def write(self, text: str) -> None:
        """Write, if it can be."""
        with contextlib.suppress(OSError, ValueError):
            sys.stderr.write(text)

    def flush(self) -> None:
        """Flush, if it can be."""
        with contextlib.suppress(OSError, ValueError):
            sys.stderr.flush()


class OnceAMinute:
    """Lets an error through when it is new, and then once a minute while it lasts."""

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        self._clock = clock
        self._said: dict[str, float] = {}

    def __call__(self, _logger: Any, method: str, entry: MutableMapping[str, Any]) -> MutableMapping[str, Any]:
        """The entry itself, or DropEvent."""
        if method == "error":
            now, event = self._clock(), str(entry["event"])
            if now - self._said.get(event, -AGAIN) < AGAIN:
                raise structlog.DropEvent
            self._said[event] = now
        return entry
