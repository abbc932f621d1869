"""What the daemon computes between two minutes: ways in the record, sought again only when state or air has moved."""

from dataclasses import replace
from datetime import timedelta

import pytest

from advisor.catalog.coatings import coating_ids
from advisor.judge.conditions import Measured
from advisor.judge.verdict import State
from advisor.logbook.air_log import AirLog
from advisor.logbook.store import open_for_writing, transaction
from advisor.readings.reading import GOOD, Reading, Series
from advisor.shop.shop import Shop
from advisor.sources.log_air import LogAir
from advisor.times import milliseconds
from advisor.watch import ways_watch
from advisor.watch.clock import SimulatedClock
from advisor.watch.daemon import INTERVAL, Daemon
from advisor.watch.ways_watch import WaysWatch
from advisor.ways.advise import advise
from advisor.ways.tries import WAIT_UNTIL
from tests.support import NOON, judge, typed

CLEAR = "waterborne-clear-1k"
SHOP = Shop(coatings=(CLEAR,))
COLD = {("outdoors", "air_temperature"): -6.0, ("outdoors", "relative_humidity"): 0.85}
SHUT = {("shop", "air_temperature"): 20.0, ("shop", "relative_humidity"): 0.4}


class Booth:
    """A daemon whose air is set by hand, judging every minute."""

    def __init__(self, folder, coatings=(CLEAR,)) -> None:
        self.clock = SimulatedClock(NOON)
        self.connection = open_for_writing(folder / "log.db", NOON, durable=False)
        self.daemon = Daemon(SHOP, coatings, AirLog(self.connection), self._write)
        self.air = SHUT | COLD

    def _write(self, job):
        with transaction(self.connection):
            return job(self.connection)

    def minute(self) -> dict:
        """One minute in this air; the first coating's record of it."""
        self.clock.advance(INTERVAL)
        at = milliseconds(self.clock.now().wall)
        said = [Reading(Series("a", *key), value, at, "", GOOD, "") for key, value in self.air.items()]
        with transaction(self.connection):
            AirLog(self.connection).write(said)
        return self.daemon.tick(self.clock.now()).record["verdicts"][0]


@pytest.fixture
def booth(tmp_path):
    return Booth(tmp_path)


@pytest.mark.slow
def test_a_wait_is_told_at_once_and_its_ways_after_it(booth):
    first = booth.minute()
    assert (first["state"], first["remedies"], first["ways_as_of"]) == ("wait", [], None)
    found = booth.daemon.look_ahead()["verdicts"][0]
    assert {**found, "remedies": [], "changes": [], "ways_as_of": None} == first
    assert found["remedies"][0]["state"] in ("go", "change")
    assert found["ways_as_of"] == found["as_of"]


@pytest.mark.slow
def test_ways_stay_while_the_air_does_and_are_sought_once(booth, monkeypatch):
    booth.minute()
    found = booth.daemon.look_ahead()["verdicts"][0]
    monkeypatch.setattr(ways_watch, "ways_for", None)  # any further search would fail
    booth.air[("shop", "air_temperature")] += 0.25
    later = booth.minute()
    assert booth.daemon.look_ahead() is None
    assert (later["remedies"], later["ways_as_of"]) == (found["remedies"], found["ways_as_of"])


@pytest.mark.slow
@pytest.mark.parametrize(
    ("key", "by", "again"),
    [
        (("shop", "air_temperature"), 0.29, False), (("shop", "air_temperature"), 0.31, True),
        (("shop", "relative_humidity"), 0.009, False), (("shop", "relative_humidity"), 0.011, True),
        (("outdoors", "air_temperature"), -0.31, True), (("outdoors", "relative_humidity"), -0.011, True),
    ],
)  # fmt: skip
def test_ways_are_sought_again_when_the_air_has_moved(booth, key, by, again):
    booth.minute()
    booth.daemon.look_ahead()
    booth.air[key] += by
    moved = booth.minute()
    assert moved["state"] == "wait"
    assert (moved["ways_as_of"] is None) is again
    found = booth.daemon.look_ahead()
    assert (found is not None) is again
    if found is not None:
        assert found["verdicts"][0]["ways_as_of"] == moved["as_of"]


def test_a_go_or_a_sensor_gone_has_no_ways(booth):
    booth.air |= {("outdoors", "air_temperature"): 21.0, ("outdoors", "relative_humidity"): 0.45}
    good = booth.minute()
    assert (good["state"], booth.daemon.look_ahead(), good["remedies"]) == ("go", None, [])
    booth.air = dict(COLD)
    booth.clock.advance(timedelta(minutes=20))
    gone = booth.minute()
    assert gone["cannot_tell"]
    assert booth.daemon.look_ahead() is None


@pytest.mark.slow
def test_a_state_that_comes_back_does_not_bring_old_ways_with_it(booth):
    """Ways of the morning are not those of the afternoon, if the air was another in between."""
    booth.minute()
    morning = booth.daemon.look_ahead()["verdicts"][0]
    booth.air[("outdoors", "air_temperature")] = 9.0
    booth.minute()
    booth.daemon.look_ahead()
    booth.air[("outdoors", "air_temperature")] = 2.0
    assert booth.minute()["ways_as_of"] is None
    again = booth.daemon.look_ahead()["verdicts"][0]
    assert again["ways_as_of"] > morning["ways_as_of"]


@pytest.mark.slow
def test_two_coatings_a_minute_get_their_ways(tmp_path):
    booth = Booth(tmp_path, coating_ids())
    booth.minute()
    waits = sum(each["state"] != "go" for each in booth.daemon.last.record["verdicts"])
    assert waits > 4
    for minute in range(1, 4):
        record = booth.daemon.look_ahead()
        assert sum(each["ways_as_of"] is not None for each in record["verdicts"]) == 2 * minute
        booth.minute()


@pytest.mark.slow
def test_every_way_kept_was_judged_better_than_what_it_mends(booth):
    booth.minute()
    booth.daemon.look_ahead()
    seen = booth.daemon._judged[0]
    ways = booth.daemon._ways.of(seen).ways
    for way in ways.remedies:
        then = judge(way.conditions, seen.verdict.coating, SHOP, ways.as_of, way.pot, way.plan)
        assert then.state is way.state
        assert way.state is not State.WAIT


def test_minutes_waited_are_taken_off_a_way_of_waiting(tmp_path):
    watch = WaysWatch(SHOP, LogAir(AirLog(open_for_writing(tmp_path / "log.db", NOON)), SHOP))
    conditions = typed(20.0, 0.4)
    conditions = replace(
        conditions, values={**conditions.values, **{key: Measured(value, 0.5, 0.0) for key, value in COLD.items()}}
    )
    seen = advise(conditions, SHOP.coating(CLEAR), SHOP, NOON)
    watch.look([seen])
    basis, ways = watch._found["shop", CLEAR]
    waiting = replace(ways.remedies[0], kind=WAIT_UNTIL, minutes=90.0)
    watch._found["shop", CLEAR] = (basis, replace(ways, remedies=(waiting,)))
    later = replace(seen, verdict=replace(seen.verdict, as_of=NOON + timedelta(minutes=25)))
    assert watch.of(later).ways.remedies[0].minutes == 65.0
