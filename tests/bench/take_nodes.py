"""The fleet of `tests.bench.take`, in a process of its own: nodes that are MQTT clients and nothing else.

Each is born, answers an ask for rebirth, reports a document staged, and, from the show time of a take, showing. One
line of JSON on standard output when all are connected, and one for each revision when every node has its take.
"""

import argparse
import asyncio
import json
import os
import sys
import time

from schemas import Leaf, node_topic, take_topic
from tests.bench.wire import BareClient

BOOT = "0123456789abcdef"
CONNECT_AT_ONCE = 100


class Fleet:
    """Every node, and when each revision's take came to the first and to the last."""

    def __init__(self, venue: str, nodes: int) -> None:
        self.venue = venue
        self.names = [f"node-{number:04d}" for number in range(nodes)]
        self._came: dict[int, list[float]] = {}

    def take_came(self, revision: int) -> None:
        came = self._came.setdefault(revision, [])
        came.append(time.time())
        if len(came) == len(self.names):
            _say({"revision": revision, "first_s": came[0], "last_s": came[-1]})


class BareNode:
    """One node."""

    def __init__(self, fleet: Fleet, name: str, user: str, secret: str) -> None:
        self._fleet = fleet
        self._desired, self._ask, self._take = (
            node_topic(fleet.venue, name, Leaf.DESIRED),
            node_topic(fleet.venue, name, Leaf.ASK),
            take_topic(fleet.venue),
        )
        self._presence, self._reported = (
            node_topic(fleet.venue, name, leaf) for leaf in (Leaf.PRESENCE, Leaf.REPORTED)
        )
        self._staged: dict[str, object] | None = None
        self._showing: dict[str, object] | None = None
        self._taken = 0
        self.client = BareClient(f"bench-{name}", user, secret, [self._desired, self._ask, self._take])
        self.client.heard = self._heard

    async def connect(self, port: int) -> None:
        await asyncio.get_running_loop().create_connection(lambda: self.client, "127.0.0.1", port)
        await self.client.ready

    def born(self) -> None:
        words = {"state": "online", "boot_id": BOOT, "session": 1, "agent_version": "1"}
        self.client.publish(self._presence, json.dumps(words).encode(), retain=True)
        self._report()

    def _heard(self, topic: str, payload: bytes) -> None:
        if topic == self._take:
            self._take_heard(json.loads(payload))
        elif topic == self._ask:
            if b'"rebirth"' in payload:
                self.born()
        elif payload:
            document = json.loads(payload)
            held = {"revision": document["revision"], "sha256": document["sha256"]}
            if held not in (self._staged, self._showing):
                self._staged = held
                self._report()

    def _take_heard(self, take: dict[str, int]) -> None:
        revision = take["revision"]
        if revision == self._taken or self._staged is None or self._staged["revision"] != revision:
            return
        self._taken = revision
        self._fleet.take_came(revision)
        asyncio.get_running_loop().call_later(max(0.0, take["at_ms"] / 1_000 - time.time()), self._show, self._staged)

    def _show(self, held: dict[str, object]) -> None:
        self._showing = held
        if self._staged == held:
            self._staged = None
        self._report()

    def _report(self) -> None:
        words = {"boot_id": BOOT, "session": 1, "staged": self._staged, "showing": self._showing}
        self.client.publish(self._reported, json.dumps(words).encode(), retain=True)


async def _run(port: int, user: str, venue: str, count: int) -> None:
    secret = os.environ["BENCH_SECRET"]
    fleet = Fleet(venue, count)
    nodes = [BareNode(fleet, name, user, secret) for name in fleet.names]
    for start in range(0, count, CONNECT_AT_ONCE):
        batch = nodes[start : start + CONNECT_AT_ONCE]
        await asyncio.gather(*(node.connect(port) for node in batch))
    for node in nodes:
        node.born()
    await asyncio.gather(*(node.client.all_acknowledged() for node in nodes))
    _say({"connected": count})
    # Until the benchmark closes our standard input.
    await asyncio.to_thread(sys.stdin.read)
    for node in nodes:
        node.client.close()


def _say(words: dict[str, object]) -> None:
    print(json.dumps(words), flush=True)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--port", type=int, required=True)
    parser.add_argument("--user", required=True)
    parser.add_argument("--venue", required=True)
    parser.add_argument("--nodes", type=int, required=True)
    arguments = parser.parse_args()
    asyncio.run(_run(arguments.port, arguments.user, arguments.venue, arguments.nodes))


if __name__ == "__main__":
    main()
