"""The room's temperature from marked readings: the coldest sensor where it speaks, and what does not count."""

from advisor.readings.reading import BAD, FUTURE, STUCK, SUSPECT, Reading, Series
from advisor.series.trace import Trace
from advisor.sources.counting import OF_THE_CURE, Counts, joined, traces
from tests.support import SHOP

HOUR = 3600


def said(sensor: str, hour: float, value: float | None, level: str = "good", reason: str = "", **where: str) -> Reading:
    series = Series(sensor, where.get("place", "shop"), where.get("quantity", "air_temperature"))
    return Reading(series, value, round(hour * HOUR * 1000), "test", level, reason)


def room_temperature(readings: list[Reading], place: str) -> Trace:
    return joined(list(traces(readings, (place,), OF_THE_CURE, SHOP).values()), Counts.COLDEST, 2 * HOUR)


def test_one_sensor_is_its_own_record():
    record = room_temperature([said("a", 0, 20.0), said("a", 1, 18.0)], "shop")
    assert (record.times.tolist(), record.values.tolist(), record.faults) == ([0.0, 3600.0], [20.0, 18.0], ())


def test_nothing_but_the_air_at_the_place_counts_and_what_stood_still_under_reserve():
    readings = [
        said("a", 0, 20.0),
        said("a", 1, 5.0, place="outdoors"),
        said("a", 2, 0.5, quantity="relative_humidity"),
        said("a", 3, 21.0, SUSPECT, STUCK),
        said("a", 4, None, BAD, "missing"),
        said("a", 5, 21.0, BAD, FUTURE),
    ]
    record = room_temperature(readings, "shop")
    assert record.values.tolist() == [20.0, 21.0]
    assert [reason for _, reason, _ in record.faults] == [STUCK, "missing"]
    assert room_temperature(readings[1:], "attic").values.tolist() == []


def test_of_several_the_coldest_counts_where_it_speaks():
    """The far one speaks from hour 1 to 2, is silent for 3 h, and speaks from 5 to 6."""
    near = [said("near", hour, 20.0) for hour in range(8)]
    far = [said("far", hour, 15.0) for hour in (1, 2, 5, 6)]
    record = room_temperature([*near, *far], "shop")
    assert record.times.tolist() == [hour * 3600.0 for hour in range(8)]
    assert record.values.tolist() == [20.0, 15.0, 15.0, 20.0, 20.0, 15.0, 15.0, 20.0]


def test_between_two_readings_a_sensor_speaks_in_a_straight_line():
    readings = [said("near", 1, 20.0), said("far", 0, 10.0), said("far", 2, 16.0)]
    record = room_temperature(readings, "shop")
    assert record.values.tolist() == [10.0, 13.0, 16.0]
