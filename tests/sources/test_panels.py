"""Test panels out of the logbook: today's, as they were last seen, with the air that was logged then."""

from datetime import UTC, datetime, timedelta

import pytest

from advisor.cli.app import run
from advisor.jobs.job import Spraying
from advisor.logbook.air_log import AirLog
from advisor.logbook.job_log import JobLog
from advisor.logbook.store import open_for_writing, transaction
from advisor.readings.reading import Reading, Series
from advisor.shop.shop import Shop
from advisor.sources.log_air import LogAir, Panels
from advisor.times import milliseconds
from tests.support import NOON

MINUTE = timedelta(minutes=1)
LACQUER = "nitrocellulose-lacquer"


@pytest.fixture
def log(tmp_path):
    return JobLog(open_for_writing(tmp_path / "log.db", NOON, durable=False))


def spray(log, at=NOON, panel=True, **more) -> tuple[int, int]:
    """A job with one coat begun then; their ids."""
    with transaction(log.connection):
        job = log.make_job(f"lid {at}", None, "", at)
        said = {"coating": LACQUER, "started_at": at, "ended_at": at + MINUTE, "panel": panel, **more}
        return job, log.keep_coat(job, Spraying(**said), at)


def see(log, job, coat, good, at=NOON + 10 * MINUTE, defect=None) -> None:
    with transaction(log.connection):
        log.keep_observation(job, at, at, coat=coat, good=good, defect=defect)


def air(log, at, celsius, humidity, place="shop") -> None:
    with transaction(log.connection):
        AirLog(log.connection).write([
            Reading(Series("a", place, "air_temperature"), celsius, milliseconds(at), ""),
            Reading(Series("a", place, "relative_humidity"), humidity, milliseconds(at), ""),
        ], {})  # fmt: skip


def panels(log, now=NOON + 60 * MINUTE, shop: Shop | None = None):
    return Panels(LogAir(AirLog(log.connection), shop or Shop())).of_the_day(now, "shop")


def test_a_panel_comes_with_its_air_and_its_mix(log):
    air(log, NOON - MINUTE, 21.5, 0.63)
    air(log, NOON + 5 * MINUTE, 25.0, 0.40)
    see(log, *spray(log, thinner="slow", retarder=0.1), good=True)
    (found,) = panels(log)
    assert (found.coating, found.at, found.good, found.thinner, found.retarder) == (LACQUER, NOON, True, "slow", 0.1)
    assert (found.air_temperature, found.relative_humidity) == pytest.approx((21.5, 0.63))


@pytest.mark.parametrize("age", [16 * MINUTE, None])
def test_air_that_was_not_logged_then_is_not_known(log, age):
    """Fresh is a quarter of an hour (`fresh_for`)."""
    if age is not None:
        air(log, NOON - age, 21.5, 0.63)
    see(log, *spray(log), good=True)
    assert [(one.air_temperature, one.relative_humidity) for one in panels(log)] == [(None, None)]


def test_the_air_is_that_of_the_place_it_was_sprayed_in(log):
    air(log, NOON, 21.5, 0.63)
    air(log, NOON, 18.0, 0.50, "barn")
    see(log, *spray(log, place="barn"), good=True)
    assert [one.air_temperature for one in panels(log)] == pytest.approx([18.0])


def test_only_what_was_looked_at_counts_and_what_was_seen_last(log):
    job, coat = spray(log)
    assert panels(log) == ()
    see(log, job, coat, good=True)
    see(log, job, coat, good=False, at=NOON + 20 * MINUTE, defect="blush")
    assert [(one.good, one.defect) for one in panels(log)] == [(False, "blush")]
    assert [one.good for one in panels(log, NOON + 15 * MINUTE)] == [True], "what is seen later is not known yet"
    with transaction(log.connection):
        log.undo(NOON + 30 * MINUTE)
    assert [one.good for one in panels(log)] == [True]


def test_no_blush_alone_is_no_good_panel_and_a_coat_on_the_piece_is_no_panel(log):
    see(log, *spray(log), good=True, defect="blush")
    see(log, *spray(log, panel=False), good=True)
    assert panels(log) == ()


@pytest.mark.parametrize(("zone", "at", "counts"), [
    ("UTC", NOON.replace(hour=0), True), ("UTC", NOON.replace(hour=0) - MINUTE, False),
    ("America/New_York", NOON.replace(hour=4), True), ("America/New_York", NOON.replace(hour=4) - MINUTE, False),
])  # fmt: skip
def test_it_is_of_the_shops_own_day(log, zone, at, counts):
    see(log, *spray(log, at=at), good=True)
    assert len(panels(log, shop=Shop(zone=zone))) == counts


def test_check_counts_a_panel_from_the_logbook(tmp_path, capsys):
    """Damp air asks for a panel first; typed in as good it is a GO, as bad a WAIT."""
    now = datetime.now(UTC)
    zone = "Asia/Tokyo" if now.hour == 0 else "UTC"  # a minute ago must be the same day
    config = tmp_path / "advisor.toml"
    config.write_text(f'coatings = ["{LACQUER}"]\nzone = "{zone}"\nlogbook = "log.db"\n')
    log = JobLog(open_for_writing(tmp_path / "log.db", now, durable=False))
    air(log, now - 2 * MINUTE, 22.0, 0.65)
    job, coat = spray(log, at=now - MINUTE)
    words = ["check", "--config", str(config), "--coating", LACQUER]
    assert run(words) == 0
    assert "GO WITH CHANGES" in capsys.readouterr().out
    see(log, job, coat, good=True, at=now)
    assert run(words) == 0
    out = capsys.readouterr().out
    assert out.startswith("GO: ")
    assert "was good: in such air it outranks the film model." in out
    see(log, job, coat, good=False, at=now)
    assert run(words) == 1
    assert "was bad." in capsys.readouterr().out
