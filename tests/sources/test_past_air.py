"""The past air of a place from marked readings: which words count, and what dew point they give."""

from datetime import UTC, datetime

import numpy as np
import pytest

from advisor.logbook.air_log import AirLog
from advisor.logbook.store import open_for_writing, transaction
from advisor.physics.air.moist_air import dew_point
from advisor.readings.quality import QualityControl
from advisor.readings.reading import BAD, SUSPECT, Reading, Series
from advisor.series.air_track import AirTrack
from advisor.sources.counting import OF_THE_OUTLOOK, past_air, places_of_air, traces
from advisor.sources.log_air import LogAir
from advisor.times import EPOCH, moment_of
from tests.outlook.columns import Columns
from tests.support import SHOP

HOUR = 3_600_000
AIR, DAMP, DEW = (Series("one", "shop", each) for each in ("air_temperature", "relative_humidity", "dew_point"))


def read(series: Series, values: list[float | None], step: int = HOUR, start: int = 0) -> list[Reading]:
    return [
        Reading(series, value, start + n * step, "test", BAD if value is None else "good")
        for n, value in enumerate(values)
    ]


def marked(readings: list[Reading]) -> list[Reading]:
    control = QualityControl(SHOP.accuracy)
    return [control.mark(each, 10**13) for each in sorted(readings, key=lambda each: each.at)]


def columns(track: AirTrack) -> Columns:
    rows = track.table("air_temperature", "dew_point")
    return Columns(rows.times, *rows.values.T)


def counted(readings):
    return traces(readings, None, OF_THE_OUTLOOK, SHOP)


def log_of(readings: list[Reading], place: str = "shop"):
    return columns(past_air(counted(readings), place))


def test_humidity_becomes_the_dew_point_that_goes_with_its_air():
    log = log_of([*read(AIR, [20.0, 22.0]), *read(DAMP, [0.5, 0.6])])
    assert log.times.tolist() == [0.0, 3600.0]
    assert log.dew_point == pytest.approx([dew_point(20.0, 0.5), dew_point(22.0, 0.6)])


def test_a_dew_point_that_is_read_is_taken_as_it_is_and_held_at_the_air():
    log = log_of([*read(AIR, [20.0, 10.0]), *read(DEW, [7.0, 10.4]), *read(DAMP, [0.9, 0.9])])
    assert log.dew_point.tolist() == [7.0, 10.0]


def test_humidity_read_at_other_moments_goes_with_the_air_between_its_readings():
    log = log_of([*read(AIR, [20.0, 21.0], 600_000), *read(DAMP, [0.5], start=300_000)])
    assert log.times.tolist() == [0.0, 300.0, 600.0]
    assert log.dew_point[1] == pytest.approx(float(dew_point(20.5, 0.5)))
    assert np.isnan(log.air_temperature[1])


@pytest.mark.parametrize(("minutes", "known"), [(15, True), (16, False)])
def test_humidity_without_air_beside_it_gives_no_dew_point(minutes, known):
    log = log_of([*read(AIR, [20.0]), *read(DAMP, [0.5], start=minutes * 60_000)])
    assert np.isfinite(log.dew_point).any() == known


def test_sensors_that_speak_at_one_moment_are_averaged():
    other = [Series("two", "shop", each.quantity) for each in (AIR, DAMP)]
    log = log_of([*read(AIR, [20.0]), *read(DAMP, [0.5]), *read(other[0], [22.0]), *read(other[1], [0.5])])
    assert log.air_temperature.tolist() == [21.0]
    assert log.dew_point == pytest.approx(np.mean([dew_point(20.0, 0.5), dew_point(22.0, 0.5)]))


@pytest.mark.parametrize("reason", ["step", "disagrees", "future", "conflict", "out-of-range", "not-live"])
def test_a_reading_with_another_mark_does_not_count(reason):
    doubted = [Reading(AIR, 50.0, HOUR, "test", SUSPECT, reason)]
    log = log_of([*read(AIR, [20.0]), *doubted, *read(DAMP, [0.5])])
    assert log.air_temperature.tolist() == [20.0]


def test_still_air_counts_as_read_and_a_frozen_sensor_only_for_its_first_day():
    """Twenty hours without a move are marked stuck after six; three days are the sensor."""
    for hours, kept in ((20, 20), (72, 25)):
        readings = marked([*read(AIR, [20.0] * hours), *read(DAMP, [0.5] * hours)])
        assert any(each.reason == "stuck" for each in readings)
        log = log_of(readings)
        assert np.sum(np.isfinite(log.air_temperature)) == kept
        assert np.sum(np.isfinite(log.dew_point)) == kept


def test_a_heated_room_that_stands_still_counts_while_its_humidity_moves():
    damp = [0.4 + 0.01 * (n % 7) for n in range(96)]
    log = log_of(marked([*read(AIR, [20.0] * 96), *read(DAMP, damp)]))
    assert np.isfinite(log.air_temperature).all()
    assert np.isfinite(log.dew_point).all()


def test_a_foggy_night_counts_as_saturated_and_a_sensor_at_its_end_stop_for_days_does_not():
    warm = [10.0 + 0.1 * (n % 5) for n in range(60)]
    for hours, kept in ((12, 60), (50, 10 + 25)):
        damp = [0.8 + 0.001 * n for n in range(60 - hours)] + [0.99 + 0.005 * (n % 3) for n in range(hours)]
        log = log_of(marked([*read(AIR, warm), *read(DAMP, damp)]))
        assert np.sum(np.isfinite(log.dew_point)) == kept
        assert np.isfinite(log.air_temperature).all()


def test_places_need_air_and_moisture():
    dust = Series("dust", "bench", "particles_5um")
    lone = Series("lone", "attic", "air_temperature")
    readings = [*read(AIR, [20.0]), *read(DAMP, [0.5]), *read(dust, [5.0]), *read(lone, [20.0])]
    assert places_of_air(counted(readings)) == ("shop",)
    assert len(columns(past_air({}, "shop")).times) == 0


def test_the_logbook_thins_to_the_same_air(tmp_path):
    """Two days of minutes by way of SQL, in ten-minute means, and as they are."""
    minutes = np.arange(2 * 1440)
    warm = (20.0 + 3.0 * np.sin(minutes / 1440 * 2 * np.pi)).round(3).tolist()
    damp = (0.5 + 0.1 * np.cos(minutes / 1440 * 2 * np.pi)).round(5).tolist()
    readings = [*read(AIR, warm, 60_000), *read(DAMP, damp, 60_000), Reading(AIR, 50.0, 30_000, "t", BAD, "step")]
    connection = open_for_writing(tmp_path / "log.db", datetime.now(UTC))
    air_log = AirLog(connection)
    with transaction(connection):
        air_log.write(readings)
    curves = LogAir(air_log, SHOP).curves(EPOCH, moment_of(10**10))
    connection.close()
    thin, whole = columns(past_air(curves, "shop")), log_of(readings)
    assert len(thin.times) == 288
    for name in ("air_temperature", "dew_point"):
        expected = np.interp(thin.times, whole.times, getattr(whole, name))
        assert getattr(thin, name) == pytest.approx(expected, abs=0.02)
