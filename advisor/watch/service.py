"""The running daemon: the one place where real clocks, broker, threads and scheduler are wired together.

Plain threads: the network's (paho), the writer, a scheduler with one worker, the sender, and the main thread as
supervisor. What runs when is decided by the machine's boot clock, never by the wall clock alone.
"""

import json
import signal
import sqlite3
import threading
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import partial
from typing import Any

import structlog
from apscheduler.schedulers.background import BackgroundScheduler

from advisor.catalog.marks import marks
from advisor.errors import DamagedLogbook, LogbookError
from advisor.logbook import outbox
from advisor.logbook.air_log import AirLog
from advisor.logbook.calibration_log import calibrations_in_force, calibrator_of, with_calibrations
from advisor.logbook.conditions import milliseconds
from advisor.logbook.daemon_lock import DaemonLock
from advisor.logbook.store import logbook_path, look_through, open_for_reading, open_for_writing, transaction
from advisor.logbook.verdict_log import keep_event, keep_value, kept_value
from advisor.readings.mqtt import MqttSource
from advisor.readings.payload import Message, PayloadReader
from advisor.readings.quality import QualityControl
from advisor.shop.shop import Shop
from advisor.watch.clock import Clock, Now, SystemClock
from advisor.watch.clock_watch import ClockWatch
from advisor.watch.daemon import INTERVAL, Daemon, blind_record
from advisor.watch.notifier import AppriseNotifier
from advisor.watch.schedule import make_scheduler
from advisor.watch.sender import Sender
from advisor.watch.systemd import SystemdLink
from advisor.watch.writer import QUEUE, Incoming, Writer

