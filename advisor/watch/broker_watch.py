"""Looks after the broker's client: its own heartbeat must come back, and what was refused is asked for again."""

import json
from collections.abc import Callable
from datetime import timedelta

import structlog

from advisor.logbook.store import transaction
from advisor.logbook.verdict_log import keep_value, kept_value
from advisor.readings.mqtt import MqttSource
from advisor.readings.payload import Message
from advisor.shop.shop import Broker, Shop
from advisor.times import milliseconds
from advisor.watch.writer import Incoming, Writer

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
            self._offer,
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

    def _offer(self, message: Message, acknowledge: Callable[[], None]) -> bool:
        return self.writer.offer(Incoming(message, acknowledge))

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
