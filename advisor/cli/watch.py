"""`advisor watch`: the daemon, or a recorded file through it."""

import json
import logging
import sys
from pathlib import Path

import structlog

from advisor.advice.record import utc
from advisor.catalog.coatings import coating_ids
from advisor.cli.paper import print_wrapped
from advisor.cli.recorded import zone_of
from advisor.errors import UsageError
from advisor.shop.find import shop_from
from advisor.watch.replay import Told, replay


def run_watch(
    config: Path | None, replayed: Path | None, speed: float | None, zone_name: str | None, as_json: bool
) -> int:
    """Watch until told to stop, or replay a file to its end. Exit code 0."""
    if replayed is None and (speed is not None or as_json):
        raise UsageError("--speed and --json go with --replay", "--replay FILE", "leave them out")
    if speed is not None and not speed > 0:
        raise UsageError(f"--speed {speed:g}", "over 0: times real time", "leave it out to run as fast as it goes")
    shop = shop_from(config)
    log_to_stderr(quiet=replayed is not None)
    if replayed is None:
        from advisor.watch.service import run_service  # noqa: PLC0415 - broker and scheduler only where they run

        run_service(shop)
        return 0
    coatings = shop.coatings or coating_ids()

    def tell(told: Told) -> None:
        if as_json:
            entry = {"at": utc(told.at), "state": told.state, "coating": told.coating, "reason": told.reason}
            print(json.dumps({**entry, "text": told.text}, ensure_ascii=False), flush=True)
        else:
            print_wrapped([told.text])
            sys.stdout.flush()

    replay(replayed, shop, coatings, tell, speed, zone_of(zone_name or shop.zone))
    return 0


def log_to_stderr(quiet: bool) -> None:
    """Log lines to standard error; a replay says only what goes wrong."""
    structlog.configure(
        processors=[
            structlog.processors.add_log_level,
            structlog.processors.TimeStamper(fmt="iso", utc=True),
            structlog.processors.KeyValueRenderer(key_order=["timestamp", "level", "event"]),
        ],
        wrapper_class=structlog.make_filtering_bound_logger(logging.ERROR if quiet else logging.INFO),
        logger_factory=lambda *_: structlog.PrintLogger(sys.stderr),
    )
