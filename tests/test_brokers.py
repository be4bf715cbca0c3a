"""The broker that the other tests lean on: it lets in who it should, keeps topics apart, and comes back on its port."""

import pytest

from schemas import Leaf, node_topic
from tests.brokers import Broker
from tests.conftest import NODES, VENUE
from tests.mqtt_peer import Peer
from tests.processes import wait_until

NODE = f"{VENUE}.{NODES[0]}"


def test_broker_lets_accounts_in_and_strangers_not(broker: Broker) -> None:
    with Peer(broker, NODE):
        pass
    with pytest.raises(AssertionError, match="refused"), Peer(broker, NODE, "x" * 43):
        pass


def test_node_cannot_write_the_topics_of_another(broker: Broker) -> None:
    own, other = (node_topic(VENUE, node, Leaf.PRESENCE) for node in NODES)
    with Peer(broker) as hub, Peer(broker, NODE) as node:
        hub.subscribe("#")
        node.publish(other, b"forged")
        node.publish(own, b"true")
        wait_until(lambda: hub.last(own), 5)
        assert hub.last(other) is None


def test_killed_broker_comes_back_on_the_same_port(broker: Broker) -> None:
    url = broker.url
    broker.kill()
    broker.start()
    assert broker.url == url
    with Peer(broker, NODE):
        pass
