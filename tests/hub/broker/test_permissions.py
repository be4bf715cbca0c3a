"""A node's credential opens its own topics and the take, on each broker that the product stands on; nothing else."""

import socket

import pytest
from paho.mqtt.client import Client
from paho.mqtt.enums import CallbackAPIVersion

from schemas import Leaf, node_topic, take_topic, venue_subscription
from schemas.topics import FROM_NODE, TO_NODE
from tests.brokers import Broker
from tests.conftest import NODES, VENUE
from tests.mqtt_peer import Peer
from tests.processes import wait_until

MINE, OTHER = NODES
ME = f"{VENUE}.{MINE}"
FORBIDDEN_TO_WRITE = [
    *(node_topic(VENUE, OTHER, leaf) for leaf in Leaf),
    *(node_topic(VENUE, MINE, leaf) for leaf in TO_NODE),
    node_topic("other-venue", MINE, Leaf.REPORTED),
    take_topic(VENUE),
    "stringcourse/v1/anything",
    "$MQTT/sess/x",
]
FORBIDDEN_TO_READ = [
    *(node_topic(VENUE, OTHER, leaf) for leaf in Leaf),
    *(venue_subscription(VENUE, leaf) for leaf in Leaf),
    take_topic("other-venue"),
    "stringcourse/#",
    "#",
]


def test_node_writes_its_own_topics(each_broker: Broker) -> None:
    with Peer(each_broker) as hub, Peer(each_broker, ME) as node:
        hub.subscribe("stringcourse/#")
        for leaf in FROM_NODE:
            node.publish(node_topic(VENUE, MINE, leaf), f"my {leaf}")
        wait_until(lambda: len(hub.messages) == len(FROM_NODE), 5, "every leaf of the node")


@pytest.mark.parametrize("retain", [False, True], ids=["plain", "retained"])
def test_node_cannot_write_elsewhere(each_broker: Broker, retain: bool) -> None:
    with Peer(each_broker) as hub, Peer(each_broker, ME) as node:
        hub.subscribe("#")
        for topic in FORBIDDEN_TO_WRITE:
            # Section 3.3.5: a broker may take and drop what is not authorised, so nothing tells but what arrives.
            for qos in (0, 1):
                node.publish(topic, "hostile", retain=retain, qos=qos)
        node.publish(node_topic(VENUE, MINE, Leaf.ANSWER), "last")
        wait_until(lambda: hub.heard(node_topic(VENUE, MINE, Leaf.ANSWER)), 5, "the node's own, sent last")
        assert [message.topic for message in hub.messages] == [node_topic(VENUE, MINE, Leaf.ANSWER)]
    with Peer(each_broker) as late:
        late.subscribe("#")
        late.publish("stringcourse/v1/mark", "mark")
        wait_until(lambda: late.heard("stringcourse/v1/mark"), 5, "the mark behind all retained messages")
        assert [message.topic for message in late.messages] == ["stringcourse/v1/mark"]


def test_node_cannot_read_elsewhere_not_even_what_is_retained(each_broker: Broker) -> None:
    with Peer(each_broker) as hub:
        for leaf in Leaf:
            hub.publish(node_topic(VENUE, OTHER, leaf), "secret", retain=True)
        with Peer(each_broker, ME) as node:
            node.subscribe(node_topic(VENUE, MINE, Leaf.ASK))
            for topic in FORBIDDEN_TO_READ:
                node.subscribe(topic)
            for leaf in Leaf:
                hub.publish(node_topic(VENUE, OTHER, leaf), "secret", retain=True)
            hub.publish(node_topic(VENUE, MINE, Leaf.ASK), "mine")
            wait_until(lambda: node.heard(node_topic(VENUE, MINE, Leaf.ASK)), 5, "the node's own, sent last")
            assert {message.topic for message in node.messages} == {node_topic(VENUE, MINE, Leaf.ASK)}


def die_with_will(broker: Broker, topic: str) -> None:
    """Connect with a will on `topic`, and lose the connection without a word. Being refused is fine too."""
    client = Client(CallbackAPIVersion.VERSION2, reconnect_on_failure=False)
    client.username_pw_set(ME, broker.accounts[ME].secret)
    client.will_set(topic, "dead", 1, retain=True)
    answered: list[str] = []
    client.on_connect = lambda *arguments: answered.append(str(arguments[3]))
    client.connect(broker.host, broker.port)
    client.loop_start()
    wait_until(lambda: answered, 5, "the broker's answer")
    sock = client.socket()
    if sock is not None:
        socket.socket.shutdown(sock, socket.SHUT_RDWR)  # type: ignore[arg-type]  # paho types it too narrowly
    client.loop_stop()


def test_node_cannot_leave_its_will_on_anothers_topic(each_broker: Broker) -> None:
    victim, own = node_topic(VENUE, OTHER, Leaf.PRESENCE), node_topic(VENUE, MINE, Leaf.PRESENCE)
    with Peer(each_broker) as hub:
        hub.subscribe("#")
        die_with_will(each_broker, victim)
        die_with_will(each_broker, own)
        wait_until(lambda: hub.heard(own), 5, "the will that is allowed, left after the one that is not")
        assert not hub.heard(victim)


@pytest.mark.parametrize("secret", ["wrong", "x" * 43])
def test_wrong_secret_is_refused(each_broker: Broker, secret: str) -> None:
    with pytest.raises(AssertionError, match="the broker refused"), Peer(each_broker, ME, secret):
        pass
