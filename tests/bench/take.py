"""A scene staged on a whole fleet and taken: the hub's own code, against a bare client doing the same exchange.

The nodes are bare MQTT clients in one process, the broker is the embedded one, documents are of one size. Staged: from
the call to the last node's report in the hub's hands, preparing and saving included. Take: from the first node that has
it to the last. Loopback only; ends by itself.
"""

import argparse
import json
import resource
import statistics
import tempfile
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from paho.mqtt.client import Client, MQTTMessage
from paho.mqtt.enums import CallbackAPIVersion

from hub.broker.address import BrokerAddress
from hub.database import migrate, open_engine
from hub.desired import Choices, Chosen, compile_documents, desired_payload
from hub.events.bus import EventBus
from hub.fleet.loop import FleetLoop
from hub.fleet.rebirth import Rebirth
from hub.inventory.service import InventoryService
from hub.link.link import MAX_IN_FLIGHT, MAX_QUEUED, Link
from hub.rollout import RolloutService
from hub.rollout.flash_guard import FlashFound
from hub.rollout.models import RolloutState
from schemas import Leaf, Scene, Take, Venue, node_topic, take_topic, venue_subscription
from tests.bench.line import print_line
from tests.bench.telling_process import TellingProcess
from tests.brokers import HUB_USER, hub_account
from tests.nats_broker import NatsServer
from tests.processes import wait_until

VENUE = "bench"
MOST_NODES = 5_000
ROUNDS = 5
DEADLINE_S = 120.0
BARE_MARGIN_S = 1.5
NODES_A_ZONE = 10


def venue_of(nodes: int) -> Venue:
    """Boards side by side, two runs of 60 pixels each; two scenes over the whole band and over tens of boards."""
    names = [f"node-{number:04d}" for number in range(nodes)]
    groups = [names[start : start + NODES_A_ZONE] for start in range(0, nodes, NODES_A_ZONE)]
    place = {name: number for number, name in enumerate(names)}
    wave = {"pattern": "wave", "crest": "#d08038", "trough": "#401408", "wavelength_m": 9.0, "speed_m_per_s": 0.5}
    twinkle = {"pattern": "twinkle", "colour": "#ffe0b0", "share": 0.2, "period_s": 2.0, "seed": 7}
    layers = [{"zone": "band", "pattern": wave}, {"zone": "band", "opacity": 0.5, "pattern": twinkle}]
    document = {
        "id": VENUE,
        "title": "Made for a benchmark",
        "supplies": [{"id": f"psu-{name}", "volts": 5.0, "rated_a": 8.0} for name in names],
        "nodes": [
            {"id": name, "outputs": 2, "channels": [_channel(name, number) for number in (1, 2)]} for name in names
        ],
        "zones": [
            *(
                {
                    "id": f"tens-{number}",
                    "spans": [_span(name, place[name], channel) for name in group for channel in (1, 2)],
                }
                for number, group in enumerate(groups)
            ),
            {"id": "band", "of": [f"tens-{number}" for number in range(len(groups))]},
        ],
        "scenes": [{"id": name, "title": name, "layers": layers} for name in ("first", "second")],
        "opening_scene": "first",
    }
    return Venue.model_validate_json(json.dumps(document))


def _channel(name: str, number: int) -> dict[str, Any]:
    feed = {"supply": f"psu-{name}", "wire_mm2": 1.5, "length_m": 1.0}
    run = {"pixel_type": "rgb-5v-nrz800", "pixels": 60, "pixels_per_m": 60.0, "feeds": [feed]}
    return {"number": number, "pin": f"spidev{number - 1}.0", "run": run}


def _span(name: str, place: int, channel: int) -> dict[str, Any]:
    left = (2.0 * place + channel) % 5_000
    return {"node": name, "channel": channel, "pixels": 60, "path": [[left, 3.0], [left + 1.0, 3.0]]}


