"""Telemetry into the hub: messages a second decoded, validated, evaluated and stored in batches.

Baseline: a bare paho subscriber that only counts, on the same broker in the same run. Both run alone in a process of
their own while a third sends the same messages as fast as the broker takes them; the median of three rounds counts.
A message that the hub drops under the flood is not counted as ingested.

    python -m tests.bench.ingest
"""

import json
import multiprocessing
import socket
import statistics
import struct
import tempfile
import threading
import time
from collections.abc import Callable
from multiprocessing.connection import Connection
from pathlib import Path

from paho.mqtt.client import Client, MQTTMessage
from paho.mqtt.enums import CallbackAPIVersion

from hub.broker.address import BrokerAddress
from hub.database import migrate, open_engine
from hub.energy import EnergyService
from hub.events.bus import EventBus
from hub.fleet.clock import ClockExchanges
from hub.fleet.lifeline import Lifeline
from hub.fleet.loop import FleetLoop
from hub.fleet.rebirth import Rebirth
from hub.fleet.roster import Roster
from hub.fleet.views import NodeViews
from hub.health.service import HealthService
from hub.history import HistoryService
from hub.link.link import Link
from hub.load import LoadService
from schemas import Leaf, Presence, Venue, node_topic, venue_subscription
from tests.bench.line import print_line
from tests.brokers import HUB_USER, hub_account
from tests.nats_broker import NatsServer
from tests.processes import wait_until

VENUE = "bench"
NODES = 500
MESSAGES = 60_000  # 31 MB: within what the broker holds for a subscriber that is slower than the sender
ROUNDS = 3
TARGET_RATIO = 0.5
DEADLINE_S = 60.0
BOOT_ID = "0123456789abcdef"


class Place:
    """What every process must know of the broker."""

    def __init__(self, host: str, port: int, secret: str) -> None:
        self.host = host
        self.port = port
        self.secret = secret


def run_bare(place: Place, parent: Connection) -> None:
    """A subscriber that counts."""
    heard = 0
    done = threading.Event()

    def count(_client: Client, _userdata: object, _message: MQTTMessage) -> None:
        nonlocal heard
        heard += 1
        if heard >= MESSAGES:
            done.set()

    ready = threading.Event()
    client = Client(CallbackAPIVersion.VERSION2)
    client.username_pw_set(HUB_USER, place.secret)
    client.on_message = count
    client.on_subscribe = lambda *_: ready.set()
    client.connect(place.host, place.port)
    client.loop_start()
    client.subscribe(venue_subscription(VENUE, Leaf.TELEMETRY), 0)
    assert ready.wait(10)
    parent.send("ready")
    started_s = parent.recv()
    done.wait(DEADLINE_S)
    parent.send(heard / (time.time() - started_s))
    client.disconnect()
    client.loop_stop()


def run_hub(place: Place, parent: Connection) -> None:
    """The hub's link, fleet loop and every listener that telemetry passes, with SQLite on disk."""
    with tempfile.TemporaryDirectory() as folder:
        engine = open_engine(f"sqlite:///{Path(folder) / 'hub.sqlite3'}")
        migrate(engine)
        loop, events = FleetLoop(), EventBus()
        roster, telemetry = Roster(loop), HistoryService(engine, loop.state, 5.0)
        energy, load = EnergyService(engine, loop.state), LoadService(engine, loop.state, 5.0)
        health = HealthService(
            engine, loop, events, telemetry_interval_s=5.0, desired_revision=lambda _venue, _node: None
        )
        address = BrokerAddress(place.host, place.port, encrypted=False, user=HUB_USER, secret=place.secret)
        link = Link(address, loop.inbox, loop.link_changed)
        loop.attach(link)
        views = NodeViews(loop, roster, events, lambda _venue, _node: None)
        clocks = ClockExchanges(loop)
        loop.add_listener(Rebirth(loop), (Leaf.PRESENCE,))
        loop.add_listener(clocks)
        loop.add_listener(Lifeline(loop, 5.0), ())
        loop.add_listener(telemetry, (Leaf.TELEMETRY,))
        loop.add_listener(energy, (Leaf.PRESENCE,))
        loop.add_listener(load, ())
        loop.add_listener(health, (Leaf.TELEMETRY,))
        loop.add_listener(views)
        venue = bench_venue()
        for part in (roster, health, energy, load, telemetry):
            part.venue_changed(venue)
        for storing in (telemetry, energy, load):
            storing.start()
        loop.start()
        link.start()
        parent.send("ready")
        wait_until(lambda: all(node.online for node in list(loop.state.nodes.values())), 30, "every node's birth")
        parent.send("online")
        # What follows a fleet's birth is over before the flood begins: nobody is born while it lasts.
        wait_until(lambda: not any(one.burst_left for one in list(clocks._exchanges.values())), 30, "the clock bursts")
        parent.send("born")
        started_s = parent.recv()
        end_s = time.monotonic() + DEADLINE_S

        def ended() -> bool:
            seen = telemetry.stored + telemetry.dropped + loop.inbox.dropped
            return seen + telemetry.waiting >= MESSAGES or time.monotonic() > end_s

        while not ended():
            time.sleep(0.02)
        telemetry.stop()
        parent.send(telemetry.stored / (time.time() - started_s))
        link.stop()
        loop.stop()
        energy.stop()
        load.stop()
        engine.dispose()


