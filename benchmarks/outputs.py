"""What every command says, recorded before a change of structure and compared after it, to the letter.

.venv/bin/python benchmarks/outputs.py record FILE [AIRS]; then compare FILE, which prints what differs. By hand.
The clock stands still, the dice are seeded: typed checks in random airs (as text and as JSON), the other commands over
the recorded days, a shop's logbook with a job, and every recorded day replayed.
"""

import contextlib
import importlib
import io
import json
import os
import pkgutil
import random
import sys
import tempfile
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import advisor
from advisor.catalog.coatings import coating_ids
from advisor.cli.app import run

ROOT = Path(__file__).resolve().parents[1]
DAYS = {
    "good-day": "2025-06-17", "humid-evening": "2025-08-26", "cold-morning": "2025-11-04",
    "dusty-clean-down": "2025-10-02", "winter-door": "2026-01-20", "warm-damp-front": "2026-02-10",
    "sensor-faults": "2025-10-21",
}  # fmt: skip
NOW = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)
DEFECTS = ("blush", "nibs", "soft", "cracking")


class AnyTime(type):
    """A clock that stands takes every time for one of its own."""

    def __instancecheck__(cls, one: object) -> bool:
        return type(one) is datetime or type.__instancecheck__(cls, one)


class StillClock(datetime, metaclass=AnyTime):
    """A clock that stands at NOW."""

    @classmethod
    def now(cls, tz=None):
        """NOW, in whatever zone is asked for."""
        return NOW if tz is None else NOW.astimezone(tz)


def stop_the_clock() -> None:
    for found in pkgutil.walk_packages(advisor.__path__, "advisor."):
        if not found.name.endswith("__main__"):
            module = importlib.import_module(found.name)
            if getattr(module, "datetime", None) is datetime:
                module.datetime = StillClock


def asked(command: list[str]) -> dict[str, object]:
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        code = run(command)
    return {"command": command, "code": code, "out": out.getvalue(), "err": err.getvalue()}


def airs(dice: random.Random) -> Iterator[list[str]]:
    while True:
        air, coating = dice.uniform(4.0, 36.0), dice.choice(coating_ids())
        said = ["check", "--air", f"{air:.1f}C", "--rh", f"{dice.uniform(15, 97):.0f}%", "--coating", coating]
        if dice.random() < 0.4:
            said += ["--surface", f"{air + dice.gauss(-1.0, 3.0):.1f}C"]
        if dice.random() < 0.4:
            said += [
                "--outdoors",
                f"{air + dice.gauss(-5.0, 7.0):.1f}C",
                "--outdoors-rh",
                f"{dice.uniform(20, 97):.0f}%",
            ]
        if dice.random() < 0.3:
            said += ["--spray", dice.choice(("5min", "20min", "60min"))]
        yield said


def of_a_day(name: str, date: str) -> Iterator[list[str]]:
    csv = ["--csv", str(ROOT / "sensor_fixtures" / f"{name}.csv"), "--zone", "Europe/London"]
    for clock in ("08:30", "14:30", "20:30"):
        for coating in coating_ids()[::3]:
            yield ["check", *csv, "--at", f"{date}T{clock}", "--coating", coating]
        yield ["outlook", *csv, "--at", f"{date}T{clock}"]
        yield ["cure", *csv, "--at", f"{date}T{clock}", "--coating", "oil-varnish", "--sprayed", f"{date}T08:00"]
        for defect in DEFECTS:
            yield [
                *("review", *csv, "--coating", "nitrocellulose-lacquer", "--sprayed", f"{date}T{clock}"),
                *("--defect", defect),
            ]
    yield ["watch", "--replay", csv[1], "--zone", "Europe/London"]


def of_the_bench() -> Iterator[list[str]]:
    for coating in coating_ids():
        yield ["film", "--air", "21C", "--rh", "60%", "--coating", coating]
        yield [
            *("mix", "--coating", coating, "--batch", "500ml", "--cup", "DIN 4"),
            *("--seconds", "25", "--material", "19C"),
        ]
        yield ["coatings", coating]


def of_a_job() -> Iterator[list[str]]:
    yield ["job", "new", "chest", "--schedule", "shellac-lacquer"]
    yield ["job", "coat", "--coating", "nitrocellulose-lacquer", "--start", "2026-03-02T07:00Z", "--minutes", "10"]
    yield ["job", "clock"]
    yield ["job", "list"]
    yield ["check", "--job", "chest", "--air", "21C", "--rh", "50%"]
    yield ["plan", "add", "--at", "2026-03-02T15:00Z", "--coating", "nitrocellulose-lacquer"]
    yield ["plan", "list"]


def everything(count: int) -> Iterator[list[str]]:
    yield from of_a_job()
    yield from of_the_bench()
    for name, date in DAYS.items():
        yield from of_a_day(name, date)
    random_airs = airs(random.Random(20260302))
    for _ in range(count):
        yield next(random_airs)


def main(how: str, file: str, count: int) -> int:
    kept = Path(file).resolve()
    os.environ["COLUMNS"] = "80"
    stop_the_clock()
    with tempfile.TemporaryDirectory() as folder:
        os.chdir(folder)  # every path that is said is relative to it
        Path("advisor.toml").write_text('coatings = ["nitrocellulose-lacquer"]\nlogbook = "log.db"\n', encoding="utf-8")
        os.environ["ADVISOR_CONFIG"] = str(Path("advisor.toml").resolve())
        if how == "record":
            with kept.open("w", encoding="utf-8") as stream:
                for command in everything(count):
                    for as_json in ([], ["--json"]):
                        if as_json and command[:2] in (["job", "new"], ["job", "coat"], ["plan", "add"]):
                            continue
                        stream.write(json.dumps(asked([*command, *as_json]), ensure_ascii=False) + "\n")
            return 0
        different = 0
        for line in kept.open(encoding="utf-8"):
            before = json.loads(line)
            after = asked(before["command"])
            if after != before:
                different += 1
                print(json.dumps({"before": before, "after": after}, ensure_ascii=False)[:3000])
        print(f"{different} differ", file=sys.stderr)
        return int(different > 0)


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1], sys.argv[2], int(sys.argv[3]) if len(sys.argv) > 3 else 2000))
