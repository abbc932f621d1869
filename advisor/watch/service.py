"""The running daemon: the one place where real clocks, broker, threads and scheduler are wired together.

Plain threads: the network's (paho), the writer, the scheduler with its three workers, and the main thread, which waits
for the end. What runs when is decided by the machine's boot clock, never by the wall clock.
"""

import os
import signal
import threading
from dataclasses import dataclass
from datetime import timedelta
from functools import partial

import sdnotify
import structlog

from advisor.catalog.limits import marks
from advisor.errors import LogbookError
from advisor.logbook.air_log import AirLog
from advisor.logbook.calibration_log import calibrations_in_force, calibrator_of
from advisor.logbook.daemon_lock import DaemonLock
from advisor.logbook.logbook_guard import LogbookGuard
from advisor.logbook.store import logbook_path, look_through, open_for_reading, open_for_writing
from advisor.logbook.verdict_log import keep_event
from advisor.readings.mqtt import MqttSource
from advisor.readings.payload import PayloadReader
from advisor.readings.quality import QualityControl
from advisor.shop.shop import Shop
from advisor.sources.log_air import with_calibrations
from advisor.times import milliseconds
from advisor.watch.broker_watch import BrokerWatch, Voice
from advisor.watch.clock import Clock, Now, SystemClock
from advisor.watch.clock_watch import ClockWatch
from advisor.watch.daemon import INTERVAL, Daemon
from advisor.watch.schedule import GUARDING, JUDGING, SENDING, Schedule
from advisor.watch.sender import POLL, AppriseNotifier, Sender
from advisor.watch.writer import QUEUE, Writer

log = structlog.get_logger()
SUPERVISE = 5.0  # [s]
GUARDED = 1.0  # [s] between two looks of the main thread
CHECK_CALIBRATION = timedelta(hours=1)
LOOK_THROUGH = timedelta(days=1)  # after which the logbook is looked through even if nothing was written into it
LEAVE = 20.0  # [s] a thread gets to finish what it is doing
BLIND_TOLD_AFTER = 3  # minutes that could not be judged or kept before the person is told past the logbook


@dataclass(frozen=True)
class Settings:
    """What a test may set otherwise."""

    interval: timedelta = INTERVAL
    supervise: float = SUPERVISE
    queue_size: int = QUEUE


