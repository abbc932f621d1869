"""A daemon on a simulated clock, and a whole service, both spoken to by hand."""

from datetime import timedelta
from functools import partial

from advisor.judge.verdict import State
from advisor.logbook.air_log import AirLog
from advisor.logbook.store import open_for_writing
from advisor.readings.payload import PayloadReader
from advisor.readings.quality import QualityControl
from advisor.readings.reading import Calibrator, Reading, Series
from advisor.shop.shop import Shop
from advisor.times import milliseconds
from advisor.watch.clock import SimulatedClock
from advisor.watch.clock_watch import ClockWatch
from advisor.watch.daemon import INTERVAL, Daemon
from advisor.watch.service import Service, Settings
from advisor.watch.writer import Writer
from tests.support import NOON

COATING = "nitrocellulose-lacquer"

SHOP = Shop(coatings=(COATING,))


class Bench:
    """A daemon on a simulated clock, spoken to by hand; `restart` keeps the logbook and forgets the rest."""

    def __init__(self, folder) -> None:
        self.clock = SimulatedClock(NOON)
        self.connection = open_for_writing(folder / "log.db", NOON)
        self.connection.execute("PRAGMA synchronous = OFF")
        self.restart()

    def restart(self) -> None:
        """As after a kill."""
        reader = PayloadReader((), 900.0, 120.0)
        self.writer = Writer(self.connection, reader, QualityControl(SHOP.accuracy), Calibrator(), self.clock)
        self.writer.warm_up()
        air_log = AirLog(self.connection)
        self.daemon = Daemon(SHOP, (COATING,), air_log, self.writer.do_now, ("screen",))
        self.watch = ClockWatch(
            self.daemon, lambda since: self.writer.do_now(partial(self.writer.disown_the_future, since=since))
        )
        self.watch.look(self.clock.now())

    def minute(self, air: float | None = 21.0, humidity: float | None = 0.48, count: int = 1) -> State:
        """So many minutes in which the sensors say this; the announced state after them."""
        state = State.WAIT
        for _ in range(count):
            self.clock.advance(INTERVAL)
            at = milliseconds(self.clock.now().wall)
            entries = [
                Reading(Series("a", "shop", quantity), value, at, "")
                for quantity, value in (("air_temperature", air), ("relative_humidity", humidity))
                if value is not None
            ]
            self.writer.write(entries)
            self.watch.look(self.clock.now())
            state = self.daemon.tick(self.clock.now()).announced[0].state
        return state

    def told(self) -> list[str]:
        """The states told so far."""
        return [row[0] for row in self.connection.execute("SELECT state FROM notice ORDER BY id")]


def service(folder, **more) -> Service:
    of = Shop(coatings=(COATING,), logbook=folder / "log.db", **more)
    return Service(of, settings=Settings(interval=timedelta(seconds=1), supervise=0.1))
