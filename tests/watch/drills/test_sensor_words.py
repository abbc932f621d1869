"""What sensors say over a real broker: long decimals, bursts, a last will; and what no future message may do."""

import json
import socket
import sqlite3
from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta

import paho.mqtt.client as paho
import pytest
from paho.mqtt.enums import CallbackAPIVersion

from advisor.logbook.air_log import AirLog
from advisor.logbook.store import open_for_writing
from advisor.readings.payload import Message, PayloadReader
from advisor.readings.quality import QualityControl
from advisor.readings.reading import Calibrator
from advisor.shop.shop import Shop, TopicMap
from advisor.sources.log_air import LogAir
from advisor.times import milliseconds
from advisor.watch.clock import SimulatedClock
from advisor.watch.clock_watch import ClockWatch
from advisor.watch.daemon import INTERVAL, Daemon
from advisor.watch.writer import Incoming, Writer
from tests.support import NOON, judge
from tests.watch.broker import Running, TestBroker, publisher, rows, shop, until

pytestmark = pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning")
COATING = "nitrocellulose-lacquer"
TOPICS = (
    TopicMap("a", "shop", "t", "payload", "json", "air_temperature_c", "t", "at"),
    TopicMap("a", "shop", "h", "payload", "json", "relative_humidity_pct", "h", "at"),
)
SHOP = Shop(coatings=(COATING,), topics=TOPICS)
IN_2098 = 4_055_000_000_000


@pytest.fixture
def broker(tmp_path) -> Iterator[TestBroker]:
    running = TestBroker(tmp_path).start()
    yield running
    running.stop()


@pytest.mark.slow
def test_a_burst_without_times_of_its_own_is_kept_whole_and_in_order(tmp_path, broker):
    """336 words of one sensor that waited with the broker come in a few milliseconds."""
    of, path = shop(tmp_path, broker.port), tmp_path / "log.db"
    first = Running(of, supervise=0.1)
    until(lambda: first.service.source.connected_for is not None, 10)
    until(lambda: first.service.source.heartbeat_seen > 0, 20)
    first.stop()
    client = publisher(broker.port)
    for number in range(336):
        client.publish("b/t", repr(20 + number / 300), qos=1)
    until(lambda: not client._out_messages, 20)
    client.loop_stop()
    second = Running(of, supervise=0.1)
    try:
        until(lambda: rows(path) >= 336, 30)
    finally:
        second.stop()
    assert rows(path) == 336
    assert rows(path, "SELECT COUNT(*) FROM reject") == 0
    assert rows(path, "SELECT COUNT(*) FROM reading WHERE reason = 'conflict'") == 0
    connection = sqlite3.connect(path)
    values = [value for (value,) in connection.execute("SELECT value FROM reading ORDER BY at")]
    connection.close()
    assert values == sorted(values)
    assert len(set(values)) == 336


class Sensor:
    """A device with a last will: `die` cuts its wire without a word of goodbye."""

    def __init__(self, port: int) -> None:
        self.client = paho.Client(CallbackAPIVersion.VERSION2, client_id="device")
        self.client.will_set("b/alive", "offline", qos=1, retain=True)
        self.client.connect("127.0.0.1", port, keepalive=5)
        self.client.loop_start()
        self.client.publish("b/alive", "online", qos=1, retain=True)

    def say(self, air: str, damp: str) -> None:
        """A pair of readings."""
        self.client.publish("b/t", air, qos=1)
        self.client.publish("b/h", damp, qos=1)

    def die(self) -> None:
        """As when its plug is pulled."""
        self.client.loop_stop()
        wire = self.client.socket()
        assert wire is not None
        wire.shutdown(socket.SHUT_RDWR)
        wire.close()


