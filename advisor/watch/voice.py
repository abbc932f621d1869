"""What the daemon says on the broker, and holds beside the logbook: the newest record, or a WAIT that says why."""

import json
import threading
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any

from advisor.advice.conditions import Conditions
from advisor.advice.record import verdict_record
from advisor.advice.verdict import judge
from advisor.logbook.daemon_lock import DaemonLock
from advisor.readings.mqtt import MqttSource
from advisor.say.as_json import SCHEMA, utc
from advisor.shop.shop import Shop
from advisor.watch.clock import Clock


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
        if self.source is None:
            return
        until = datetime.fromisoformat(record["valid_until"])
        expires = round((until - self.clock.now().wall).total_seconds())
        # QoS 0: an unacknowledged GO must not be sent again after a reconnect, over the WAIT that followed it
        text = json.dumps(record, allow_nan=False)
        self.source.publish("verdict", text, qos=0, retain=True, expires=max(1, expires))
