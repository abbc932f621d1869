"""Messages from an MQTT broker; only this file touches paho.

QoS 1 with a persistent session. A message is acknowledged by whoever committed it, and only on the connection it came
on: after a lost session the broker counts packet ids from the start, and a late acknowledgement would meet a stranger.
Callbacks only hand on; nothing in them waits.
"""

import contextlib
import os
import ssl
import sys
import threading
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import partial
from typing import Any

import paho.mqtt.client as paho
import structlog
from paho.mqtt.enums import CallbackAPIVersion
from paho.mqtt.packettypes import PacketTypes
from paho.mqtt.properties import Properties
from paho.mqtt.subscribeoptions import SubscribeOptions

from advisor.errors import ConfigError, FileError
from advisor.readings.password import read_password
from advisor.readings.payload import Message
from advisor.readings.senml import LARGEST_PAYLOAD
from advisor.shop.shop import Broker

log = structlog.get_logger()
SESSION_KEPT = 7 * 86_400  # [s] the broker keeps the session of an absent daemon
RECEIVE_MAXIMUM = 1000  # unacknowledged messages in flight: twice the writer's batch
WILL_DELAY = 30  # [s]
SAID_AGAIN = 60.0  # [s] a password that is not there is told again

Offer = Callable[[Message, Callable[[], None]], bool]


