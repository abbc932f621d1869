"""One door for the air: a file and a logbook with the same readings say the same of every place and span."""

from datetime import timedelta

import numpy as np
import pytest

from advisor.errors import UsageError
from advisor.logbook.air_log import AirLog
from advisor.logbook.store import open_for_writing, transaction
from advisor.series.trace import AIR, HUMIDITY, Trace
from advisor.sources.air_source import AirSource
from advisor.sources.conditions import which_counts
from advisor.sources.counting import OF_THE_AIR, Counts, joined
from advisor.sources.file_air import FileAir
from advisor.sources.log_air import LogAir
from advisor.times import moment_of
from tests.support import FIXTURES, NOON, SHOP


@pytest.fixture(params=["winter-door", "dusty-clean-down", "sensor-faults"])
def both(request, tmp_path) -> tuple[AirSource, AirSource]:
    """A recorded day as a file, and the same readings, as they were marked, in a logbook."""
    file = FileAir(FIXTURES / f"{request.param}.csv", SHOP, None)
    marked = file.mark(file.file.readings[-1].at)
    connection = open_for_writing(tmp_path / "log.db", NOON, durable=False)
    with transaction(connection):
        AirLog(connection).write(marked.readings)
    return file, LogAir(AirLog(connection), SHOP)


def test_both_know_the_same_place_and_last_moment(both):
    file, log = both
    assert file.place(None) == log.place(None)
    assert set(file.series()) == set(log.series())
    place, end = file.place(None), file.file.readings[-1].at
    assert log.as_of("last", None, moment_of(end), None, OF_THE_AIR) == file.as_of(
        "last", None, moment_of(end), None, OF_THE_AIR
    )
    for source in both:
        with pytest.raises(UsageError, match="no readings at place"):
            source.place("attic")
        assert source.place(place) == place


def test_both_give_the_same_room_track_and_dust(both):
    end = moment_of(both[0].file.readings[-1].at)
    start, place = end - timedelta(hours=8), both[0].place(None)
    rooms = [source.room(place, start, end) for source in both]
    assert rooms[0].times.tolist() == rooms[1].times.tolist()
    assert rooms[0].values == pytest.approx(rooms[1].values, abs=0.001)
    assert sorted(fault[:2] for fault in rooms[0].faults) == sorted(fault[:2] for fault in rooms[1].faults)
    tracks = [source.track(None, timedelta(hours=8), 180.0, end) for source in both]
    for one, other in (tracks, [track.outdoors for track in tracks]):
        assert one.place == other.place
        for quantity in (AIR, HUMIDITY):
            assert one.trace(quantity).times.tolist() == other.trace(quantity).times.tolist()
            assert one.trace(quantity).values == pytest.approx(other.trace(quantity).values, abs=0.001)
    dust = [source.dust(end, place) for source in both]
    assert dust[0][1] == dust[1][1]
    assert dust[0][0].values == pytest.approx(dust[1][0].values)


def test_sensors_that_agree_are_averaged_and_of_those_that_do_not_the_worse_counts():
    """Apart by more than twice what both are sure of together: 2 hypot(0.5, 0.5) = 1.414 K."""
    assert which_counts([20.0, 21.41], [0.5, 0.5]) is Counts.MEAN
    assert which_counts([20.0, 21.42], [0.5, 0.5]) is Counts.WORSE
    assert which_counts([20.0], [0.5], delayed=True) is Counts.WORSE


def test_a_trace_lies_straight_between_near_readings_alone():
    trace = Trace(np.array([0.0, 100.0, 400.0]), np.array([20.0, 21.0, 24.0]))
    assert trace.between(np.array([-1.0, 50.0, 100.0, 200.0, 401.0]), 100.0) == pytest.approx(
        [np.nan, 20.5, 21.0, np.nan, np.nan], nan_ok=True
    )
    assert trace.near(np.array([-30.0, 50.0, 200.0, 250.0, 431.0]), 100.0) == pytest.approx(
        [20.0, 20.5, 22.0, np.nan, 24.0], nan_ok=True
    )
    assert joined([trace, Trace(np.array([100.0]), np.array([23.0]))], Counts.MEAN).values.tolist() == [
        20.0,
        22.0,
        24.0,
    ]