class NodesProcess(TellingProcess):
    """`tests.bench.take_nodes`: what it says, line by line."""

    def __init__(self, broker: NatsServer, nodes: int) -> None:
        arguments = ["--port", str(broker.port), "--user", HUB_USER, "--venue", VENUE, "--nodes", str(nodes)]
        super().__init__("tests.bench.take_nodes", arguments, {"BENCH_SECRET": broker.accounts[HUB_USER].secret})

    def said(self, key: str, value: int) -> dict[str, Any]:
        """The line in which `key` is `value`; lines before it are dropped."""
        while (line := self.line(DEADLINE_S)).get(key) != value:
            pass
        return line


def bare_exchange(broker: NatsServer, venue: Venue, revision: int) -> float:
    """Stage and take with a bare paho client, set up as the hub's is; seconds until the last node's report."""
    documents = {
        node: desired_payload(VENUE, node, revision, compiled, None)
        for node, compiled in compile_documents(venue, Choices(Chosen("first")), 5.0).items()
    }
    staged: set[str] = set()
    subscribed, everyone = threading.Event(), threading.Event()

    def heard(_client: Client, _userdata: object, message: MQTTMessage) -> None:
        held = json.loads(message.payload)["staged"]
        if held is not None and held["revision"] == revision:
            staged.add(message.topic)
            if len(staged) == len(documents):
                everyone.set()

    client = Client(CallbackAPIVersion.VERSION2)
    client.max_inflight_messages_set(MAX_IN_FLIGHT)
    client.max_queued_messages_set(MAX_QUEUED)
    client.username_pw_set(HUB_USER, broker.accounts[HUB_USER].secret)
    client.on_message = heard
    client.on_subscribe = lambda *_: subscribed.set()
    client.connect(broker.host, broker.port)
    client.loop_start()
    wait_until(client.is_connected, DEADLINE_S, "the bare client's connection")
    client.subscribe(venue_subscription(VENUE, Leaf.REPORTED), 0)
    assert subscribed.wait(DEADLINE_S)
    began_s = time.perf_counter()
    for node, document in documents.items():
        client.publish(node_topic(VENUE, node, Leaf.DESIRED), document, 1, retain=True)
    assert everyone.wait(DEADLINE_S)
    staged_s = time.perf_counter() - began_s
    take = Take(revision=revision, at_ms=round((time.time() + BARE_MARGIN_S) * 1_000))
    client.publish(take_topic(VENUE), take.model_dump_json(), 1).wait_for_publish(DEADLINE_S)
    time.sleep(BARE_MARGIN_S)
    client.disconnect()
    client.loop_stop()
    return staged_s


def no_flashes(_venue: Venue, _scene: Scene) -> FlashFound:
    """A running hub checks scenes before they are taken; what is measured here is the exchange."""
    return FlashFound(fails=False, summary="passes", slow_down=1.0)


@contextmanager
def running_hub(broker: NatsServer, venue: Venue, folder: Path) -> Iterator[RolloutService]:
    with ExitStack() as parts:
        engine = open_engine(f"sqlite:///{folder / 'hub.sqlite3'}")
        parts.callback(engine.dispose)
        migrate(engine)
        inventory = InventoryService(engine)
        inventory.load(venue)
        loop = FleetLoop()
        rollouts = RolloutService(engine, inventory, loop, EventBus(), 5.0, no_flashes)
        account = broker.accounts[HUB_USER]
        address = BrokerAddress(broker.host, broker.port, encrypted=False, user=account.username, secret=account.secret)
        link = Link(address, loop.inbox, loop.link_changed)
        loop.attach(link)
        loop.add_listener(Rebirth(loop))
        loop.add_listener(rollouts)
        loop.set_roster(VENUE, [node.id for node in venue.nodes])
        for part in (rollouts, loop, link):
            part.start()
            parts.callback(part.stop)
        wait_until(
            lambda: all(state.online and state.reported for state in loop.state.of_venue(VENUE)),
            DEADLINE_S,
            "every node to be heard by the hub",
        )
        yield rollouts


