"""A broker in simulated time between the boards and the hub's real fleet loop: late, lossy, restarted.

What a broker does is kept to MQTT 3.1.1: it keeps the newest retained payload of each topic over a restart, hands them
out as retained to who subscribes, and publishes a board's will when its connection breaks, when it has heard nothing
for 1.5 times the keepalive, or when another connects under the same name, who takes the connection over. A will is the
broker's own word: nothing orders it with what boards say.
"""

import random
from collections.abc import Callable, Iterable
from dataclasses import dataclass

from hub.fleet.inbox import Message
from schemas import Leaf, node_topic
from tests.fleet.agenda import Agenda
from tests.fleet.venue import VENUE

LATENCY_S = (0.005, 0.06)
KEEPALIVE_S = 10.0
DOWN_S = 5.0
HUB_BACK_S = (0.2, 0.6)


@dataclass(frozen=True)
class Connection:
    """A board's. It hears what is asked of it, and is thrown out by who comes after it."""

    topic: str
    will: bytes
    asked: Callable[[bytes], None]
    thrown_out: Callable[[], None]


class SimulatedBroker:
    """The publisher of the hub's loop. `deliver` is where the hub hears."""

    def __init__(self, agenda: Agenda, chance: random.Random, loss_share: float) -> None:
        self.up = True
        self.deliver: Callable[[Message], None] = lambda _message: None
        self.link_changed: Callable[[bool], None] = lambda _connected: None
        self.sent = self.lost = 0
        self._agenda = agenda
        self._chance = chance
        self._loss_share = loss_share
        self._connections: dict[str, Connection] = {}
        self._retained: dict[str, bytes] = {}
        self._last_at_s: dict[str, float] = {}
        self._hub_connected = False

    def connect_hub(self) -> None:
        self._hub_connected = True
        self.link_changed(True)
        for topic, payload in self._retained.items():
            self._hand_over(topic, payload, retained=True, loss_share=self._loss_share)

    def connect(self, node: str, connection: Connection) -> None:
        before = self._connections.pop(node, None)
        self._connections[node] = connection
        if before is not None:
            self._publish_will(before)
            before.thrown_out()

    def lose(self, node: str, connection: Connection) -> None:
        """The broker sees that this connection is no more, if it has not seen it yet."""
        if self._connections.get(node) is connection:
            del self._connections[node]
            self._publish_will(connection)

    def hear(self, topic: str, payload: bytes, *, retain: bool, loss_share: float | None = None) -> None:
        """A board publishes; the hub hears it a little later, or never."""
        if not self.up:
            return
        if retain:
            self._retained[topic] = payload
        if self._hub_connected:
            self._hand_over(topic, payload, retained=False, loss_share=loss_share or self._loss_share)

    def publish(self, topic: str, payload: bytes, *, retain: bool) -> None:
        """The hub publishes, a board hears it."""
        node = topic.split("/")[4]
        connection = self._connections.get(node)
        if not retain and self.up and connection is not None and topic == node_topic(VENUE, node, Leaf.ASK):
            if self._chance.random() < self._loss_share:
                self.lost += 1
                return
            self._agenda.after(self._chance.uniform(*LATENCY_S), lambda: connection.asked(payload))

    def watch(self, venues: Iterable[str]) -> None:
        pass

    def restart(self) -> None:
        """Gone for `DOWN_S`, with whatever was on its way, and no word of anybody's end; then the hub comes back."""
        self.up = self._hub_connected = False
        connections, self._connections = self._connections, {}
        for connection in connections.values():
            connection.thrown_out()
        self.link_changed(False)
        self._agenda.after(DOWN_S, self._come_back)

    def _come_back(self) -> None:
        self.up = True
        self._agenda.after(self._chance.uniform(*HUB_BACK_S), self.connect_hub)

    def _publish_will(self, connection: Connection) -> None:
        self._retained[connection.topic] = connection.will
        if self._hub_connected:
            self._hand_over(connection.topic, connection.will, retained=False, loss_share=self._loss_share, own=True)

    def _hand_over(self, topic: str, payload: bytes, *, retained: bool, loss_share: float, own: bool = False) -> None:
        self.sent += 1
        if self._chance.random() < loss_share:
            self.lost += 1
            return

        def arrive() -> None:
            if self._hub_connected:
                self.deliver(Message(topic, payload, retained, self._agenda.now_s))

        # What one client publishes on one topic stays in order (3.1.1, section 4.6).
        at_s = self._agenda.now_s + self._chance.uniform(*LATENCY_S)
        if not own:
            self._last_at_s[topic] = at_s = max(self._last_at_s.get(topic, 0.0), at_s)
        self._agenda.at(at_s, arrive)