@dataclass
class MqttSource:
    """One client of the broker. offer: takes a message with its acknowledgement, or refuses it at once.

    topics: what to subscribe to. wall: the wall clock [ms UTC]; boottime [s]. on_ready: called on each new
    connection, from the network thread. dropped_topics: subscribed to by an earlier configuration, and no more.
    """

    broker: Broker
    topics: tuple[str, ...]
    offer: Offer
    wall: Callable[[], int]
    boottime: Callable[[], float]
    on_ready: Callable[[], None] = lambda: None
    dropped_topics: tuple[str, ...] = ()
    received: int = 0
    refused: int = 0
    heartbeat_seen: float = 0.0  # boottime of the last own heartbeat that came back
    _generation: int = 0
    _connected_at: float | None = None
    _subscribed: bool = False
    _lock: threading.Lock = field(default_factory=threading.Lock)
    _client: paho.Client | None = None
    _said: tuple[str, float] = ("", 0.0)  # why it was not tried, and when that was last told by the boot clock [s]

    def start(self) -> None:
        """Connect in the background and keep at it; a password or certificate file not there is waited for.

        Raises ConfigError for a variable or folder of the environment that is not there: it will not come.
        """
        try:
            self._client = self._new_client()
        except FileError as error:
            said, at = self._said
            if said != str(error) or self.boottime() - at >= SAID_AGAIN:
                self._said = (str(error), self.boottime())
                log.warning("broker not tried, waiting", error=str(error))
            return
        self._said = ("", 0.0)
        session = self._properties(
            PacketTypes.CONNECT,
            SessionExpiryInterval=SESSION_KEPT,
            ReceiveMaximum=RECEIVE_MAXIMUM,
            MaximumPacketSize=LARGEST_PAYLOAD + 1024,  # topic and properties come on top
        )
        self._client.connect_async(
            self.broker.host,
            self.broker.port,
            keepalive=self.broker.keepalive,
            clean_start=paho.MQTT_CLEAN_START_FIRST_ONLY if session is None else False,
            properties=session,
        )
        self._client.loop_start()

    def stop(self) -> None:
        """Leave cleanly; the session stays with the broker."""
        client, self._client = self._client, None
        if client is None:
            return
        self._next_generation()
        client.disconnect()
        client.loop_stop()

    def rebuild(self) -> None:
        """Drop the client, whatever state it is in, and start another on the same session.

        On it the broker sends again what was refused. The old network thread may hang in a dead socket: it is told to
        end and left, never waited for.
        """
        client, self._client = self._client, None
        self._next_generation()
        if client is not None:
            _abandon(client)
        self.start()

    @property
    def connected_for(self) -> float | None:
        """Seconds since the broker accepted this connection; None while there is none."""
        since = self._connected_at
        return None if since is None else self.boottime() - since

    @property
    def tried(self) -> bool:
        """Whether there is a client at all: none while a file it needs is waited for."""
        return self._client is not None

    @property
    def thread_alive(self) -> bool:
        """Whether the network thread runs; `is_connected` would say yes for ever on a dead one."""
        thread = getattr(self._client, "_thread", None)
        return thread is not None and thread.is_alive()

    def publish(self, name: str, payload: str, qos: int = 1, retain: bool = False, expires: int | None = None) -> None:
        """Publish below the base topic, without waiting; expires [s] goes with it in MQTT 5."""
        if self._client is not None and self._connected_at is not None:
            expiry = {} if expires is None else {"MessageExpiryInterval": max(1, expires)}
            properties = self._properties(PacketTypes.PUBLISH, **expiry)
            self._client.publish(f"{self.broker.base}/{name}", payload, qos=qos, retain=retain, properties=properties)

    def beat(self) -> None:
        """Send a heartbeat that must come back through broker and subscription."""
        self.publish(f"heartbeat/{self.broker.client_id}", str(self.wall()), expires=self.broker.keepalive)

    def _new_client(self) -> paho.Client:
        version5 = self.broker.protocol == "5"
        client = paho.Client(
            CallbackAPIVersion.VERSION2,
            client_id=self.broker.client_id,
            clean_session=None if version5 else False,
            protocol=paho.MQTTv5 if version5 else paho.MQTTv311,
            manual_ack=True,
            reconnect_on_failure=True,
        )
        client.suppress_exceptions = True
        client.reconnect_delay_set(1, 30)
        client.connect_timeout = float(self.broker.keepalive)
        password = read_password(self.broker, os.environ)
        if self.broker.user is not None:
            client.username_pw_set(self.broker.user, password)
        if self.broker.tls_ca is not None:
            try:
                client.tls_set(ca_certs=str(self.broker.tls_ca), tls_version=ssl.PROTOCOL_TLS_CLIENT)
            except (ssl.SSLError, ValueError) as error:
                raise ConfigError(
                    "the file that mqtt.tls_ca names holds no certificate", "the CA's PEM file", ""
                ) from error
            except OSError as error:
                raise FileError(f"the file that mqtt.tls_ca names: {error.strerror}", "", "put the CA there") from error
        delay = self._properties(PacketTypes.WILLMESSAGE, WillDelayInterval=WILL_DELAY)
        client.will_set(f"{self.broker.base}/status", "offline", qos=1, retain=True, properties=delay)
        client.on_connect = self._on_connect
        client.on_connect_fail = self._on_connect_fail
        client.on_subscribe = self._on_subscribe
        client.on_disconnect = self._on_disconnect
        client.on_message = self._on_message
        return client

    def _properties(self, packet: int, **values: int) -> Any:
        """The MQTT 5 properties of a packet, untyped in paho; None in 3.1.1, which has none."""
        make: Any = Properties
        properties = make(packet) if self.broker.protocol == "5" and values else None
        for name, value in values.items() if properties is not None else ():
            setattr(properties, name, value)
        return properties

    def _next_generation(self) -> None:
        with self._lock:
            self._generation += 1
            self._connected_at = None

    def _on_connect(self, client: paho.Client, _data: Any, flags: Any, code: Any, _properties: Any) -> None:
        try:
            if client is not self._client:
                return
            if code.is_failure:
                log.warning("broker refused the connection", reason=str(code))
                return
            self._next_generation()
            with self._lock:
                self._connected_at = self.boottime()
            self._subscribe(client, bool(flags.session_present))
            client.publish(f"{self.broker.base}/status", "online", qos=1, retain=True)
            log.info("broker connected", host=self.broker.host, session_present=bool(flags.session_present))
            self.on_ready()
        except Exception as error:
            # an exception here would end the network thread without a word
            log.error("fault on connecting", error=str(error))

    def _subscribe(self, client: paho.Client, session_present: bool) -> None:
        """In MQTT 5 every time: a kept subscription sends no retained message again (retain handling 1).

        In 3.1.1 each subscribing brings every retained message again, so there only at the start, when the list may
        have changed, and when the broker has lost the session.
        """
        if self.broker.protocol != "5" and session_present and self._subscribed:
            return
        own = f"{self.broker.base}/heartbeat/{self.broker.client_id}"
        for topic in (*self.topics, own):
            if self.broker.protocol == "5":
                client.subscribe(topic, options=SubscribeOptions(qos=1, retainHandling=1))
            else:
                client.subscribe(topic, qos=1)
        for topic in self.dropped_topics:
            client.unsubscribe(topic)
        self._subscribed = True

    def _on_connect_fail(self, _client: paho.Client, _data: Any) -> None:
        log.warning("broker not reached", host=self.broker.host, port=self.broker.port, error=str(sys.exc_info()[1]))

    def _on_subscribe(self, _client: paho.Client, _data: Any, _mid: int, codes: Any, _properties: Any) -> None:
        refused = [str(code) for code in codes if code.is_failure]
        if refused:
            log.error("broker refused a subscription", reasons=refused)

    def _on_disconnect(self, client: paho.Client, _data: Any, _flags: Any, code: Any, _properties: Any) -> None:
        try:
            if client is self._client:
                self._next_generation()
                log.warning("broker connection lost", reason=str(code))
        except Exception as error:
            log.error("fault on disconnecting", error=str(error))

    def _on_message(self, client: paho.Client, _data: Any, message: paho.MQTTMessage) -> None:
        try:
            with self._lock:
                generation, connected_at = self._generation, self._connected_at
            if client is not self._client:
                return
            acknowledge = partial(self._acknowledge, client, generation, message.mid, message.qos)
            if message.topic == f"{self.broker.base}/heartbeat/{self.broker.client_id}":
                self.heartbeat_seen = self.boottime()
                acknowledge()
                return
            settled = 0.0 if connected_at is None else self.boottime() - connected_at
            self.received += 1
            taken = self.offer(
                Message(
                    message.topic, bytes(message.payload), self.wall(), bool(message.retain), bool(message.dup), settled
                ),
                acknowledge,
            )
            if not taken:
                self.refused += 1
        except Exception as error:
            log.error("message not taken", error=str(error))

    def _acknowledge(self, client: paho.Client, generation: int, mid: int, qos: int) -> None:
        """Acknowledge on the connection the message came on, or not at all."""
        with self._lock:
            if generation == self._generation and client is self._client:
                client.ack(mid, qos)


def _abandon(client: paho.Client) -> None:
    """End a client that may hang: close its socket under it and let its thread run out."""
    client.on_connect = client.on_disconnect = client.on_message = None
    client._thread_terminate = True
    sock = client.socket()
    if sock is not None:
        with contextlib.suppress(OSError):
            sock.close()
    threading.Thread(target=_quietly, args=(client.loop_stop,), daemon=True, name="mqtt-abandoned").start()


def _quietly(call: Callable[[], Any]) -> None:
    try:
        call()
    except Exception as error:
        log.debug("abandoned client", error=str(error))
