"""Ten thousand random fault schedules on a simulated clock: never a GO that is old, and never one on unknown air.

A twentieth of them in every run, the others in `scripts/test full`. The air of the simulation is known to the test,
the sensors' words are spoiled at random, the wall clock is set, the logbook is locked or its disk full, the machine
reboots. What the daemon says is held against what it can have known, and against `check` and `readings` beside it.
"""

import contextlib
import json
import random
import sqlite3
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta
from functools import partial

import pytest

from advisor.cli.app import run
from advisor.desk.check import CheckAsked
from advisor.desk.check import check as check_air
from advisor.judge.rules import readings
from advisor.judge.verdict import RANK, State
from advisor.logbook.air_log import AirLog
from advisor.logbook.daemon_lock import DaemonLock, daemon_doubt
from advisor.logbook.store import open_for_writing
from advisor.logbook.verdict_log import current_record
from advisor.readings.payload import Message, PayloadReader
from advisor.readings.quality import QualityControl
from advisor.readings.reading import Calibrator
from advisor.shop.shop import Shop, TopicMap
from advisor.sources.log_air import LogAir
from advisor.times import milliseconds
from advisor.watch.clock import SimulatedClock
from advisor.watch.clock_watch import ClockWatch
from advisor.watch.daemon import INTERVAL, Daemon
from advisor.watch.writer import Incoming, Writer

PARTS = 20  # run beside each other
SCHEDULES = 10_000 // PARTS
MINUTES = 4  # of one schedule
COATING = "nitrocellulose-lacquer"
TOPICS = (
    TopicMap("a", "shop", "t", column="air_temperature_c"),
    TopicMap("a", "shop", "h", column="relative_humidity_pct"),
)
SHOP = Shop(coatings=(COATING,), topics=TOPICS)
FRESH = SHOP.limit("fresh_for").value
ODD = [b"nan", b"unavailable", b"", b"1e999", b"{}", b"\xff", b"9" * 300, b"70", b"-", b"21,5"]


@dataclass
class Heard:
    """The newest live word of a topic that was delivered: when (true seconds), and the number it said."""

    at: float = -1e9
    value: float | None = None


@dataclass
class World:
    """The simulation: the true seconds are the boot clock's, which nothing but a reboot touches."""

    shop: Shop
    lock: DaemonLock
    clock: SimulatedClock
    writer: Writer
    daemon: Daemon
    watch: ClockWatch
    dice: random.Random
    true: float = 0.0
    heard: dict[str, Heard] = field(default_factory=lambda: {"t": Heard(), "h": Heard()})

    def pass_time(self, by: timedelta) -> None:
        """Time passes for everybody."""
        self.clock.advance(by)
        self.true += by.total_seconds()

    def deliver(self, topic: str, payload: bytes, live: bool, **how) -> None:
        """A message arrives; a live one is what the daemon can know."""
        message = Message(topic, payload, milliseconds(self.clock.now().wall), **how)
        self.writer.offer(Incoming(message))
        if live:
            try:
                number: float | None = float(payload)
            except ValueError:
                number = None
            self.heard[topic] = Heard(self.true, number)


def build(folder, seed: int = 20261125) -> tuple[sqlite3.Connection, World]:
    clock = SimulatedClock(datetime(2026, 3, 2, 8, 0, tzinfo=UTC))
    lock = DaemonLock(folder / "log.db")
    lock.take()
    connection = open_for_writing(folder / "log.db", clock.now().wall)
    connection.execute("PRAGMA synchronous = OFF")
    connection.execute("PRAGMA busy_timeout = 0")
    reader = PayloadReader(TOPICS, FRESH, SHOP.limit("clock_tolerance").value)
    writer = Writer(connection, reader, QualityControl(SHOP.accuracy), Calibrator(), clock)
    daemon = Daemon(SHOP, (COATING,), AirLog(connection), writer.do_now)
    return connection, World(
        replace(SHOP, logbook=folder / "log.db"),
        lock,
        clock,
        writer,
        daemon,
        ClockWatch(daemon, lambda since: writer.do_now(partial(writer.disown_the_future, since=since))),
        random.Random(seed),
    )