def bench_venue() -> Venue:
    """Each node with one run on a supply of its own."""
    run = {"pixel_type": "rgb-5v-nrz800", "pixels": 100, "pixels_per_m": 60.0}
    nodes = [
        {
            "id": f"node-{number}",
            "outputs": 1,
            "channels": [
                {
                    "number": 1,
                    "pin": "spidev0.0",
                    "run": run | {"feeds": [{"supply": f"psu-{number}", "wire_mm2": 1.0, "length_m": 1.0}]},
                }
            ],
        }
        for number in range(NODES)
    ]
    supplies = [{"id": f"psu-{number}", "volts": 5.0, "rated_a": 10.0} for number in range(NODES)]
    words = {"id": VENUE, "title": "Bench", "nodes": nodes, "supplies": supplies}
    return Venue.model_validate_json(json.dumps(words))


def telemetry_payload(node: int, round_number: int) -> bytes:
    """What an agent with one channel says; amps move, so that peaks rise now and then."""
    amps = 1.0 + (node * 7 + round_number * 13) % 100 / 50
    words = {
        "schema_version": 1,
        "boot_id": BOOT_ID,
        "session": 1,
        "sequence": round_number % 256,
        "uptime_s": 1000.0 + round_number,
        "revision": 1,
        "frame_rate_hz": 59.98,
        "frame_rate_target_hz": 60.0,
        "late_frames": 0,
        "frames": 60_000 + round_number * 300,
        "render_ms": 0.412,
        "supplies": [
            {
                "supply": f"psu-{node}",
                "amps": amps,
                "highest_a": amps + 0.1,
                "limiter_scale": 1.0,
                "wanted_a": 2.0,
                "charge_ah": round(1e-5 * round_number, 6),
            }
        ],
        "temperature_c": 41.5,
        "clock_offset_ms": 0.123,
        "clock_dispersion_ms": 0.456,
        "rejected_messages": 0,
    }
    return json.dumps(words, separators=(",", ":")).encode()


def publish_packet(topic: str, payload: bytes) -> bytes:
    """A PUBLISH at QoS 0 (MQTT 3.1.1, section 3.3)."""
    body = struct.pack("!H", len(topic)) + topic.encode() + payload
    return b"\x30" + _length(len(body)) + body


def connect(place: Place) -> socket.socket:
    """A connection with the hub's rights and nothing but our bytes on it: the sender is not what is measured."""
    fields = [b"ingest-sender", HUB_USER.encode(), place.secret.encode()]
    body = b"\x00\x04MQTT\x04\xc2\x00\x00" + b"".join(struct.pack("!H", len(part)) + part for part in fields)
    sender = socket.create_connection((place.host, place.port), 10)
    sender.sendall(b"\x10" + _length(len(body)) + body)
    assert sender.recv(4) == b"\x20\x02\x00\x00"
    return sender


def _length(value: int) -> bytes:
    encoded = bytearray()
    while True:
        value, digit = divmod(value, 128)
        encoded.append(digit | (0x80 if value else 0))
        if not value:
            return bytes(encoded)


def measure(subject: Callable[[Place, Connection], None], place: Place, flood: bytes) -> float:
    """Messages a second that a subject got through."""
    context = multiprocessing.get_context("spawn")
    ours, theirs = context.Pipe()
    process = context.Process(target=subject, args=(place, theirs))
    process.start()
    theirs.close()  # a subject that fails is then the end of the file, not an endless wait
    try:
        assert ours.recv() == "ready"
        with connect(place) as sender:
            if subject is run_hub:
                birth = Presence(state="online", boot_id=BOOT_ID, session=1, agent_version="0.1.0").model_dump_json()
                births = [
                    publish_packet(node_topic(VENUE, f"node-{n}", Leaf.PRESENCE), birth.encode()) for n in range(NODES)
                ]
                while not ours.poll(0.5):
                    sender.sendall(b"".join(births))
                assert ours.recv() == "online"
                assert ours.recv() == "born"
            ours.send(time.time())
            sender.sendall(flood)
            rate: float = ours.recv()
        return rate
    finally:
        process.join(20)
        if process.is_alive():
            process.kill()


def main() -> None:
    packets = [
        publish_packet(node_topic(VENUE, f"node-{node}", Leaf.TELEMETRY), telemetry_payload(node, round_number))
        for round_number in range(MESSAGES // NODES)
        for node in range(NODES)
    ]
    flood = b"".join(packets)
    with tempfile.TemporaryDirectory() as folder:
        account = hub_account()
        broker = NatsServer(Path(folder), [account])
        broker.start()
        try:
            place = Place(broker.host, broker.port, account.secret)
            bare, hub = [], []
            for _ in range(ROUNDS):
                bare.append(measure(run_bare, place, flood))
                hub.append(measure(run_hub, place, flood))
        finally:
            broker.stop()
    baseline, value = statistics.median(bare), statistics.median(hub)
    print_line(
        bench="ingest",
        figure="telemetry decoded, validated, evaluated and stored",
        unit="messages/s",
        value=value,
        baseline=baseline,
        baseline_is="bare paho subscriber that counts, same broker, same run",
        target=TARGET_RATIO * baseline,
        at_most=False,
    )


if __name__ == "__main__":
    main()