log = structlog.get_logger()
SUPERVISE = 5.0  # [s]
SILENT_FOR = 3  # keepalives without the own heartbeat before the client is built anew
CHECK_CALIBRATION = 3600.0  # [s]
LOOK_THROUGH = 24 * 3600.0  # [s] after which the logbook is looked through even if nothing was written into it
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
        self._systemd = SystemdLink()
        self._last_tick = self.clock.now().boottime
        self._last_beat = 0.0
        self._blind = 0
        self._silent_since: float | None = None
        self._calibration_checked: float | None = None
        self._said: dict[str, Any] | None = None  # the newest record, whatever it was
        self._looked_through: tuple[float, int] | None = (self._last_tick, self.lock.written())
        self._threads: list[threading.Thread] = []
        self._speaking = threading.Lock()
        self._unfit = ""  # why all must begin anew

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
            self.shop.forecast_topic, lambda: not self._unfit and self.lock.still_there(),
        )  # fmt: skip
        self.writer.warm_up()
        self.reading = open_for_reading(self.path)
        self.sending = open_for_reading(self.path)
        self.lock.opened()
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
            self.shop, notifier, self.clock, lambda query: query(self.sending), self.writer.do,
            lambda: self._blind > 0,
        )  # fmt: skip
        self.clock_watch = ClockWatch(
            self.daemon, lambda since: self.writer.do(partial(self.writer.disown_the_future, since=since))
        )
        self.source: MqttSource | None = None
        if self.shop.broker is not None:
            forecast = [self.shop.forecast_topic] if self.shop.forecast_topic else []
            topics = tuple(dict.fromkeys([*(topic.topic for topic in self.shop.topics), *forecast]))
            self.source = MqttSource(
                self.shop.broker,
                topics,
                self._offer,
                lambda: milliseconds(self.clock.now().wall),
                lambda: self.clock.now().boottime,
                self._on_ready,
                self._dropped(topics),
            )

    def _dropped(self, topics: tuple[str, ...]) -> tuple[str, ...]:
        """Topics the broker's session still holds from an earlier configuration; the new list is kept instead."""
        kept = json.loads(kept_value(self.connection, "topics") or "[]")
        with transaction(self.connection):
            keep_value(self.connection, "topics", json.dumps(sorted(topics)))
        return tuple(topic for topic in kept if topic not in topics)

    def run(self) -> bool:
        """Run until told to stop, then leave cleanly; True when all must begin anew."""
        writer = threading.Thread(target=self.writer.run, args=(self._writer_stop,), name="writer")
        writer.start()
        sender = threading.Thread(target=self.sender.run, args=(self._leaving,), name="sender", daemon=True)
        scheduler = make_scheduler(self.tick, self.settings.interval, self.clock.now().wall)
        self._threads = [writer, sender]
        try:
            self._event("start", f"logbook {self.path.name}")
            if self.clock_watch.remember(self.reading, self.clock.now()):  # let the sensors speak before the first word
                scheduler.modify_job("tick", next_run_time=self.clock.now().wall + self.settings.interval)
            if self.source is not None:
                self.source.start()
            sender.start()
            scheduler.start()
            self._systemd.say("READY=1")
            log.info("watching", logbook=str(self.path), coatings=len(self.shop.coatings))
            while not self._unfit and not self.stop.wait(self.settings.supervise):
                try:
                    self.supervise(scheduler)
                except Exception as error:
                    # a password file that is gone for a moment must not end the watching
                    log.error("fault in supervising", error=f"{type(error).__name__}: {error}")
        finally:
            self._leave(scheduler, writer, sender)
        return bool(self._unfit)

    def tick(self) -> None:
        """One minute's judgement, published; a fault in it becomes a WAIT that says so."""
        now = self.clock.now()
        self._watch_the_clock(now, None)
        try:
            judged = self.daemon.tick(now)
            record, doubt, blind = judged.record, judged.doubt, "" if judged.stored else "no-store"
        except Exception as error:
            log.error("fault in judging", error=f"{type(error).__name__}: {error}")
            doubt = blind = "fault"
            record = blind_record(self.shop, now, self.settings.interval, blind)
        if not self.lock.still_there():
            self.lock.set_aside()
            doubt = blind = "log-gone"
            record = blind_record(self.shop, now, self.settings.interval, blind)
        if blind:
            self._looked_through = None  # a damaged file shows itself so
        self._tell_blindness(blind)
        self._last_tick = self.clock.now().boottime
        self._publish(record, doubt)
        if not blind:
            self._look_ahead()

    def _look_ahead(self) -> None:
        """What may be computed once the minute's word is out; told when it finds ways to a better verdict."""
        try:
            record = self.daemon.look_ahead()
        except Exception as error:
            log.error("fault in looking ahead", error=f"{type(error).__name__}: {error}")
            return
        if record is not None:
            self._publish(record)

    def _tell_blindness(self, why: str) -> None:
        """Tell the person, past the logbook, when minutes can be neither judged nor kept; once each time.

        Better news that waits in the outbox is held back meanwhile.
        """
        self._blind = self._blind + 1 if why else 0
        if self._blind == BLIND_TOLD_AFTER:
            self._tell_past(why)

    def _tell_past(self, why: str) -> None:
        """Tell the person something that the logbook cannot hold."""
        text = f"WAIT, cannot tell: {marks()[why].sentence} {marks()[why].remedy}"
        notice = outbox.Notice(milliseconds(self.clock.now().wall), "cannot-tell", "*", "wait", why, text, True, 0)

        def send() -> None:
            for destination in self.shop.notices.destinations:
                self.sender.notifier.send(outbox.Waiting(0, destination, 0, notice), text)

        threading.Thread(target=send, name="blind").start()  # waited for, even where the process ends over it

    def supervise(self, scheduler: BackgroundScheduler | None) -> None:
        """One look at clocks, threads and broker; feeds the watchdog only when all is well."""
        now = self.clock.now()
        self._unfit = self._why_unfit(now)
        if self._unfit:
            log.error("begins anew", reason=self._unfit, words=marks()[self._unfit].sentence)
            if self._unfit != "fault":  # a fault is mended by beginning anew, and nobody need do anything
                self._tell_past(self._unfit)
            self._publish(blind_record(self.shop, now, self.settings.interval, self._unfit))
            return
        self._watch_the_clock(now, scheduler)
        if self.source is not None:
            self._watch_the_broker(now)
        if self._calibration_checked is None or now.boottime - self._calibration_checked > CHECK_CALIBRATION:
            self._calibration_checked = now.boottime
            self._tell_due_calibrations(now)
        if self.healthy(now):
            self._systemd.say("WATCHDOG=1")

    def _why_unfit(self, now: Now) -> str:
        """Why nothing of this can go on: another file, a damaged one, or a thread that ended; empty when it can."""
        if not self.lock.still_there():
            self.lock.set_aside()
            return "log-gone"
        if not all(thread.is_alive() for thread in self._threads):
            return "fault"
        written, seen = self.lock.written(), self._looked_through
        if seen is None or written != seen[1] or now.boottime - seen[0] > LOOK_THROUGH:
            self._looked_through = now.boottime, written
            try:
                look_through(self.path)
            except DamagedLogbook as error:
                log.error("logbook damaged", error=str(error))
                return "damaged"
        return ""

    def healthy(self, now: Now) -> bool:
        """Writer turning, judgement recent, logbook writable."""
        return (
            now.boottime - self.writer.last_round < 30.0
            and now.boottime - self._last_tick < 3 * self.settings.interval.total_seconds()
            and self.writer.storable
        )

    def _watch_the_clock(self, now: Now, scheduler: BackgroundScheduler | None) -> None:
        """A wall clock that was set is kept as an event, and judged anew at once."""
        stepped = self.clock_watch.look(now)
        if stepped is None:
            return
        log.warning("clock step", seconds=round(stepped, 1))
        self._event("clock-step", f"{stepped:+.1f} s")
        if scheduler is not None:
            scheduler.modify_job("tick", next_run_time=now.wall)

    def _watch_the_broker(self, now: Now) -> None:
        source = self.source
        if source is None:
            return
        keepalive = source.broker.keepalive
        if self.writer.overflowed and self.writer.inbox.empty():
            self.writer.overflowed = False
            self._event("overflow", f"{source.refused} messages left with the broker, asked for again")
            source.reconnect()
            return
        if source.connected_for is not None and now.boottime - self._last_beat >= keepalive / 2:
            self._last_beat = now.boottime
            source.beat()
        heard = max(source.heartbeat_seen, self._silent_since or 0.0)
        if self._silent_since is None:
            self._silent_since = now.boottime
        elif now.boottime - heard > SILENT_FOR * keepalive or not source.thread_alive:
            self._silent_since = now.boottime
            if source.tried:
                log.warning("broker silent, building the client anew")
            source.rebuild()

    def _offer(self, message: Message, acknowledge: Any) -> bool:
        return self.writer.offer(Incoming(message, acknowledge))

    def _on_ready(self) -> None:
        """On a new connection, from the network thread: what is still valid is said again, else a WAIT."""
        now = self.clock.now()
        young = now.boottime - self._last_tick < 2 * self.settings.interval.total_seconds()
        repeated = self._said is not None and young
        self._publish(None if repeated else blind_record(self.shop, now, self.settings.interval, "starting"))

    def _publish(self, record: dict[str, Any] | None, doubt: str | None = None) -> None:
        """Say a record, or the newest once more; doubt: the daemon's own from now on.

        One at a time: nothing judged before it comes after a WAIT, and once all must begin anew nothing else is said.
        """
        with self._speaking:
            record = record or self._said
            if self._unfit:
                doubt = self._unfit
                record = blind_record(self.shop, self.clock.now(), self.settings.interval, doubt)
            if doubt is not None:
                self.lock.doubt(doubt)
            if record is not None:
                self._said = record
                self._send(record)

    def _send(self, record: dict[str, Any]) -> None:
        if self.source is None:
            return
        until = datetime.fromisoformat(record["valid_until"])
        expires = round((until - self.clock.now().wall).total_seconds())
        # QoS 0: an unacknowledged GO must not be sent again after a reconnect, over the WAIT that followed it
        text = json.dumps(record, allow_nan=False)
        self.source.publish("verdict", text, qos=0, retain=True, expires=max(1, expires))

    def _tell_due_calibrations(self, now: Now) -> None:
        """A notice for each sensor whose salt check is due again, once for each calibration."""
        at = milliseconds(now.wall)
        lasts = round(self.shop.limit("calibration_due").value * 1000)

        def job(connection: sqlite3.Connection) -> None:
            for kept in calibrations_in_force(connection).values():
                reason = f"calibration-due {kept.sensor} {kept.id}"
                if at - kept.made_at < lasts or outbox.last_told_at(connection, "*", "info", reason) is not None:
                    continue
                text = f"Salt check due again for the humidity sensor {kept.sensor}: advisor calibrate."
                notice = outbox.Notice(at, "info", "*", "info", reason, text, False, at + lasts)
                outbox.put(connection, notice, self.shop.notices.destinations, at)

        try:
            self.writer.do(job)
        except Exception as error:
            log.error("calibration check not kept", error=str(error))

    def _event(self, kind: str, detail: str) -> None:
        at = milliseconds(self.clock.now().wall)
        try:
            self.writer.do(lambda connection: keep_event(connection, at, kind, detail))
        except Exception as error:
            log.error("event not kept", kind=kind, error=str(error))

    def _leave(self, scheduler: BackgroundScheduler, writer: threading.Thread, sender: threading.Thread) -> None:
        if not self._unfit:
            self._systemd.say("STOPPING=1")
        self._leaving.set()
        if scheduler.running:
            scheduler.shutdown(wait=True)
        if sender.is_alive():
            sender.join(LEAVE)  # what is just being sent is noted before the writer goes
        if writer.is_alive():
            self._event("stop", self._unfit or "asked to stop")
        if self.source is not None:
            self.source.publish("status", "offline", retain=True)
            self.source.stop()
        self._writer_stop.set()
        writer.join(LEAVE)
        if self._unfit == "log-gone":
            self._keep_what_is_gone()
        for connection in (self.reading, self.sending, self.connection):
            connection.close()
        self.lock.let_go()
        self._systemd.close()
        log.info("stopped")

    def _keep_what_is_gone(self) -> None:
        """Write the logbook that is gone from under its name, and is still open here, into a file beside it."""
        kept = self.path.with_name(f"{self.path.name}.{self.clock.now().wall:%Y%m%dT%H%M%SZ}.gone")
        aside = self.lock.set_aside()
        try:
            self.connection.execute("VACUUM INTO ?", (str(kept),))
        except sqlite3.Error as error:
            log.error("logbook gone and not kept", error=str(error))
            kept.unlink(missing_ok=True)
            return
        log.warning("logbook gone, a copy kept", file=str(kept))
        for file in aside:
            file.unlink(missing_ok=True)


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
