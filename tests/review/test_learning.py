"""A shop's own coats: shares that say how much they rest on, and a limit only where they carry one."""

import json
import random
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from advisor.catalog.mechanisms import ABOVE, AIR, mechanisms
from advisor.cli.app import run
from advisor.jobs.job import Spraying
from advisor.logbook.air_log import AirLog
from advisor.logbook.job_log import JobLog
from advisor.logbook.store import open_for_writing, transaction
from advisor.readings.reading import Reading, Series
from advisor.review.causes import Cause, Standing
from advisor.review.learning import FEWEST, learn, share_of, worse_over
from tests.oracles import stats

MECHANISM = next(one for one in mechanisms().values() if one.kind == AIR and "blush" in one.defects)
PROBE = next(probe for probe in MECHANISM.probes if probe.direction == ABOVE)


def cause(measured: float, limit: float = 1.0) -> Cause:
    return Cause(MECHANISM, Standing.AGAINST, PROBE.exposure, measured, limit, "ratio", 0.0, "", "")


def coats(points):
    return [([cause(measured)], "blush" if failed else None) for measured, failed in points]


@given(st.integers(0, 60), st.integers(0, 60))
def test_a_share_is_the_beta_posterior(good, failed):
    """Against scipy.stats.beta: mean exact, the 90 % interval within a grid step or two."""
    share = share_of(good + failed, failed)
    exact = stats.beta(failed + 1, good + 1)
    assert share.mean == pytest.approx(exact.mean())
    assert share.low == pytest.approx(exact.ppf(0.05), abs=1.5e-3)
    assert share.high == pytest.approx(exact.ppf(0.95), abs=1.5e-3)


def test_three_of_four_against_none_of_four_is_likely_worse_and_not_sure():
    assert 0.9 < worse_over(share_of(4, 0), share_of(4, 3)) < 0.99
    assert worse_over(share_of(10, 5), share_of(10, 5)) == pytest.approx(0.5, abs=1e-3)


def test_a_shop_whose_coats_fail_from_another_limit_on_gets_it_proposed():
    """They fail over 1.4, not over 1: forty coats."""
    chance = random.Random(4)
    points = [(value, value > 1.4) for value in (chance.uniform(0.5, 2.0) for _ in range(40))]
    (found,) = learn(coats(points))
    assert found.proposed is not None
    assert found.proposed == pytest.approx(1.4, abs=0.12)
    assert found.limit == 1.0
    assert found.proposed_within is not None
    assert found.proposed_within.failed == 0


@pytest.mark.parametrize(("count", "proposed"), [(FEWEST - 2, False), (FEWEST, True), (FEWEST + 20, True)])
def test_too_few_coats_carry_no_limit(count, proposed):
    points = [(0.5 + n / count, n >= count // 2) for n in range(count)]
    (found,) = learn(coats(points))
    assert (found.proposed is not None) == proposed


def test_coats_that_fail_at_random_carry_no_limit():
    wrong = 0
    for seed in range(40):
        chance = random.Random(seed)
        points = [(chance.uniform(0.5, 2.0), chance.random() < 0.3) for _ in range(30)]
        found = learn(coats(points))
        wrong += bool(found and found[0].proposed is not None)
    assert wrong <= 16  # the best of many partings is looked for, so that chance finds one now and then


def test_other_defects_and_coats_nobody_measured_do_not_count():
    other = [([cause(1.5)], "fisheyes")] * 10
    assert learn(other) == []
    blank = Cause(MECHANISM, Standing.CANNOT_TELL, PROBE.exposure, None, 1.0, "ratio", None, "gap", "")
    assert learn([([blank], "blush")] * 10) == []


START = datetime(2025, 6, 1, 9, 0, tzinfo=UTC)


def test_the_command_reads_every_coat_of_every_job(capsys, tmp_path):
    """Sixty lacquer coats over twenty invented days, those of the damp half blushed."""
    config = tmp_path / "advisor.toml"
    config.write_text('coatings = ["nitrocellulose-lacquer"]\nlogbook = "log.db"\nzone = "UTC"\n')
    connection = open_for_writing(tmp_path / "log.db", START)
    log, jobs = AirLog(connection), JobLog(connection)
    readings = []
    for day in range(20):
        damp = 0.45 if day % 2 else 0.80
        for minute in range(-60, 8 * 60, 5):
            at = round((START + timedelta(days=day, minutes=minute)).timestamp() * 1000)
            for quantity, value in (
                ("air_temperature", 22.0 + minute % 7 / 10),
                ("relative_humidity", damp + minute % 9 / 1000),
            ):
                readings.append(Reading(Series("shelf", "shop", quantity), value, at, ""))
    with transaction(connection):
        log.write(readings)
    for day in range(20):
        made = START + timedelta(days=day)
        job = jobs.make_job(f"box {day}", None, "", made)
        for n in range(3):
            at = made + timedelta(hours=1 + 2 * n)
            coat = jobs.keep_coat(
                job,
                Spraying(
                    coating="nitrocellulose-lacquer", started_at=at, ended_at=at + timedelta(minutes=5), thinner="hot"
                ),
                at,
            )
            if not day % 2:
                jobs.keep_observation(
                    job, at, at, coat=coat, defect="blush", good=False, severity=None, spot="", photo="", text=""
                )
    connection.close()
    assert run(["learn", "--config", str(config), "--json"]) == 0
    (answer,) = json.loads(capsys.readouterr().out)["coatings"]
    assert (answer["coats"], answer["failed"]) == (60, 30)
    water = next(one for one in answer["learned"] if one["mechanism"] == "damp-film")
    assert water["over"]["failed"] == 30
    assert water["within"]["failed"] == 0
    assert run(["learn", "--config", str(config)]) == 0
    assert "60 coats, 30 with a defect" in capsys.readouterr().out