def ended(rollouts: RolloutService, revision: int) -> None:
    def over() -> bool:
        # The cheapest question there is: the hub must not be slowed down by being watched.
        return rollouts.desired_revision(VENUE, "node-0000") == revision or not rollouts.under_way(VENUE)

    wait_until(over, DEADLINE_S, f"revision {revision} to be taken")
    view = rollouts.rollout(VENUE, revision)
    assert view.state is RolloutState.TAKEN, view.reason


@dataclass(frozen=True, slots=True)
class Exchange:
    """One take: seconds until all had staged, from first node to last that had the take, and left until its time."""

    staged_s: float
    spread_s: float
    left_s: float


def opening_is_over(rollouts: RolloutService, nodes: NodesProcess) -> None:
    first = wait_until(lambda: rollouts.page(VENUE, None, 1), DEADLINE_S, "the opening scene")[0].revision
    ended(rollouts, first)
    nodes.said("revision", first)


def hub_exchange(rollouts: RolloutService, nodes: NodesProcess, scene: str) -> Exchange:
    """Take a scene through the hub, once everything about the take before is over."""
    wait_until(lambda: rollouts.idle(VENUE), DEADLINE_S, "the take before to be over")
    began_s = time.perf_counter()
    revision = rollouts.take(VENUE, scene, 0).revision
    ended(rollouts, revision)
    staged_s = time.perf_counter() - began_s
    came = nodes.said("revision", revision)
    take_at_s = (rollouts.rollout(VENUE, revision).take_at_ms or 0) / 1_000
    return Exchange(staged_s, came["last_s"] - came["first_s"], take_at_s - came["last_s"])


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--nodes", type=int, default=2_000)
    count = parser.parse_args().nodes
    if not 1 <= count <= MOST_NODES:
        parser.error(f"--nodes: 1 to {MOST_NODES}")
    soft, hard = resource.getrlimit(resource.RLIMIT_NOFILE)
    resource.setrlimit(resource.RLIMIT_NOFILE, (max(soft, min(hard, 4 * count + 1_000)), hard))
    venue = venue_of(count)
    with tempfile.TemporaryDirectory() as folder, ExitStack() as parts:
        broker = NatsServer(Path(folder) / "broker", [hub_account()])
        parts.callback(broker.stop)
        broker.start()
        nodes = NodesProcess(broker, count)
        parts.callback(nodes.stop)
        nodes.said("connected", count)
        # Each side's first take is left out: from then on documents replace documents.
        bare: list[Exchange] = []
        for revision in range(1, ROUNDS + 2):
            staged_s = bare_exchange(broker, venue, revision)
            came = nodes.said("revision", revision)
            bare.append(Exchange(staged_s, came["last_s"] - came["first_s"], 0.0))
        with running_hub(broker, venue, Path(folder)) as rollouts:
            opening_is_over(rollouts, nodes)
            hub = [hub_exchange(rollouts, nodes, ("second", "first")[number % 2]) for number in range(ROUNDS)]
    baseline_is = f"a bare paho client with the same broker and {count} nodes, documents of the same size"
    figures: dict[str, Callable[[Exchange], float]] = {
        "staged on every node": lambda exchange: exchange.staged_s,
        "take, first node to last": lambda exchange: exchange.spread_s,
    }
    for figure, seconds in figures.items():
        value, baseline = statistics.median(map(seconds, hub)), statistics.median(map(seconds, bare[1:]))
        print_line(
            bench="take", figure=figure, unit="s", value=value, baseline=baseline,
            baseline_is=f"{baseline_is}; medians of {ROUNDS}", target=1.5 * baseline,
        )  # fmt: skip
    print_line(
        bench="take", figure="time left when the last node had the take", unit="s",
        value=min(exchange.left_s for exchange in hub), baseline=0.0, baseline_is="the take's show time", target=0.0,
        at_most=False,
    )  # fmt: skip


if __name__ == "__main__":
    main()
