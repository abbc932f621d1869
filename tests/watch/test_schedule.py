"""The scheduler of all that is done again and again: told the time by the boot clock, no job ends another."""

import threading
import time
from datetime import datetime, timedelta

import pytest

from advisor.watch.schedule import GUARDING, JUDGING, FromNowOn, Schedule, SinceBoot
from tests.support import NOON
from tests.watch.broker import until
from tests.watch.drills.bench import service


def test_a_clock_set_far_forward_is_one_run_and_not_millions():
    """Ten years of missed minutes would otherwise be counted up one by one in memory."""
    trigger = FromNowOn(timedelta(minutes=1))
    assert trigger.get_next_fire_time(NOON, NOON) == NOON + timedelta(minutes=1)
    later = NOON + timedelta(days=3650)
    assert trigger.get_next_fire_time(NOON, later) == later + timedelta(minutes=1)
    assert trigger.get_next_fire_time(None, NOON) == NOON + timedelta(minutes=1)


def test_the_scheduler_s_present_is_the_machine_s_running_time_and_no_wall_clock():
    """So no job is silent for an hour after a wall clock was set back by one."""
    boot = [1000.0]
    zone = SinceBoot(lambda: boot[0])
    before = datetime.now(zone)
    boot[0] += 60.0
    assert datetime.now(zone) - before == timedelta(minutes=1)
    schedule = Schedule(lambda: boot[0])
    schedule.again("late", JUDGING, lambda: None, timedelta(minutes=1), timedelta(seconds=5))
    (job,) = schedule.get_jobs()
    assert job.next_run_time - datetime.now(schedule.timezone) == timedelta(seconds=5)


def test_a_fault_in_one_job_ends_neither_it_nor_another():
    schedule = Schedule(time.monotonic)
    tried, done = threading.Semaphore(0), threading.Semaphore(0)

    def faulty() -> None:
        tried.release()
        raise ZeroDivisionError("boom")

    for name, worker, call in (("faulty", JUDGING, faulty), ("guard", GUARDING, done.release)):
        schedule.again(name, worker, call, timedelta(milliseconds=10), timedelta(0))
    schedule.start()
    assert all(tried.acquire(timeout=20) for _ in range(3))
    assert all(done.acquire(timeout=20) for _ in range(3))
    assert schedule.alive
    schedule.leave(20)
    assert not schedule.alive


@pytest.mark.slow
def test_a_scheduler_that_ended_is_seen_and_all_begins_anew(tmp_path):
    running = service(tmp_path)
    ended = []
    thread = threading.Thread(target=lambda: ended.append(running.run()))
    thread.start()
    until(lambda: running.daemon.last is not None, 20)
    running._schedule.shutdown()
    thread.join(20)
    assert ended == [True], "anew"
    assert running.voice.unfit == "fault"
