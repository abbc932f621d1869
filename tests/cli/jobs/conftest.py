"""A shop with a job in it."""

from datetime import timedelta

import pytest

from advisor.cli.app import run
from tests.cli.jobs.asked import CONFIG, ask, iso, now


@pytest.fixture
def shop(tmp_path, no_config):
    """A shop with a logbook of its own, in the folder one stands in."""
    (tmp_path / "advisor.toml").write_text(CONFIG, encoding="utf-8")
    return tmp_path


@pytest.fixture
def lid(shop, capsys):
    """A job with a schedule."""
    assert ask(capsys, "new", "lid", "--schedule", "waterborne-two-pack")[0] == 0
    return shop


@pytest.fixture
def warm(lid, capsys):
    """A room logged at 23 °C for a day."""
    rows = ["time,sensor,air_temperature_c,relative_humidity_pct"]
    for minute in range(24 * 60, -1, -10):
        waver = 0.02 if minute % 20 else -0.02
        rows.append(f"{iso(now() - timedelta(minutes=minute))},shelf,{23 + waver:.2f},{48 + 50 * waver:.1f}")
    (lid / "air.csv").write_text("\n".join(rows) + "\n", encoding="utf-8")
    assert run(["import", "air.csv"]) == 0
    capsys.readouterr()
    return lid