@pytest.mark.slow
def test_long_decimals_are_a_go_and_the_last_will_of_the_sensor_ends_it_at_once(tmp_path, broker):
    of = shop(tmp_path, broker.port, limits={"settle_after_connect": 0.1})
    of = replace(of, topics=(*of.topics, TopicMap("shelf", "shop", "b/alive", form="will", payload="offline")))
    running = Running(of, supervise=0.1, interval=timedelta(seconds=1))

    def finding() -> tuple[str, str]:
        last = running.service.daemon.last
        return ("", "") if last is None else (last.verdicts[0].state.value, last.verdicts[0].findings[0].reason)

    try:
        until(lambda: (running.service.source.connected_for or 0.0) > 0.3, 10)
        device = Sensor(broker.port)
        device.say("22.22222222222222", "48.300000000000004")
        until(lambda: finding() == ("go", ""), 20)
        device.die()
        until(lambda: finding() == ("wait", "offline"), 20)
        assert running.service.daemon.last.record["announced"] == {COATING: "wait"}
        device = Sensor(broker.port)
        device.say("21.200000000000003", "48.3 %")
        until(lambda: finding() == ("go", ""), 20)
        device.client.loop_stop()
        device.client.disconnect()
    finally:
        running.stop()


class Bench:
    """Writer and daemon on a simulated clock, and `check` beside them, all over one logbook."""

    def __init__(self, folder) -> None:
        self.clock = SimulatedClock(NOON)
        self.connection = open_for_writing(folder / "log.db", NOON, durable=False)
        self.restart()

    def restart(self) -> None:
        """The file stays, the rest is forgotten."""
        reader = PayloadReader(TOPICS, 900.0, 120.0)
        self.writer = Writer(self.connection, reader, QualityControl(SHOP.accuracy), Calibrator(), self.clock)
        self.writer.warm_up()
        self.daemon = Daemon(SHOP, (COATING,), AirLog(self.connection), self.writer.do_now)
        self.watch = ClockWatch(
            self.daemon, lambda since: self.writer.do_now(lambda c: self.writer.disown_the_future(c, since))
        )
        self.watch.look(self.clock.now())

    def say(self, topic: str, value: object, at: int | None = None) -> None:
        """A message with its own time [ms UTC]; None: now."""
        now = milliseconds(self.clock.now().wall)
        payload = json.dumps({topic: value, "at": now if at is None else at})
        self.writer.offer(Incoming(Message(topic, payload.encode(), now)))
        while self.writer.step(0.0):
            pass

    def minute(self, speaks: bool = True) -> tuple[str, str]:
        """A minute later, what daemon and `check` say alike: state, and why the air may not be believed."""
        self.clock.advance(INTERVAL)
        if speaks:
            self.say("t", 21.0 + self.clock.now().boottime % 7 / 10)
            self.say("h", 48.0)
        self.watch.look(self.clock.now())
        return self.both()

    def both(self) -> tuple[str, str]:
        """What they say now."""
        now = self.clock.now()
        said = self.daemon.tick(now).verdicts[0]
        beside = judge(LogAir(AirLog(self.connection), SHOP).conditions(now.wall, "shop"), said.coating, SHOP, now.wall)
        assert (beside.state, beside.findings[0].reason) == (said.state, said.findings[0].reason)
        return said.state.value, said.findings[0].reason


@pytest.fixture
def bench(tmp_path):
    return Bench(tmp_path)


FUTURES = {
    "without a value": [("t", None)],
    "with two values": [("t", 21.0), ("t", 35.0)],
    "with a value, then none": [("t", 21.0), ("t", "unavailable")],
    "with no number": [("h", "soon")],
    "with one value": [("h", 95.0)],
}


@pytest.mark.parametrize("ahead", [210_500, 86_400_000, IN_2098 - milliseconds(NOON)])
@pytest.mark.parametrize("words", FUTURES.values(), ids=FUTURES)
def test_a_message_of_the_future_spoils_nothing_for_daemon_or_check_nor_after_a_restart(bench, words, ahead):
    assert bench.minute() == ("go", "")
    for topic, value in words:
        bench.say(topic, value, milliseconds(bench.clock.now().wall) + ahead)
    assert bench.both() == ("go", "")
    assert [bench.minute() for _ in range(5)] == [("go", "")] * 5, "also in the minute in which its time has come"
    bench.restart()
    assert bench.minute() == ("go", "")
    marks = {mark for (mark,) in bench.connection.execute("SELECT DISTINCT reason FROM reading WHERE level = 'bad'")}
    assert marks == {"future"}