class Service:
    """Everything a running `advisor watch` is made of."""

    def __init__(
        self,
        shop: Shop,
        clock: Clock | None = None,
        settings: Settings | None = None,
        stop: threading.Event | None = None,
    ) -> None:
        self.clock = clock or SystemClock()
        self.settings = settings or Settings()
        self.stop = stop or threading.Event()  # set by whoever wants it to end
        self._leaving = threading.Event()
        self._writer_stop = threading.Event()  # the writer goes last
        self.path = logbook_path(shop.logbook)
        self.lock = DaemonLock(self.path)
        self.lock.take()
        try:
            self.lock.doubt("starting")
            self._open(shop)
        except BaseException:
            self.lock.let_go()
            raise
        self._systemd = sdnotify.SystemdNotifier() if os.environ.get("NOTIFY_SOCKET") else None
        self._blind = 0
        self._writing = threading.Thread(target=self.writer.run, args=(self._writer_stop,), name="writer")
        self._schedule = Schedule(lambda: self.clock.now().boottime)

    def _open(self, shop: Shop) -> None:
        self.connection = open_for_writing(self.path, self.clock.now().wall)
        look_through(self.path)
        kept = calibrations_in_force(self.connection)
        self.shop = with_calibrations(shop, kept)
        fresh_for, tolerance, settle = (
            self.shop.limit(key).value for key in ("fresh_for", "clock_tolerance", "settle_after_connect")
        )
        reader = PayloadReader(self.shop.topics, fresh_for, tolerance, settle)
        control = QualityControl(self.shop.accuracy)
        self.writer = Writer(
            self.connection, reader, control, calibrator_of(kept), self.clock, self.settings.queue_size,
            self.shop.forecast_topic, lambda: not self.voice.unfit and self.lock.still_there(),
        )  # fmt: skip
        self.voice = Voice(self.shop, self.clock, self.lock, self.settings.interval, self.clock.now().boottime)
        self.writer.warm_up()
        self.reading = open_for_reading(self.path)
        self.sending = open_for_reading(self.path)
        self.lock.opened()
        self._logbook = LogbookGuard(self.path, self.lock, self.connection)
        coatings = self.shop.coatings
        self.daemon = Daemon(
            self.shop,
            coatings,
            AirLog(self.reading),
            self.writer.do,
            tuple(self.shop.notices.destinations),
            self.settings.interval,
        )
        notifier = AppriseNotifier(self.shop.notices.destinations)
        self.sender = Sender(
            self.shop, notifier.send, self.clock, self.sending, self.writer.do,
            lambda: self._blind > 0, self._leaving.is_set,
        )  # fmt: skip
        self.clock_watch = ClockWatch(
            self.daemon, lambda since: self.writer.do(partial(self.writer.disown_the_future, since=since))
        )
        self.source: MqttSource | None = None
        self._broker: BrokerWatch | None = None
        if self.shop.broker is not None:
            self._broker = BrokerWatch(self.shop, self.shop.broker, self.writer, self._event, self.voice.on_ready)
            self.source = self.voice.source = self._broker.source

    def run(self) -> bool:
        """Run until told to stop, then leave cleanly; True when all must begin anew."""
        self._writing.start()
        try:
            self._event("start", f"logbook {self.path.name}")
            heard = self.clock_watch.remember(self.reading, self.clock.now())
            if self.source is not None:
                self.source.start()
            # after a step of the clock the sensors speak before the first word
            self._plan(self.settings.interval if heard else timedelta(0))
            self._say("READY=1")
            log.info("watching", logbook=str(self.path), coatings=len(self.shop.coatings))
            while not self.voice.unfit and not self.stop.wait(min(GUARDED, self.settings.supervise)):
                if not self._schedule.alive:
                    self._end("fault")
        finally:
            self._leave()
        return bool(self.voice.unfit)

    def _plan(self, first: timedelta) -> None:
        """Everything that is done again and again; first: until the first judgement."""
        again, supervise = self._schedule.again, timedelta(seconds=self.settings.supervise)
        again("tick", JUDGING, self.tick, self.settings.interval, first)
        again("notices", SENDING, self.sender.round, timedelta(seconds=POLL), timedelta(seconds=POLL))
        again("supervising", GUARDING, self.supervise, supervise, supervise)
        again("calibrations", GUARDING, self.sender.tell_due_calibrations, CHECK_CALIBRATION, supervise)
        again("looking through", GUARDING, self._logbook.look_again, LOOK_THROUGH, LOOK_THROUGH)
        if self._broker is not None:
            beat = self._broker.beats_each
            again("broker", GUARDING, self._broker.look, supervise, supervise)
            again("heartbeat", GUARDING, self._broker.beat, beat, beat)
        self._schedule.start()

    def tick(self) -> None:
        """One minute's judgement, published; a fault in it becomes a WAIT that says so."""
        now = self.clock.now()
        self._watch_the_clock(now)
        try:
            judged = self.daemon.tick(now)
            record, doubt, blind = judged.record, judged.doubt, "" if judged.stored else "no-store"
        except Exception as error:
            log.error("fault in judging", error=f"{type(error).__name__}: {error}")
            doubt = blind = "fault"
            record = self.voice.blind_record(blind)
        if self._logbook.gone():
            doubt = blind = "log-gone"
            record = self.voice.blind_record(blind)
        if blind:
            self._logbook.look_again()
        self._tell_blindness(blind)
        self.voice.judged_at = self.clock.now().boottime
        self.voice.publish(record, doubt)
        # what may be computed once the minute's word is out: told when it finds ways to a better verdict
        ahead = None if blind else self.daemon.look_ahead()
        if ahead is not None:
            self.voice.publish(ahead)

    def _tell_blindness(self, why: str) -> None:
        """Tell the person, past the logbook, when minutes can be neither judged nor kept; once each time.

        Better news that waits in the outbox is held back meanwhile.
        """
        self._blind = self._blind + 1 if why else 0
        if self._blind == BLIND_TOLD_AFTER:
            self.sender.tell_past(why)

    def supervise(self) -> None:
        """One look at clocks, threads and logbook; feeds the watchdog only when all is well."""
        if self.voice.unfit:
            return
        now = self.clock.now()
        unfit = self._logbook.unfit() or ("" if self._writing.is_alive() else "fault")
        if unfit:
            self._end(unfit)
            return
        if self._watch_the_clock(now):
            self._schedule.at_once("tick")
        if self.healthy(now):
            self._say("WATCHDOG=1")

    def _end(self, why: str) -> None:
        """Say a WAIT and begin all anew."""
        self.voice.unfit = why
        log.error("begins anew", reason=why, words=marks()[why].sentence)
        if why != "fault":  # a fault is mended by beginning anew, and nobody need do anything
            self.sender.tell_past(why)
        self.voice.publish(None)

    def healthy(self, now: Now) -> bool:
        """Writer turning, judgement recent, logbook writable."""
        return (
            now.boottime - self.writer.last_round < 30.0
            and now.boottime - self.voice.judged_at < 3 * self.settings.interval.total_seconds()
            and self.writer.storable
        )

    def _watch_the_clock(self, now: Now) -> bool:
        """Whether the wall clock was set, which is kept as an event."""
        stepped = self.clock_watch.look(now)
        if stepped is not None:
            log.warning("clock step", seconds=round(stepped, 1))
            self._event("clock-step", f"{stepped:+.1f} s")
        return stepped is not None

    def _event(self, kind: str, detail: str) -> None:
        at = milliseconds(self.clock.now().wall)
        try:
            self.writer.do(lambda connection: keep_event(connection, at, kind, detail))
        except Exception as error:
            log.error("event not kept", kind=kind, error=str(error))

    def _say(self, word: str) -> None:
        """A word to systemd, such as `READY=1`, where it started us and listens."""
        if self._systemd is not None:
            self._systemd.notify(word)

    def _leave(self) -> None:
        if not self.voice.unfit:
            self._say("STOPPING=1")
        self._leaving.set()
        self._schedule.leave(LEAVE)  # what is just being sent is noted before the writer goes
        if self._writing.is_alive():
            self._event("stop", self.voice.unfit or "asked to stop")
        if self.source is not None:
            self.source.publish("status", "offline", retain=True)
            self.source.stop()
        self._writer_stop.set()
        self._writing.join(LEAVE)
        if self.voice.unfit == "log-gone":
            self._logbook.keep_what_is_gone(self.clock.now().wall)
        for connection in (self.reading, self.sending, self.connection):
            connection.close()
        self.lock.let_go()
        if self._systemd is not None:
            self._systemd.socket.close()
        log.info("stopped")


def run_service(shop: Shop, settings: Settings | None = None, stop: threading.Event | None = None) -> None:
    """Run the daemon for a shop until SIGTERM, SIGINT or `stop`, anew as often as it must be.

    Raises LogbookError when the logbook cannot be had.
    """
    if not shop.coatings:
        raise LogbookError("no configuration with coatings", "", "give --config FILE")
    stop = stop or threading.Event()
    if threading.current_thread() is threading.main_thread():
        for number in (signal.SIGTERM, signal.SIGINT):
            signal.signal(number, lambda *_: stop.set())
    while Service(shop, None, settings, stop).run() and not stop.is_set():
        log.info("beginning anew")
