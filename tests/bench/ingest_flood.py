"""Telemetry of a fleet as packets, and a connection that carries nothing else: the sender is not what is measured."""

import json
import socket
import struct
from typing import NamedTuple

from schemas import Leaf, Telemetry, Venue, node_topic
from schemas.messages import BoardFigures, SupplyTelemetry
from tests.bench.take_nodes import BOOT
from tests.brokers import HUB_USER

VENUE = "bench"
NODES = 500
SEQUENCES = 256


class Place(NamedTuple):
    """What every process must know of the broker."""

    host: str
    port: int
    secret: str


def node_name(number: int) -> str:
    return f"node-{number:04d}"


def venue_of() -> Venue:
    """Each node with one run on a supply of its own, and a scene over all of them."""
    names = [node_name(number) for number in range(NODES)]
    run = {"pixel_type": "rgb-5v-nrz800", "pixels": 100, "pixels_per_m": 60.0}
    feed = {"wire_mm2": 1.0, "length_m": 1.0}
    channel = {"number": 1, "pin": "spidev0.0"}
    nodes = [
        {"id": name, "outputs": 1, "channels": [channel | {"run": run | {"feeds": [feed | {"supply": f"psu-{name}"}]}}]}
        for name in names
    ]
    words = {
        "id": VENUE,
        "title": "Made for a benchmark",
        "nodes": nodes,
        "supplies": [{"id": f"psu-{name}", "volts": 5.0, "rated_a": 10.0} for name in names],
        "zones": [
            {
                "id": "band",
                "spans": [
                    {
                        "node": name,
                        "channel": 1,
                        "pixels": 100,
                        "path": [[number * 1.8, 3.0], [number * 1.8 + 1.6, 3.0]],
                    }
                    for number, name in enumerate(names)
                ],
            }
        ],
        "scenes": [
            {
                "id": "evening",
                "title": "Evening",
                "layers": [{"zone": "band", "pattern": {"pattern": "wash", "colour": "#d08038"}}],
            }
        ],
        "opening_scene": "evening",
    }
    return Venue.model_validate_json(json.dumps(words))


class Fleet:
    """What an agent with one channel says, in its own words, for each node; rounds may follow one another for ever."""

    def __init__(self) -> None:
        names = [node_name(number) for number in range(NODES)]
        self._nodes = [(node_topic(VENUE, name, Leaf.TELEMETRY), _template(name)) for name in names]

    def rounds(self, first: int, count: int) -> bytes:
        """Packets of every node's messages; amps move, so that peaks rise now and then."""
        return b"".join(
            publish_packet(topic, self._payload(template, node, number))
            for number in range(first, first + count)
            for node, (topic, template) in enumerate(self._nodes)
        )

    def _payload(self, template: str, node: int, number: int) -> bytes:
        amps = 1.0 + (node * 7 + number * 13) % 100 / 50
        words = template % (
            number % SEQUENCES,
            uptime_s(number),
            60_000 + 300 * number,
            amps,
            amps + 0.1,
            1e-5 * number,
        )
        return words.encode()


def uptime_s(round_number: int) -> float:
    return 1_000.0 + round_number


def _template(name: str) -> str:
    """A message with places for sequence, uptime, frames, amps, highest amps and charge."""
    telemetry = Telemetry(
        boot_id=BOOT, session=1, sequence=0, uptime_s=1_000.0, revision=1, frame_rate_hz=59.98,
        frame_rate_target_hz=60.0, late_frames=0, frames=60_000, render_ms=0.412, temperature_c=41.5,
        supplies=(
            SupplyTelemetry(
                supply=f"psu-{name}", amps=1.0, highest_a=1.1, limiter_scale=1.0, wanted_a=2.0, charge_ah=0.0
            ),
        ),
        clock_offset_ms=0.123456789, clock_dispersion_ms=0.456789012, clock_drift_ppm=3.14159265, clock_source="hub",
        wall_clock_disciplined=True,
        board=BoardFigures(
            starts=12, start_cause="power", processor_share=0.231, memory_free_share=0.712, disk_free_share=0.64,
            disk_worn_share=0.1, disk_read_only=False, under_voltage=False, throttled=False, link="wireless",
            signal_dbm=-58.0, link_mbit_per_s=72.2, reconnects=1,
        ),
    )  # fmt: skip
    text = telemetry.model_dump_json()
    for figure, place in {
        '"sequence":0': '"sequence":%d',
        '"uptime_s":1000.0': '"uptime_s":%.1f',
        '"frames":60000': '"frames":%d',
        '"amps":1.0': '"amps":%.2f',
        '"highest_a":1.1': '"highest_a":%.2f',
        '"charge_ah":0.0': '"charge_ah":%.6f',
    }.items():
        assert text.count(figure) == 1, figure
        text = text.replace(figure, place)
    return text


def publish_packet(topic: str, payload: bytes, *, retain: bool = False) -> bytes:
    """A PUBLISH at QoS 0 (MQTT 3.1.1, section 3.3)."""
    name = topic.encode()
    body = struct.pack("!H", len(name)) + name + payload
    return (b"\x31" if retain else b"\x30") + _length(len(body)) + body


def connect(place: Place) -> socket.socket:
    """A connection with the hub's rights and nothing but our bytes on it."""
    fields = [b"ingest-sender", HUB_USER.encode(), place.secret.encode()]
    body = b"\x00\x04MQTT\x04\xc2\x00\x00" + b"".join(struct.pack("!H", len(part)) + part for part in fields)
    sender = socket.create_connection((place.host, place.port), 10)
    sender.settimeout(120)
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