def speak(world: World) -> None:
    """One minute of sensors, each word perhaps spoiled."""
    dice = world.dice
    for topic, value in (("t", 20.0 + 2 * dice.random()), ("h", dice.choice([48.0, 52.0, 57.0, 66.0, 82.0]))):
        fate = dice.random()
        payload = f"{value:.2f}".encode()
        if fate < 0.70:
            world.deliver(topic, payload, live=True)
        elif fate < 0.80:
            continue  # dropped
        elif fate < 0.85:
            world.deliver(topic, dice.choice(ODD), live=True)
        elif fate < 0.90:
            world.deliver(topic, payload, live=False, retain=True)
        elif fate < 0.95:
            world.deliver(topic, payload, live=False, settled=1.0)  # an offline backlog just after connecting
        else:
            world.deliver(topic, payload, live=False, duplicate=True)


def disturb(world: World) -> None:
    """What else may happen in a minute."""
    fate = world.dice.random()
    if fate < 0.03:
        world.clock.wall += timedelta(hours=world.dice.choice([-1, 1]))
    elif fate < 0.05:
        world.clock.wall += timedelta(days=world.dice.choice([-365, 365]))
    elif fate < 0.07:
        world.clock.wall += timedelta(minutes=world.dice.choice([-10, 10]))
    elif fate < 0.10:
        world.pass_time(timedelta(minutes=world.dice.choice([5, 20, 400])))  # asleep, or nobody spoke


def check(world: World, connection: sqlite3.Connection) -> bool:
    """Hold what is said against what can be known; True when it was a GO."""
    now = world.clock.now()
    record = current_record(
        connection, ("", COATING), milliseconds(now.wall), now.boot, 2 * INTERVAL // timedelta(milliseconds=1)
    )
    judged = world.daemon.last
    assert judged is not None
    says_go = [judged.verdicts[0].state is not State.WAIT, record is not None and record["state"] != "wait"]
    # whoever asks beside the daemon believes and doubts the same air
    beside = readings(LogAir(AirLog(connection), SHOP).conditions(now.wall, "shop"), judged.verdicts[0].coating, SHOP)
    assert beside.reason == judged.verdicts[0].findings[0].reason
    if not any(says_go):
        return False
    for topic, low, high in (("t", 15.0, 32.0), ("h", 0.0, 75.0)):
        heard = world.heard[topic]
        assert world.true - heard.at <= FRESH + 120 + 60, (topic, heard, world.true)
        assert heard.value is not None, topic
        assert low <= heard.value <= high, (topic, heard)
    return True


def words_agree(world: World) -> bool:
    """Hold the words on this minute against each other; True when they are a GO."""
    judged, now = world.daemon.last, world.clock.now()
    assert judged is not None
    state = judged.verdicts[0].state
    said = [State(judged.record["verdicts"][0]["state"]), State(judged.record["announced"][COATING])]
    assert said == [state, judged.announced[0].state]
    assert RANK[said[1]] >= RANK[state], "announced is never better than the verdict it stands beside"
    doubt = daemon_doubt(world.shop.logbook)
    beside = check_air(CheckAsked(), world.shop, now.wall).advices[0].verdict.state
    assert beside is state, (beside, state, doubt, judged.verdicts[0].findings)
    believed = 2 * INTERVAL // timedelta(milliseconds=1)
    kept = current_record(world.daemon.air_log.connection, ("", COATING), milliseconds(now.wall), now.boot, believed)
    if kept is not None and not doubt:
        assert kept["state"] == state.value, "what `readings` passes on"
    return state is not State.WAIT


def calm(world: World) -> None:
    """Good air for as long as a GO takes to be announced."""
    for _ in range(20):
        world.pass_time(INTERVAL)
        world.watch.look(world.clock.now())
        world.deliver("t", b"21.0", live=True)
        world.deliver("h", b"48.0", live=True)
        world.writer.step(0.0)
        world.lock.doubt(world.daemon.tick(world.clock.now()).doubt)


def spoil_the_disk(other: sqlite3.Connection, connection: sqlite3.Connection, how: str) -> None:
    """Lock the logbook, fill its disk, or make it good again."""
    if how == "locked":
        other.execute("BEGIN IMMEDIATE")
    elif other.in_transaction:
        other.execute("ROLLBACK")
    pages = connection.execute("PRAGMA page_count").fetchone()[0] if how == "full" else 2**30
    connection.execute(f"PRAGMA max_page_count = {pages}")


