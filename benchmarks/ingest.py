"""How fast a queued backlog gets into the logbook, beside a bare counter of messages; ratio in one run.

    .venv/bin/python benchmarks/ingest.py [MESSAGES]

Both drain the same number of QoS 1 messages from the same broker, one after the other. The daemon parses, marks with
full quality control, and commits with synchronous FULL before it acknowledges; the counter only counts.
"""

import logging
import sys
import tempfile
import threading
import time
from pathlib import Path

import paho.mqtt.client as paho
import structlog
from paho.mqtt.enums import CallbackAPIVersion
from paho.mqtt.packettypes import PacketTypes
from paho.mqtt.properties import Properties

sys.path.insert(0, str(Path(__file__).parent.parent))

from advisor.shop.shop import Broker, Shop, TopicMap
from advisor.watch.service import Service, Settings
from tests.watch.broker import TestBroker

MESSAGES = int(sys.argv[1]) if len(sys.argv) > 1 else 20_000


def client(name: str, port: int) -> paho.Client:
    """A client with a session that the broker keeps."""
    made = paho.Client(CallbackAPIVersion.VERSION2, client_id=name, protocol=paho.MQTTv5)
    kept = Properties(PacketTypes.CONNECT)
    kept.SessionExpiryInterval = 3600
    kept.ReceiveMaximum = 1000
    made.max_queued_messages_set(0)
    made.max_inflight_messages_set(1000)
    made.connect("127.0.0.1", port, clean_start=False, properties=kept)
    made.loop_start()
    return made


def wait(done: threading.Event) -> None:
    if not done.wait(120):
        raise SystemExit("not done within two minutes")


def publish(port: int) -> None:
    """Queue the messages for whoever subscribed and left."""
    sender, sent, done = client("sender", port), [0], threading.Event()

    def on_publish(*_: object) -> None:
        sent[0] += 1
        if sent[0] >= MESSAGES:
            done.set()

    sender.on_publish = on_publish
    start = int(time.time() * 1000) - 2 * MESSAGES
    for number in range(MESSAGES):
        sender.publish("b/own", f'{{"t": {20 + number % 40 / 10}, "at": {start + number}}}', qos=1)
    wait(done)
    sender.disconnect()
    sender.loop_stop()


def count(port: int) -> float:
    """Messages a second of the bare counter."""
    absent = client("counter", port)
    absent.subscribe("b/own", qos=1)
    time.sleep(0.5)
    absent.disconnect()
    absent.loop_stop()
    publish(port)
    seen, done = [0], threading.Event()
    start = time.perf_counter()
    counter = paho.Client(CallbackAPIVersion.VERSION2, client_id="counter", protocol=paho.MQTTv5)

    def on_message(*_: object) -> None:
        seen[0] += 1
        if seen[0] >= MESSAGES:
            done.set()

    counter.on_message = on_message
    kept = Properties(PacketTypes.CONNECT)
    kept.SessionExpiryInterval = 3600
    kept.ReceiveMaximum = 1000
    counter.connect("127.0.0.1", port, clean_start=False, properties=kept)
    counter.loop_start()
    wait(done)
    rate = MESSAGES / (time.perf_counter() - start)
    counter.disconnect()
    counter.loop_stop()
    return rate


def log(port: int, folder: Path) -> float:
    """Messages a second into the logbook."""
    topics = (TopicMap("own", "shop", "b/own", "payload", "json", "air_temperature_c", "t", "at"),)
    shop = Shop(
        coatings=("shellac",), logbook=folder / "log.db", topics=topics, broker=Broker("127.0.0.1", port, base="base")
    )

    def running(until: int) -> float:
        service = Service(shop, settings=Settings(supervise=0.1))
        thread = threading.Thread(target=service.run)
        start = time.perf_counter()
        thread.start()
        while service.source is None or service.source.connected_for is None or service.writer.written < until:
            time.sleep(0.005)
        taken = time.perf_counter() - start
        service.stop.set()
        thread.join()
        return taken

    running(0)
    publish(port)
    return MESSAGES / running(MESSAGES)


def main() -> None:
    structlog.configure(wrapper_class=structlog.make_filtering_bound_logger(logging.ERROR))
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        broker = TestBroker(folder)
        broker.save_now_and_then()
        broker.start()
        try:
            bare, ours = count(broker.port), log(broker.port, folder)
        finally:
            broker.stop()
    print(f"bare counter     {bare:8,.0f} messages/s")
    print(f"into the logbook {ours:8,.0f} messages/s   {ours / bare:.2f} of the counter, synchronous FULL")


if __name__ == "__main__":
    main()
