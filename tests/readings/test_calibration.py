"""Salt checks: the fixed points against published values, the line through them, and what it does to a reading."""

import pytest

from advisor.catalog.materials import salt_named, salts
from advisor.errors import CatalogError, OutOfRange
from advisor.logbook.calibration_log import calibrations_in_force, calibrator_of, keep_calibration
from advisor.logbook.store import open_for_writing, transaction
from advisor.readings.reading import Calibration, Calibrator, Point, Reading, Series, calibrate
from advisor.shop.shop import Shop
from advisor.sources.log_air import with_calibrations
from tests.support import NOON, every, reference_rows


@every("row", reference_rows("salts.csv"), ids=lambda row: f"{row['salt']}-{row['air_temperature_c']}")
def test_a_salts_humidity_is_the_published_one_within_its_own_uncertainty(row):
    # Greenspan, J. Res. NBS 81A(1):89-96 (1977), Table 2 (also ASTM E104): two decimals and uncertainty from memory
    salt = salt_named(row["salt"])
    computed = salt.relative_humidity(float(row["air_temperature_c"])) * 100
    sure = float(row["uncertainty_pct"])
    assert computed == pytest.approx(float(row["relative_humidity_pct"]), abs=max(0.06, sure / 2))
    assert salt.uncertainty * 100 >= sure - 0.15


def test_salts_are_known_by_formula_in_any_case_and_in_range_only():
    assert salt_named("nacl").key == "NaCl"
    with pytest.raises(CatalogError, match="NaCl"):
        salt_named("NaCI")
    for salt in salts().values():
        with pytest.raises(OutOfRange):
            salt.relative_humidity(14.9)
        with pytest.raises(OutOfRange):
            salt.relative_humidity(30.1)


def test_two_points_give_the_line_through_them_and_back():
    low, high = Point(0.36, 0.33, 0.002), Point(0.72, 0.753, 0.002)
    found = calibrate([high, low], 0.03)
    for point in (low, high):
        assert found.gain * point.shown + found.offset == pytest.approx(point.true)
    assert 0.005 < found.uncertainty < 0.01, "two good points are surer than the maker's 3 %"


def test_one_point_gives_an_offset_and_keeps_half_the_makers_doubt():
    found = calibrate([Point(0.72, 0.753, 0.002)], 0.03)
    assert (found.gain, found.offset) == (1.0, pytest.approx(0.033))
    assert 0.015 < found.uncertainty < 0.017


@pytest.mark.parametrize(
    "points",
    [
        [], [Point(0.7, 0.75, 0.002)] * 3, [Point(0.7, 0.75, 0.002), Point(0.8, 0.85, 0.002)],
        [Point(0.8, 0.33, 0.002), Point(0.4, 0.75, 0.002)], [Point(0.4, 0.75, 0.002)],
        [Point(0.5, 0.33, 0.002), Point(0.55, 0.75, 0.002)],
    ],
)  # fmt: skip
def test_points_that_tell_nothing_or_a_broken_sensor_are_refused(points):
    with pytest.raises(OutOfRange):
        calibrate(points, 0.03)


def reading(value, quantity="relative_humidity", sensor="shelf"):
    return Reading(Series(sensor, "shop", quantity), value, 0, "")


def test_only_the_sensors_humidity_is_corrected():
    calibrator = Calibrator({"shelf": Calibration(1.1, -0.04, 0.006)}, {"shelf": 7})
    assert calibrator.corrected(reading(0.5)).value == pytest.approx(0.51)
    assert calibrator.corrected(reading(21.0, "air_temperature")).value == 21.0
    assert calibrator.corrected(reading(0.5, sensor="wall")).value == 0.5
    assert calibrator.corrected(reading(None)).value is None


def test_the_newest_calibration_is_in_force_and_makes_the_dew_point_surer(tmp_path):
    connection = open_for_writing(tmp_path / "log.db", NOON)
    with transaction(connection):
        keep_calibration(connection, "shelf", 2, Calibration(1.0, 0.02, 0.006), [Point(0.7, 0.72, 0.002)])
        keep_calibration(connection, "shelf", 1, Calibration(1.0, 0.09, 0.05), [Point(0.7, 0.79, 0.002)])
    kept = calibrations_in_force(connection)
    assert calibrator_of(kept).corrected(reading(0.5)).value == pytest.approx(0.52)
    shop = with_calibrations(Shop(), kept)
    assert shop.accuracy("shelf", "relative_humidity") == 0.006
    assert shop.accuracy("wall", "relative_humidity") == pytest.approx(0.03)
