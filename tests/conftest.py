"""What every test starts from: log settings as delivered, and no configuration lying about."""

import csv
import os
from datetime import UTC, datetime
from pathlib import Path

import pytest
import structlog
from hypothesis import HealthCheck, settings

# CI tries the same examples each time, so that a landing does not hang on the dice; by hand they vary. No deadline:
# how long an example takes is the machine's affair. A fixture that examples share is meant: they differ in what is
# typed. How many of the examples a test states are tried: see `examples` in tests/support.py
for name, count in (("quick", 5), ("usual", 50), ("full", 150)):
    settings.register_profile(
        name, max_examples=count, deadline=None, derandomize=bool(os.environ.get("CI")),
        suppress_health_check=[HealthCheck.function_scoped_fixture],
    )  # fmt: skip
settings.load_profile("usual")

LONG_RUNS = Path(__file__).parent / "reference" / "long_runs.csv"


@pytest.fixture(autouse=True)
def _log_as_delivered():
    """A command that sets up its log must not leave it to the next test."""
    yield
    structlog.reset_defaults()


@pytest.fixture(autouse=True)
def _a_fault_of_our_own_fails(monkeypatch):
    """At the command line it is one line and exit code 2; here it must not pass for a foreseen error."""

    def raised(error):
        raise error

    monkeypatch.setattr("advisor.cli.app.unforeseen", raised)


@pytest.fixture
def no_config(tmp_path, monkeypatch):
    """An empty folder to stand in, with no configuration in reach, on a screen of 80 columns."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path))
    monkeypatch.delenv("ADVISOR_CONFIG", raising=False)
    monkeypatch.setenv("COLUMNS", "80")


def pytest_collection_modifyitems(items):
    """Tests that wait for real seconds begin first, so that the others compute beside them and none is left waiting."""
    items.sort(key=lambda item: not item.path.match("watch/test_broker.py"))


def pytest_runtest_logreport(report):
    """A run of over five minutes that passes writes its day into the table that docs/checks.md shows."""
    if (
        "soak" in report.keywords
        and report.when == "call"
        and report.passed
        and "PYTEST_XDIST_WORKER" not in os.environ
    ):
        with LONG_RUNS.open(encoding="utf-8", newline="") as stream:
            rows = {row["run"]: row for row in csv.DictReader(stream)}
        run = report.location[2].partition("[")[0].removeprefix("test_").replace("_", " ")
        rows[run] = {
            "run": run,
            "last_passed": f"{datetime.now(UTC):%Y-%m-%d}",
            "minutes": f"{report.duration / 60:.0f}",
        }
        with LONG_RUNS.open("w", encoding="utf-8", newline="") as stream:
            table = csv.DictWriter(stream, ["run", "last_passed", "minutes"], lineterminator="\n")
            table.writeheader()
            table.writerows(rows[name] for name in sorted(rows))


def pytest_addoption(parser):
    parser.addoption("--golden", action="store_true", help="write the screens of tests/golden anew")
