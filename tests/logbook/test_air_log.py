"""Readings in the logbook: once each, to their resolution, the first word kept."""

from math import isfinite

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.logbook.air_log import AirLog
from advisor.logbook.store import open_for_writing, transaction
from advisor.readings.reading import Reading, Reject, Series
from tests.support import NOON, examples

AIR = Series("shelf", "shop", "air_temperature")
DAMP = Series("shelf", "shop", "relative_humidity")


@pytest.fixture
def log(tmp_path):
    return AirLog(open_for_writing(tmp_path / "log.db", NOON))


def reading(value, at=0, series=AIR, level="good", reason=""):
    return Reading(series, value, at, "test", level, reason)


def write(log, *readings):
    with transaction(log.connection):
        return log.write(readings)


def back(log):
    return [
        (entry.series, entry.value, entry.at, entry.level, entry.reason) for entry in log.between(-(10**15), 10**15)
    ]


def test_what_is_written_is_read_back_in_the_order_of_time(log):
    write(log, reading(21.5, 2), reading(0.625, 1, DAMP), reading(None, 1, level="bad", reason="missing"))
    assert back(log) == [
        (AIR, None, 1, "bad", "missing"), (AIR, 21.5, 2, "good", ""), (DAMP, 0.625, 1, "good", ""),
    ]  # fmt: skip


def test_a_repeat_is_absorbed_and_another_value_is_a_conflict(log):
    assert write(log, reading(21.0, 1), reading(21.5, 2)).new == 2
    again = write(log, reading(21.0, 1), reading(22.0, 2), reading(23.0, 3))
    assert (again.new, again.repeated, again.conflicts) == (1, 1, 1)
    assert [value for _, value, *_ in back(log)] == [21.0, 21.5, 23.0]
    assert log.counts()["rejected"] == 1
    assert [reason for *_, reason in back(log)] == ["", "conflict", ""], "a moment with two words counts for nothing"


def test_a_batch_that_fails_leaves_nothing_and_the_next_one_works(log):
    with pytest.raises(RuntimeError), transaction(log.connection):
        log.write([reading(21.0)])
        raise RuntimeError
    log.forget_ids()
    write(log, reading(22.0))
    assert [value for _, value, *_ in back(log)] == [22.0]


def test_the_newest_of_each_series_up_to_a_moment(log):
    write(log, *(reading(20.0 + n, n) for n in range(5)), reading(0.5, 3, DAMP))
    assert [(entry.series, entry.value) for entry in log.newest(3)] == [(AIR, 23.0), (DAMP, 0.5)]
    assert log.newest(-1) == []


def test_counts_are_by_reason(log):
    write(log, reading(21.0, 1), reading(90.0, 2, level="bad", reason="out-of-range"))
    with transaction(log.connection):
        log.reject([Reject("line 3", "no time", "x")], 5)
    assert log.counts() == {"good": 1, "out-of-range": 1, "rejected": 1}


@settings(max_examples=examples(60))
@given(st.lists(st.one_of(st.none(), st.floats(-1e9, 1e9), st.just(float("nan")), st.just(float("inf"))), max_size=20))
def test_any_value_is_kept_to_its_resolution_or_as_none(log, values):
    with transaction(log.connection):
        log.connection.execute("DELETE FROM reading")
    write(log, *(reading(value, n) for n, value in enumerate(values)))
    for (_, value, at, *_), given_value in zip(back(log), values, strict=True):
        if given_value is None or not isfinite(given_value):
            assert value is None, at
        else:
            assert value == pytest.approx(given_value, abs=0.00051, rel=1e-9)


def test_two_values_of_the_future_for_one_moment_stay_of_the_future(log):
    for value in (21.0, 22.0, None):
        write(log, reading(value, 9, level="bad", reason="future"))
    assert back(log) == [(AIR, 21.0, 9, "bad", "future")]
    assert log.counts() == {"future": 1, "rejected": 2}
    write(log, reading(23.0, 9))
    assert back(log) == [(AIR, 23.0, 9, "good", "")], "and give way once their time has come"


def test_a_word_of_the_future_tells_nothing_against_what_stands_there(log):
    write(log, reading(21.0, 9))
    write(log, reading(22.0, 9, level="bad", reason="future"))
    assert back(log) == [(AIR, 21.0, 9, "good", "")]
