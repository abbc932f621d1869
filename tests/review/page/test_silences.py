"""A stretch that was not read is a silence with its reason; it is never bridged."""

import numpy as np
import pytest

from advisor.review.page.film_track import Unread, marked, silences
from advisor.series.trace import Trace, Window

DAY = Window(0.0, 7200.0)


def trace(*times: float, faults=()) -> Trace:
    return Trace(np.array(times, dtype=np.float64), np.zeros(len(times)), 0.5, tuple(faults))


@pytest.mark.parametrize(("gap", "silent"), [(899.0, False), (900.0, False), (901.0, True)])
def test_more_than_a_quarter_of_an_hour_is_silent(gap, silent):
    times = [*np.arange(0.0, 3000.0, 100.0), *np.arange(2900.0 + gap, 7201.0, 100.0)]
    found = silences(trace(*times), DAY)
    assert found == ((Unread(2900.0, 2900.0 + gap, ""),) if silent else ())


def test_a_silence_is_cut_to_the_window_and_has_the_mark_of_what_was_read():
    found = silences(trace(-3000.0, 600.0, 1200.0, faults=[(-100.0, "pinned", 0.99), (2000.0, "stuck", 20.0)]), DAY)
    assert found == (Unread(0.0, 600.0, "pinned"), Unread(1200.0, 7200.0, "stuck"))


def test_without_a_reading_all_is_silent():
    assert silences(trace(), DAY) == (Unread(0.0, 7200.0, ""),)


def test_marks_among_good_readings_are_counted_and_those_of_a_silence_are_not():
    times = np.arange(0.0, 4000.0, 100.0)
    seen = trace(
        *times, faults=[(50.0, "step", 1.0), (150.0, "step", 1.0), (5000.0, "stuck", 1.0), (9000.0, "step", 1.0)]
    )
    assert marked(seen, DAY, silences(seen, DAY)) == (Unread(50.0, 150.0, "step", 2),)