def test_a_sensor_whose_clock_runs_ahead_is_told_to_set_it(bench):
    """Not `stale`, which would send somebody to its battery."""
    for _ in range(20):
        bench.clock.advance(INTERVAL)
        for topic, value in (("t", 21.0), ("h", 48.0)):
            bench.say(topic, value, milliseconds(bench.clock.now().wall) + 3_600_000)
    assert bench.both() == ("wait", "future")


def test_a_logbook_that_was_spoilt_already_is_read_as_if_it_were_not(bench):
    """Rows as older versions wrote them: no value, or two values, in 2098."""
    bench.minute()
    for series, value, reason in ((1, None, "missing"), (2, 48_000, "conflict")):
        row = (series, IN_2098, value, "bad", reason)
        bench.connection.execute("INSERT INTO reading VALUES (?, ?, ?, ?, ?, NULL)", row)
    assert bench.both() == ("go", "")
    bench.restart()
    assert bench.minute() == ("go", "")
    bench.say("t", None, IN_2098)
    bench.say("h", 20.0, IN_2098)
    assert bench.minute() == ("go", "")
    assert bench.minute(speaks=False) == ("go", "")
    for _ in range(15):
        told = bench.minute(speaks=False)
    assert told == ("wait", "stale"), "and silence is silence, not a clock"


@pytest.mark.parametrize(
    "step", [timedelta(minutes=-10), timedelta(hours=-1), timedelta(hours=1), timedelta(seconds=-60)]
)
def test_check_holds_the_doubt_of_a_clock_that_was_set_as_the_daemon_does(bench, step):
    for _ in range(5):
        bench.minute()
    bench.clock.wall += step
    bench.watch.look(bench.clock.now())
    assert bench.both() == ("wait", "clock-set")
    bench.clock.advance(INTERVAL)
    bench.say("t", 21.0)
    assert bench.both() == ("wait", "clock-set"), "the humidity has not been heard since"
    assert bench.minute() == ("go", "")


def test_what_stands_ahead_of_the_clock_when_the_daemon_comes_is_doubted_once_and_not_for_years(bench):
    """Readings that were taken by a clock in 2030 while nobody judged; then the clock is right."""
    bench.clock.wall += timedelta(days=1700)
    for topic, value in (("t", 21.0), ("h", 48.0)):
        bench.say(topic, value)
    bench.clock.wall += timedelta(days=-1700)
    bench.restart()
    assert bench.both() == ("wait", "clock-set")
    bench.minute()
    assert bench.minute() == ("go", "")


def test_an_hour_without_a_digit_is_told_with_the_go_and_in_its_notice(bench):
    for _ in range(62):
        bench.clock.advance(INTERVAL)
        bench.say("t", 21.0)
        bench.say("h", 48.0)
    assert bench.both() == ("go", "still")
    assert bench.daemon.last.record["verdicts"][0]["findings"][0]["reason"] == "still"
    for _ in range(20):
        bench.clock.advance(INTERVAL)
        bench.say("t", 21.0)
        bench.say("h", 48.0)
        bench.both()
    texts = [text for (text,) in bench.connection.execute("SELECT text FROM notice WHERE state = 'go'")]
    assert texts
    assert all("Breathe on the sensor" in text for text in texts)
    assert bench.minute() == ("go", ""), "a breath later it is told no more"


def test_a_word_stored_before_its_time_is_not_remembered_as_heard(bench):
    """Read back after its time has come, it neither holds a jump nor makes one."""
    bench.minute()
    bench.say("t", 35.0, milliseconds(bench.clock.now().wall) + 150_000)
    bench.clock.advance(timedelta(minutes=3))
    bench.restart()
    assert bench.minute() == ("go", "")
