"""Small helpers shared by the tests: reference tables, marked fixture days, short ways to say conditions."""

import csv
import functools
import inspect
import os
import shutil
import subprocess
import tomllib
from collections.abc import Callable, Iterable
from dataclasses import replace
from datetime import UTC, datetime
from functools import cache
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from hypothesis import settings

from advisor.catalog.coatings import Coating
from advisor.film.film_map import Films
from advisor.judge import verdict as verdicts
from advisor.judge.conditions import OUTDOORS, Conditions
from advisor.judge.film_rules import UNKNOWN_POT, Pot
from advisor.judge.plan import Plan
from advisor.judge.verdict import Verdict
from advisor.readings.csv_file import CsvReadings
from advisor.readings.recorded import RecordedFile, mark_until, read_recorded
from advisor.shop.shop import CsvDialect, Shop
from advisor.sources.conditions import conditions_as_of, typed_conditions
from advisor.times import milliseconds

ROOT = Path(__file__).parent.parent
FIXTURES = ROOT / "sensor_fixtures"
REFERENCE = ROOT / "tests" / "reference"
LONDON = ZoneInfo("Europe/London")
NOON = datetime(2025, 10, 14, 12, 0, tzinfo=UTC)
SHOP = Shop()
_FILMS: dict[tuple[tuple[str, float], ...], Films] = {}  # by what a shop has of its own


def judge(
    conditions: Conditions, coating: Coating, shop: Shop, now: datetime, pot: Pot = UNKNOWN_POT,
    plan: Plan | None = None,
) -> Verdict:  # fmt: skip
    """The verdict, its films looked up in one table that all tests of a process share."""
    films = _FILMS.setdefault(tuple(sorted(shop.limits.items())), Films(shop))
    return verdicts.judge(conditions, coating, shop, now, pot, plan, films)


def examples(count: int) -> int:
    """How many examples a property that wants `count` is tried with: a twentieth of it in `quick`, half as a rule."""
    return max(3, count * settings.default.max_examples // 100)


def every(names: str, rows: Iterable[Any] | Callable[[], Iterable[Any]], ids: Callable[[Any], str] = repr) -> Callable:
    """Makes a test of one row a test of all rows, which tells of every row that fails.

    For tables of quick rows: a row costs no collecting and no set-up. Other arguments of the test are its fixtures.
    rows: or a function that gives them, when making them costs something.
    """
    keys = [name.strip() for name in names.split(",")]

    def of(test: Callable) -> Callable:
        @functools.wraps(test)
        def all_rows(**fixtures: Any) -> None:
            table, wrong = list(rows() if callable(rows) else rows), []
            for row in table:
                try:
                    test(**dict(zip(keys, row if len(keys) > 1 else (row,), strict=True)), **fixtures)
                except Exception as error:
                    error.add_note(f"row: {ids(row)[:200]}")
                    wrong.append(error)
            assert table, "a table without rows tests nothing"
            if wrong:
                raise ExceptionGroup(f"{len(wrong)} of {len(table)} rows", wrong)

        signature = inspect.signature(test)
        left = [parameter for name, parameter in signature.parameters.items() if name not in keys]
        all_rows.__signature__ = signature.replace(parameters=left)
        return all_rows

    return of


def reference_rows(name: str) -> list[dict[str, str]]:
    """The rows of a table in tests/reference."""
    with (REFERENCE / name).open(encoding="utf-8") as stream:
        return list(csv.DictReader(stream))


def reference_toml(name: str) -> dict[str, Any]:
    """A TOML table in tests/reference."""
    return tomllib.loads((REFERENCE / name).read_text("utf-8"))


def typed(
    air: float | None = None,
    rh: float | None = None,
    surface: float | None = None,
    piece_in: float | None = None,
    sprayed: float | None = None,
    shop: Shop = SHOP,
) -> Conditions:
    """Conditions as if typed: °C, fraction, seconds."""
    values = {"air_temperature": air, "relative_humidity": rh, "surface_temperature": surface}
    given = {quantity: value for quantity, value in values.items() if value is not None}
    return typed_conditions(given, "shop", shop, piece_in, sprayed)


def verdict_for(coating: str, conditions: Conditions, shop: Shop = SHOP) -> Verdict:
    """The verdict on typed conditions."""
    return judge(conditions, shop.coating(coating), shop, NOON)


@cache
def fixture_file(name: str) -> RecordedFile:
    """A fixture day, read whole."""
    return read_recorded(CsvReadings(FIXTURES / f"{name}.csv", CsvDialect(), None))


def local(name: str, clock: str) -> datetime:
    """The moment of a clock time on a fixture day."""
    date = answers()[name]["date"]
    return datetime.fromisoformat(f"{date}T{clock}").replace(tzinfo=LONDON)


def fixture_verdict(name: str, when: datetime, coating: str, session: bool = False, shop: Shop = SHOP) -> Verdict:
    """The verdict on a fixture day as of a moment, the way `advisor check --at` judges it.

    session: with the air outdoors, so that the session ahead counts; else the room as it stands.
    """
    file = fixture_file(name)
    marked = mark_until(file, milliseconds(when), False, SHOP.accuracy)
    conditions = conditions_as_of(marked.readings, when, "shop", SHOP, rejects=marked.rejects)
    if not session:
        indoors = {key: value for key, value in conditions.values.items() if key[0] != OUTDOORS}
        conditions = replace(conditions, values=indoors)
    return judge(conditions, shop.coating(coating), shop, when)


@cache
def answers() -> dict[str, Any]:
    """The right answers of the fixture days, by day."""
    table = tomllib.loads((FIXTURES / "answers.toml").read_text("utf-8"))
    return {day["name"]: day for day in table["day"]}


def program(name: str, package: str) -> str:
    """A program the tests need: found, or fetched by apt when it may be; in CI never skipped."""
    found = shutil.which(name, path=f"{os.environ.get('PATH', '')}:/usr/sbin:/usr/local/sbin")
    if found is None and os.geteuid() == 0 and shutil.which("apt-get"):
        quiet = {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}
        subprocess.run(["apt-get", "update", "-qq"], check=True, env=quiet)
        subprocess.run(["apt-get", "install", "-y", "-qq", "--no-install-recommends", package], check=True, env=quiet)
        return program(name, package)
    if found is None:
        reason = f"{name} is missing: sudo apt-get install {package}"
        if os.environ.get("CI"):
            pytest.fail(reason)
        pytest.skip(reason)
    return found
