"""The room's temperature from marked readings: the coldest sensor where it speaks, and what does not count."""

from advisor.logbook.room_temperature import room_temperature
from advisor.readings.reading import BAD, FUTURE, STUCK, SUSPECT, Reading, Series

HOUR = 3600


def said(sensor: str, hour: float, value: float | None, level: str = "good", reason: str = "", **where: str) -> Reading:
    series = Series(sensor, where.get("place", "shop"), where.get("quantity", "air_temperature"))
    return Reading(series, value, round(hour * HOUR * 1000), "test", level, reason)


def test_one_sensor_is_its_own_record():
    record, missing = room_temperature([said("a", 0, 20.0), said("a", 1, 18.0)], "shop", 2 * HOUR)
    assert (record.seconds, record.celsius, missing) == ([0.0, 3600.0], [20.0, 18.0], ())


def test_nothing_but_the_air_at_the_place_counts_and_what_stood_still_under_reserve():
    readings = [
        said("a", 0, 20.0),
        said("a", 1, 5.0, place="outdoors"),
        said("a", 2, 0.5, quantity="relative_humidity"),
        said("a", 3, 21.0, SUSPECT, STUCK),
        said("a", 4, None, BAD, "missing"),
        said("a", 5, 21.0, BAD, FUTURE),
    ]
    record, missing = room_temperature(readings, "shop", 2 * HOUR)
    assert record.celsius == [20.0, 21.0]
    assert [word.reason for word in missing] == [STUCK, "missing"]
    assert room_temperature(readings[1:], "attic", 2 * HOUR)[0].celsius == ()


def test_of_several_the_coldest_counts_where_it_speaks():
    """The far one speaks from hour 1 to 2, is silent for 3 h, and speaks from 5 to 6."""
    near = [said("near", hour, 20.0) for hour in range(8)]
    far = [said("far", hour, 15.0) for hour in (1, 2, 5, 6)]
    record, _ = room_temperature([*near, *far], "shop", 2 * HOUR)
    assert record.seconds == [hour * 3600.0 for hour in range(8)]
    assert record.celsius == [20.0, 15.0, 15.0, 20.0, 20.0, 15.0, 15.0, 20.0]


def test_between_two_readings_a_sensor_speaks_in_a_straight_line():
    readings = [said("near", 1, 20.0), said("far", 0, 10.0), said("far", 2, 16.0)]
    record, _ = room_temperature(readings, "shop", 2 * HOUR)
    assert record.celsius == [10.0, 13.0, 16.0]
