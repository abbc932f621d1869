"""A forecast over MQTT: kept whole when it can be read, a reject when not, and never a reading of the present."""

import json
from dataclasses import replace
from datetime import timedelta

import pytest

from advisor.logbook.air_log import AirLog
from advisor.logbook.store import open_for_writing
from advisor.readings.payload import Message, PayloadReader
from advisor.readings.quality import QualityControl
from advisor.readings.reading import Calibrator
from advisor.sources.log_air import LogAir
from advisor.times import milliseconds
from advisor.watch.clock import Now
from advisor.watch.writer import Incoming, Writer
from tests.support import NOON, SHOP

TOPIC = "weather/forecast"
LISTENING = replace(SHOP, forecast_topic=TOPIC)


class Clock:
    """Stands at noon."""

    def now(self) -> Now:
        """Noon."""
        return Now(NOON, 1000.0, "boot")


def hours(count=24, air=10.0) -> bytes:
    entries = [
        {"time": (NOON + timedelta(hours=n)).isoformat(), "air_temperature_c": air + n % 5, "dew_point_c": 5.0}
        for n in range(count)
    ]
    return json.dumps(entries).encode()


@pytest.fixture
def writer(tmp_path):
    connection = open_for_writing(tmp_path / "log.db", NOON)
    reader = PayloadReader((), 900.0, 120.0)
    return Writer(connection, reader, QualityControl(SHOP.accuracy), Calibrator(), Clock(), forecast_topic=TOPIC)


def send(writer: Writer, *payloads: bytes) -> None:
    for payload in payloads:
        writer.offer(Incoming(Message(TOPIC, payload, milliseconds(NOON))))
    writer.step(0.0)


def test_the_newest_forecast_is_kept_and_no_reading_comes_of_it(writer):
    send(writer, hours(air=10.0), hours(air=14.0))
    kept = LogAir(AirLog(writer.connection), LISTENING).forecast(NOON)
    assert {reading.series.quantity for reading in kept} == {"air_temperature", "dew_point"}
    assert min(reading.value for reading in kept if reading.series.quantity == "air_temperature") == 14.0
    assert AirLog(writer.connection).all_series() == []


@pytest.mark.parametrize(
    "payload",
    [
        b"",
        b"{",
        b"[1, 2]",
        b'[{"time": "x"}]',
        b"\xff\xfe",
        b'[{"time": "2025-10-14T12:00Z", "air_temperature_c": 400}]',
    ],
)
def test_what_is_no_forecast_is_a_reject_and_leaves_the_last_one(writer, payload):
    send(writer, hours(air=10.0))
    send(writer, payload)
    assert len(LogAir(AirLog(writer.connection), LISTENING).forecast(NOON)) == 48
    assert writer.connection.execute("SELECT COUNT(*) FROM reject").fetchone()[0] == 1


@pytest.mark.parametrize(("later", "count"), [(0.0, 48), (11.99, 48), (12.01, 0), (-0.1, 0)])
def test_it_counts_for_twelve_hours(writer, later, count):
    send(writer, hours())
    assert len(LogAir(AirLog(writer.connection), LISTENING).forecast(NOON + timedelta(hours=later))) == count
