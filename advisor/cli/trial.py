"""`advisor trial`: how to do the fan-on trial, and what it told."""

import json
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from advisor.advice import room_words
from advisor.advice.openings import LOOKED_BACK, best_opening
from advisor.advice.trial import OutdoorAir, outdoors_during, read_trial
from advisor.advice.verdict import EXIT_CANNOT_TELL, EXIT_GO
from advisor.cli.job_typed import typed_moment
from advisor.cli.logged_air import AskedAir, LoggedAir, logged_air, shop_in_zone
from advisor.cli.paper import print_wrapped
from advisor.cli.recorded import zone_of
from advisor.cli.typed import typed_outdoors
from advisor.errors import UsageError
from advisor.say.as_json import SCHEMA, utc
from advisor.shop.find import shop_from
from advisor.shop.shop import Shop

MINUTES = 10
_MINUTES = (5, 60)
_PAIRED = 180.0  # [s] between two temperatures at the work


@dataclass(frozen=True)
class AskedTrial:
    """The command line of `advisor trial`."""

    config: Path | None = None
    csv: Path | None = None
    started: str | None = None
    minutes: int = MINUTES
    outdoors: str | None = None
    outdoors_rh: str | None = None
    find: bool = False
    zone: str | None = None
    place: str | None = None
    as_json: bool = False


def run_trial(asked: AskedTrial) -> int:
    """Compute and print; exit code 0, or 3 where it cannot tell."""
    now = datetime.now(UTC)
    shop = shop_in_zone(shop_from(asked.config), asked.zone)
    _refuse_unfit(asked)
    typed = _outdoors(asked, shop)
    if asked.started is None and not asked.find:
        if asked.as_json:
            print(json.dumps({"schema": SCHEMA, "computed_at": utc(now), "steps": list(room_words.STEPS)}))
        else:
            print_wrapped(room_words.STEPS)
        return EXIT_GO
    return _find(asked, shop, now) if asked.find else _read(asked, typed, shop, now)


def _read(asked: AskedTrial, typed: OutdoorAir | None, shop: Shop, now: datetime) -> int:
    """The trial begun at the time given."""
    started = typed_moment(asked.started or "", "--started", shop, now)
    ended = started + timedelta(minutes=asked.minutes)
    fresh = timedelta(seconds=shop.limit("outdoors_fresh_for").value)
    air = logged_air(
        AskedAir(asked.csv, asked.place, zone_of(shop.zone), fresh, _PAIRED, started - fresh, min(ended + fresh, now)),
        shop,
        now,
    )
    first, last = started.timestamp(), ended.timestamp()
    outdoors = typed or outdoors_during(air.outdoors, first, last, air.shop)
    trial = read_trial(air.indoors, outdoors, first, last, air.shop)
    lines = room_words.trial_told(trial, air.place, air.shop)
    _print(asked, room_words.trial_record(trial, air.place, air.shop, now, None), lines, air)
    return EXIT_CANNOT_TELL if trial.fit is None else EXIT_GO


def _find(asked: AskedTrial, shop: Shop, now: datetime) -> int:
    """The best opening of the last 30 days."""
    back = timedelta(seconds=LOOKED_BACK)
    air = logged_air(AskedAir(asked.csv, asked.place, zone_of(shop.zone), back, _PAIRED), shop, now)
    trial, found = best_opening(air.indoors, air.outdoors, asked.minutes * 60.0, air.shop)
    if trial is None:
        read = air.indoors.seconds
        days = float(read[-1] - read[0]) / 86_400.0 if read.size else 0.0
        lines = [room_words.none_found(days, found)]
    else:
        lines = room_words.trial_told(trial, air.place, air.shop, found)
    _print(asked, room_words.trial_record(trial, air.place, air.shop, now, found), lines, air)
    return EXIT_CANNOT_TELL if trial is None else EXIT_GO


def _print(asked: AskedTrial, record: dict[str, Any], lines: list[str], air: LoggedAir) -> None:
    if asked.as_json:
        extra = {} if air.counts is None else {"readings": air.counts}
        print(json.dumps({**record, **extra}, ensure_ascii=False, allow_nan=False))
    else:
        print_wrapped(lines)


def _refuse_unfit(asked: AskedTrial) -> None:
    if not _MINUTES[0] <= asked.minutes <= _MINUTES[1]:
        raise UsageError(f"--minutes {asked.minutes}", f"{_MINUTES[0]} to {_MINUTES[1]}", "10 will do")
    if asked.find:
        for name in ("started", "outdoors", "outdoors_rh"):
            if getattr(asked, name) is not None:
                raise UsageError(f"--find with --{name.replace('_', '-')}", "--find alone", "leave one of them out")
    elif asked.started is None and any((asked.csv, asked.outdoors, asked.outdoors_rh, asked.place)):
        raise UsageError("--started is missing", "--started 14:05, or --find", "say when door and fan went on")


def _outdoors(asked: AskedTrial, shop: Shop) -> OutdoorAir | None:
    """The air outdoors as typed."""
    typed = typed_outdoors(asked.outdoors, asked.outdoors_rh, shop)
    if typed is None:
        return None
    return OutdoorAir(
        typed[0],
        max(typed[1], 0.01),
        shop.accuracy(None, "air_temperature"),
        shop.accuracy(None, "relative_humidity"),
    )
