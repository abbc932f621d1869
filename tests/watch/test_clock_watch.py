"""A clock step that cannot be kept at once keeps its own moment, and each sensor must speak again once it is."""

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import cast

import pytest

from advisor.watch.clock import Now
from advisor.watch.clock_watch import ClockWatch
from advisor.watch.daemon import Daemon

NOON = datetime(2025, 10, 14, 12, 0, tzinfo=UTC)


@dataclass
class Judge:
    """What of the daemon the watch touches."""

    doubt: str = ""


def looks(steps: list[timedelta], locked: int) -> tuple[Judge, list[datetime]]:
    """A minute a look, each with the wall clock set by so much; the logbook locked for the first looks after one."""
    judge, disowned, tries = Judge(), [], [0]

    def disown(since: datetime) -> None:
        tries[0] += 1
        if tries[0] <= locked:
            raise OSError("locked")
        disowned.append(since)

    watch, wall = ClockWatch(cast(Daemon, judge), disown), NOON
    for minute, step in enumerate(steps):
        wall += step
        watch.look(Now(wall + timedelta(minutes=minute), 60.0 * minute, "boot"))
    return judge, disowned


BACK, NONE = timedelta(minutes=-10), timedelta(0)


@pytest.mark.parametrize("locked", [0, 1, 3])
def test_the_moment_is_that_of_the_step_however_late_it_is_kept(locked):
    judge, disowned = looks([NONE, BACK, NONE, NONE, NONE], locked)
    assert disowned == [NOON + BACK + timedelta(minutes=1)]
    assert judge.doubt == ""


def test_while_it_is_not_kept_nothing_is_believed():
    judge, disowned = looks([NONE, BACK, NONE], locked=9)
    assert (judge.doubt, disowned) == ("clock-set", [])


def test_of_two_steps_the_earlier_moment_counts():
    _, disowned = looks([NONE, BACK, -BACK, NONE], locked=2)
    assert disowned == [NOON + BACK + timedelta(minutes=1)]


def test_a_clock_that_goes_on_disowns_nothing():
    assert looks([NONE] * 4, locked=0)[1] == []
