"""The example files for a broker of the user's own, put before a real Mosquitto."""

import re
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from schemas import Leaf, node_topic, take_topic
from schemas.bounds import MAX_DESIRED_BYTES
from tests.brokers import Account, Mosquitto, hub_account, node_account, write_mosquitto_configuration
from tests.mqtt_peer import Peer
from tests.processes import RealProcess, answers, wait_until

FILES = Path(__file__).parent.parent.parent / "deploy" / "mosquitto"
VENUE, NODE = "shop", "window-board"
OTHER = "till-board"


class ExampleBroker(Mosquitto):
    """Mosquitto with the example configuration and access file; only its folder and port are put in their place."""

    def start(self) -> None:
        write_mosquitto_configuration(self._folder, self._folder, self.host, self.port, self.accounts.values())
        shutil.copy(FILES / "access", self._folder / "access")
        text = (FILES / "mosquitto.conf").read_text(encoding="utf-8")
        text = text.replace("/etc/mosquitto/stringcourse-passwords", str(self._folder / "passwords"))
        text = text.replace("/etc/mosquitto/stringcourse-access", str(self._folder / "access"))
        text = text.replace("/var/lib/mosquitto/", f"{self._folder}/")
        text = text.replace("listener 1883 127.0.0.1", f"listener {self.port} {self.host}")
        (self._folder / "mosquitto.conf").write_text(f"{text}\nuser root\n")
        assert self._program is not None
        process = RealProcess([self._program, "-c", self._folder / "mosquitto.conf"], self._folder / "mosquitto.log")
        self._process = process

        def listens() -> bool:
            assert process.exit_code is None, process.output()
            return answers(self.host, self.port)

        wait_until(listens, 10, "the broker to listen")


@pytest.fixture
def example_broker(tmp_path: Path) -> Iterator[ExampleBroker]:
    # Both nodes have secrets; only the one that the access file names has rights.
    accounts: list[Account] = [hub_account(), node_account(VENUE, NODE), node_account(VENUE, OTHER)]
    broker = ExampleBroker(tmp_path, accounts)
    broker.start()
    try:
        yield broker
    finally:
        broker.stop()


def test_access_file_grants_a_node_exactly_its_own_topics() -> None:
    text = (FILES / "access").read_text(encoding="utf-8")
    granted = re.findall(r"^topic (read|write) (\S+)$", text.split(f"user {VENUE}.{NODE}")[1], re.MULTILINE)
    account = node_account(VENUE, NODE)
    assert sorted(granted) == sorted([
        *(("read", topic) for topic in account.reads),
        *(("write", topic) for topic in account.writes),
    ])  # fmt: skip


def test_configuration_lets_the_largest_desired_state_through() -> None:
    text = (FILES / "mosquitto.conf").read_text(encoding="utf-8")
    limit = re.search(r"^message_size_limit (\d+)$", text, re.MULTILINE)
    assert limit is not None
    assert int(limit[1]) >= MAX_DESIRED_BYTES


def test_example_broker_carries_a_desired_state_and_a_take(example_broker: ExampleBroker) -> None:
    desired, take = node_topic(VENUE, NODE, Leaf.DESIRED), take_topic(VENUE)
    with Peer(example_broker) as hub, Peer(example_broker, f"{VENUE}.{NODE}") as node:
        node.subscribe(desired)
        node.subscribe(take)
        hub.publish(desired, b"x" * MAX_DESIRED_BYTES)
        hub.publish(take, b"now")
        wait_until(lambda: node.last(desired) is not None and node.last(take) is not None, 10)


def test_example_broker_drops_what_a_node_may_not_write(example_broker: ExampleBroker) -> None:
    own = node_topic(VENUE, NODE, Leaf.REPORTED)
    forbidden = [
        node_topic(VENUE, OTHER, Leaf.REPORTED),
        node_topic(VENUE, NODE, Leaf.DESIRED),
        node_topic("arcade", NODE, Leaf.REPORTED),
        take_topic(VENUE),
    ]
    with Peer(example_broker) as hub, Peer(example_broker, f"{VENUE}.{NODE}") as node:
        hub.subscribe("stringcourse/v1/#")
        for topic in forbidden:
            node.publish(topic, b"forged")
        node.publish(own, b"true")
        wait_until(lambda: hub.last(own), 10)
        assert [hub.last(topic) for topic in forbidden] == [None] * len(forbidden)