@pytest.mark.slow
@pytest.mark.parametrize("part", [0, *(pytest.param(n, marks=pytest.mark.full) for n in range(1, PARTS))])
def test_no_fault_schedule_makes_a_go_that_is_old_or_on_unknown_air_or_against_another_word(
    tmp_path, part, monkeypatch, capsys
):
    connection, world = build(tmp_path, 20261125 + part)
    other = sqlite3.connect(tmp_path / "log.db", isolation_level=None, timeout=0)
    file = tmp_path / "advisor.toml"
    file.write_text(f'coatings = ["{COATING}"]\nlogbook = "log.db"\n', encoding="utf-8")

    class WallClock(datetime):
        @classmethod
        def now(cls, tz=None):
            return world.clock.now().wall

    monkeypatch.setattr("advisor.cli.commands.datetime", WallClock)
    goes = unkept = asked = promised = 0
    for schedule in range(SCHEDULES):
        if schedule % 500 == 499:
            world.clock.boot_id, world.clock.boottime = f"boot-{schedule}", 10.0
            world.daemon.last = None
            world.watch.remember(connection, world.clock.now())
            world.daemon._caught_up = None
        fate = world.dice.random()
        disk = "locked" if fate < 0.03 else "full" if fate < 0.06 else ""
        if disk and schedule % 3 == 0:
            calm(world)
            promised += world.daemon.last.record["announced"][COATING] == "go"
        if disk:
            spoil_the_disk(other, connection, disk)
        for minute in range(MINUTES):
            world.pass_time(INTERVAL)
            disturb(world)
            speak(world)
            with contextlib.suppress(sqlite3.Error):
                world.watch.look(world.clock.now())
            world.writer.step(0.0)
            judged = world.daemon.tick(world.clock.now())
            world.lock.doubt(judged.doubt)
            agreed = words_agree(world) if disk or judged.doubt or schedule % 2 else None
            if not judged.stored:
                assert judged.verdicts[0].state is State.WAIT, "an unwritable logbook is a WAIT"
                unkept += 1
            elif not disk:
                goes += check(world, connection)
            if agreed is not None and minute == 0 and (disk or schedule % 100 == 1):  # the whole command, now and then
                code = run(["check", "--config", str(file), "--json"])
                answer = json.loads(capsys.readouterr().out.splitlines()[-1])["verdicts"][0]["state"]
                assert (answer, code == 0) == (judged.verdicts[0].state.value, agreed)
                asked += 1
        if disk:
            spoil_the_disk(other, connection, "")
            while world.writer.step(0.0):
                pass
        if schedule % 200 == 0:
            connection.execute("DELETE FROM reading WHERE at < ?", (milliseconds(world.clock.now().wall) - 86_400_000,))
    assert goes > SCHEDULES // 2, (
        "the daemon must still say GO when it may: a tool that only waits passes every such test"
    )
    assert unkept > 150 // PARTS
    assert asked > SCHEDULES // 20
    assert promised > SCHEDULES // 100, "a GO must stand announced when the fault comes"
    world.lock.let_go()


def test_a_kept_go_is_believed_for_two_intervals_and_not_longer(tmp_path):
    """Even with nobody left to judge: by the boot clock, and not in another boot."""
    connection, world = build(tmp_path)
    for _ in range(20):
        world.pass_time(INTERVAL)
        world.deliver("t", b"21.0", live=True)
        world.deliver("h", b"48.0", live=True)
        world.writer.step(0.0)
        world.daemon.tick(world.clock.now())

    def kept() -> bool:
        now = world.clock.now()
        allowed = 2 * INTERVAL // timedelta(milliseconds=1)
        record = current_record(connection, ("", COATING), milliseconds(now.wall), now.boot, allowed)
        return record is not None and record["state"] == "go"

    assert kept()
    world.pass_time(timedelta(seconds=120))
    assert kept()
    world.clock.wall += timedelta(hours=-1)
    world.pass_time(timedelta(seconds=1))
    assert not kept(), "a wall clock set back makes no old verdict young"
    world.clock.wall += timedelta(hours=1, seconds=-121)
    world.clock.boot_id, world.clock.boottime = "another", 10.0
    assert not kept()
