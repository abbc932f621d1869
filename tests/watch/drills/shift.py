"""A daemon on a simulated clock over a real file, for afternoons in which it is killed and started again."""

from datetime import timedelta

from advisor.judge.verdict import State
from advisor.logbook.air_log import AirLog
from advisor.logbook.plan_log import keep_plan, keep_told
from advisor.logbook.store import open_for_reading, open_for_writing, transaction
from advisor.notices.plan_notice import Planned, Told
from advisor.readings.payload import PayloadReader
from advisor.readings.quality import QualityControl
from advisor.readings.reading import Calibrator, Reading, Series
from advisor.shop.shop import Shop
from advisor.times import milliseconds
from advisor.watch.clock import SimulatedClock
from advisor.watch.daemon import INTERVAL, Daemon
from advisor.watch.writer import Writer
from tests.support import NOON

LACQUER = "nitrocellulose-lacquer"
START = NOON + timedelta(hours=4)


class Shift:
    """A daemon on a simulated clock over a real file, judging no coating of its own; `restart` is as after a kill."""

    def __init__(self, folder, shop: Shop | None = None) -> None:
        self.shop = shop or Shop()
        self.path = folder / "log.db"
        self.clock = SimulatedClock(NOON)
        self.connection = open_for_writing(self.path, NOON, durable=False)
        self.restart()

    def restart(self) -> None:
        """The file stays, the rest is forgotten."""
        reader = PayloadReader((), 900.0, 120.0)
        self.writer = Writer(self.connection, reader, QualityControl(self.shop.accuracy), Calibrator(), self.clock)
        self.writer.warm_up()
        reading = AirLog(open_for_reading(self.path))
        self.daemon = Daemon(self.shop, (), reading, self.writer.do_now, ("screen",))

    def plan(self, at=START, coats=2, coating=LACQUER, said: State | None = None):
        """A plan made now; said: what was printed as it was made."""
        now = self.clock.now().wall
        with transaction(self.connection):
            planned = keep_plan(self.connection, Planned(0, now, at, coating, coats, 300.0))
            if said is not None:
                reason = "" if said is State.GO else "relative_humidity"
                keep_told(self.connection, planned, Told("added", now, said, False, reason))
        return planned

    def minute(self, humidity: float | None) -> None:
        """One minute in which the sensors say this [%]."""
        self.clock.advance(INTERVAL)
        if humidity is not None:
            at = milliseconds(self.clock.now().wall)
            self.writer.write([
                Reading(Series("a", "shop", "air_temperature"), 22.0, at, ""),
                Reading(Series("a", "shop", "relative_humidity"), humidity / 100.0, at, ""),
            ])  # fmt: skip
        self.daemon.tick(self.clock.now())

    def minutes(self, humidity: float | None, count: int) -> None:
        """So many of them."""
        for _ in range(count):
            self.minute(humidity)

    def told(self) -> list[str]:
        """The notices so far: minutes after noon, kind, state, urgent."""
        rows = self.connection.execute("SELECT at, kind, state, urgent FROM notice ORDER BY id")
        begin = milliseconds(NOON)
        return [
            f"{(at - begin) // 60_000} {kind.split('-', 1)[1]} {state}{' !' if urgent else ''}"
            for at, kind, state, urgent in rows
        ]
