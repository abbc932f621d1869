"""What the daemon says on the broker, and holds beside the logbook: the newest record, or a WAIT that says why.

Looks after the broker's client: its own heartbeat must come back, and what was refused is asked for again.
"""

import json
import threading
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any

import structlog

from advisor.judge.conditions import Conditions
from advisor.judge.verdict import judge
from advisor.logbook.daemon_lock import DaemonLock
from advisor.logbook.store import transaction
from advisor.logbook.verdict_log import keep_value, kept_value
from advisor.readings.mqtt import MqttSource
from advisor.say.as_json import SCHEMA, utc
from advisor.say.record import verdict_record
from advisor.shop.shop import Broker, Shop
from advisor.times import milliseconds
from advisor.watch.clock import Clock
from advisor.watch.writer import Incoming, Writer


@dataclass
class Voice:
    """Says one record at a time.

    judged_at: when the newest minute was judged, by the boot clock [s]. unfit: why all must begin anew; from then on
    nothing else is said.
    """

    shop: Shop
    clock: Clock
    lock: DaemonLock
    interval: timedelta
    judged_at: float
    source: MqttSource | None = None
    unfit: str = ""
    _said: dict[str, Any] | None = None  # the newest record, whatever it was
    _speaking: threading.Lock = field(default_factory=threading.Lock)

    def blind_record(self, doubt: str) -> dict[str, Any]:
        """The record of a WAIT for every coating in use, because of `doubt`."""
        now = self.clock.now().wall
        blind = Conditions(self.shop.spray_place or "shop", doubt=doubt)
        verdicts = [judge(blind, self.shop.coating(name), self.shop, now) for name in self.shop.coatings]
        return {
            "schema": SCHEMA,
            "as_of": utc(now),
            "computed_at": utc(now),
            "valid_until": utc(now + 2 * self.interval),
            "verdicts": [verdict_record(verdict, self.shop, now) for verdict in verdicts],
            "announced": dict.fromkeys(self.shop.coatings, "wait"),
        }

    def on_ready(self) -> None:
        """On a new connection, from the network thread: what is still valid is said again, else a WAIT."""
        young = self.clock.now().boottime - self.judged_at < 2 * self.interval.total_seconds()
        self.publish(None if self._said is not None and young else self.blind_record("starting"))

    def publish(self, record: dict[str, Any] | None, doubt: str | None = None) -> None:
        """Say a record, or the newest once more; doubt: the daemon's own from now on.

        One at a time: nothing judged before it comes after a WAIT.
        """
        with self._speaking:
            record = record or self._said
            if self.unfit:
                doubt = self.unfit
                record = self.blind_record(doubt)
            if doubt is not None:
                self.lock.doubt(doubt)
            if record is not None:
                self._said = record
                self._send(record)

    def _send(self, record: dict[str, Any]) -> None:
        if self.source is not None:
            until = datetime.fromisoformat(record["valid_until"])
            expires = round((until - self.clock.now().wall).total_seconds())
            text = json.dumps(record, allow_nan=False)
            # QoS 0: an unacknowledged GO must not be sent again after a reconnect, over the WAIT that followed it
            self.source.publish("verdict", text, qos=0, retain=True, expires=max(1, expires))


log = structlog.get_logger()
SILENT_FOR = 3  # keepalives without the own heartbeat before the client is built anew


class BrokerWatch:
    """event: keeps what happened, by its kind and in words. on_ready: called on each new connection."""

    def __init__(
        self,
        shop: Shop,
        broker: Broker,
        writer: Writer,
        event: Callable[[str, str], None],
        on_ready: Callable[[], None],
    ) -> None:
        self.writer, self._event, self._on_ready = writer, event, on_ready
        forecast = [shop.forecast_topic] if shop.forecast_topic else []
        topics = tuple(dict.fromkeys([*(topic.topic for topic in shop.topics), *forecast]))
        self.source = MqttSource(
            broker,
            topics,
            lambda message, acknowledge: writer.offer(Incoming(message, acknowledge)),
            lambda: milliseconds(writer.clock.now().wall),
            lambda: writer.clock.now().boottime,
            self._ready,
            self._dropped(topics),
        )
        self.beats_each = timedelta(seconds=broker.keepalive / 2)
        self._silent_since: float | None = None

    def _dropped(self, topics: tuple[str, ...]) -> tuple[str, ...]:
        """Topics the broker's session still holds from an earlier configuration; the new list is kept instead."""
        connection = self.writer.connection
        kept = json.loads(kept_value(connection, "topics") or "[]")
        with transaction(connection):
            keep_value(connection, "topics", json.dumps(sorted(topics)))
        return tuple(topic for topic in kept if topic not in topics)

    def _ready(self) -> None:
        self.source.beat()
        self._on_ready()

    def beat(self) -> None:
        """Send the heartbeat, where there is a connection."""
        if self.source.connected_for is not None:
            self.source.beat()

    def look(self) -> None:
        """Ask for what overflowed once there is room again, and build a silent client anew."""
        source, now = self.source, self.writer.clock.now().boottime
        if self.writer.overflowed and self.writer.inbox.empty():
            self.writer.overflowed = False
            self._event("overflow", f"{source.refused} messages left with the broker, asked for again")
            source.rebuild()
            return
        heard = max(source.heartbeat_seen, self._silent_since or 0.0)
        if self._silent_since is None:
            self._silent_since = now
        elif now - heard > SILENT_FOR * source.broker.keepalive or not source.thread_alive:
            self._silent_since = now
            if source.tried:
                log.warning("broker silent, building the client anew")
            source.rebuild()
