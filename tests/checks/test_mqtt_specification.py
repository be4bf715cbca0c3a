"""What the design relies on, as MQTT 3.1.1 states it (OASIS Standard, 29 October 2014), with each real broker.

Sections and statement numbers of the standard stand beside each check; they are cited from memory.
"""

import socket
import struct
import time

import pytest

from schemas import Leaf, node_topic
from tests.brokers import HUB_USER, Broker
from tests.conftest import NODES, VENUE
from tests.mqtt_peer import Message, Peer
from tests.processes import wait_until

NODE = NODES[0]
TOPIC = node_topic(VENUE, NODE, Leaf.DESIRED)
PRESENCE = node_topic(VENUE, NODE, Leaf.PRESENCE)
MARK = "stringcourse/v1/mark"


def heard_before_mark(peer: Peer) -> list[Message]:
    """Everything that the peer hears before a message that it sends itself, which the broker delivers after them."""
    peer.subscribe(MARK)
    peer.publish(MARK, "mark")
    wait_until(lambda: peer.heard(MARK), 5, "the mark")
    return [message for message in peer.messages if message.topic != MARK]


class RawClient:
    """MQTT packets by hand, for what no client library does: chosen keepalive, will and ways to go."""

    def __init__(self, broker: Broker, client_id: str, *, keepalive_s: int = 60, will: bytes | None = None) -> None:
        secret = broker.accounts[HUB_USER].secret
        flags = 0b1100_0010 | (0b0010_1100 if will is not None else 0)  # user, password, clean; will retained, QoS 1
        fields = [client_id.encode(), *([PRESENCE.encode(), will] if will is not None else []), HUB_USER.encode()]
        body = b"\x00\x04MQTT\x04" + struct.pack("!BH", flags, keepalive_s)
        body += b"".join(struct.pack("!H", len(part)) + part for part in [*fields, secret.encode()])
        self.socket = socket.create_connection((broker.host, broker.port), 5)
        self.socket.sendall(b"\x10" + _length(len(body)) + body)
        assert self.receive(4) == b"\x20\x02\x00\x00"

    def publish(self, topic: str, payload: bytes, packet_id: int, *, duplicate: bool = False) -> None:
        """At QoS 1, retained."""
        body = struct.pack("!H", len(topic)) + topic.encode() + struct.pack("!H", packet_id) + payload
        self.socket.sendall(bytes([0x33 | (0x08 if duplicate else 0)]) + _length(len(body)) + body)

    def receive(self, count: int) -> bytes:
        data = b""
        while len(data) < count:
            part = self.socket.recv(count - len(data))
            if not part:
                break
            data += part
        return data

    def close(self) -> None:
        self.socket.close()


def _length(value: int) -> bytes:
    encoded = bytearray()
    while True:
        value, digit = divmod(value, 128)
        encoded.append(digit | (0x80 if value else 0))
        if not value:
            return bytes(encoded)


def test_newest_retained_message_reaches_a_new_subscriber_with_its_flag(each_broker: Broker) -> None:
    """3.3.1.3: the last retained message is sent to a new subscription [MQTT-3.3.1-6] with RETAIN 1 [3.3.1-8]."""
    with Peer(each_broker) as hub:
        hub.publish(TOPIC, "first", retain=True)
        hub.publish(TOPIC, "second", retain=True)
    with Peer(each_broker) as late:
        late.subscribe(TOPIC)
        assert heard_before_mark(late) == [Message(TOPIC, b"second", True)]


def test_established_subscription_hears_a_retained_message_without_the_flag(each_broker: Broker) -> None:
    """3.3.1.3: RETAIN is 0 towards a subscription that stood before [MQTT-3.3.1-9]; the hub tells life by it."""
    with Peer(each_broker) as hub:
        hub.subscribe(TOPIC)
        hub.publish(TOPIC, "live", retain=True)
        assert heard_before_mark(hub) == [Message(TOPIC, b"live", False)]


def test_empty_retained_message_removes_what_was_retained(each_broker: Broker) -> None:
    """3.3.1.3: a zero-length payload removes the retained message [MQTT-3.3.1-10]."""
    with Peer(each_broker) as hub:
        hub.publish(TOPIC, "old", retain=True)
        hub.publish(TOPIC, "", retain=True)
    with Peer(each_broker) as late:
        late.subscribe(TOPIC)
        assert heard_before_mark(late) == []


def test_message_that_is_not_retained_leaves_the_retained_one(each_broker: Broker) -> None:
    """3.3.1.3: RETAIN 0 neither stores nor replaces [MQTT-3.3.1-12]."""
    with Peer(each_broker) as hub:
        hub.publish(TOPIC, "kept", retain=True)
        hub.publish(TOPIC, "passing")
    with Peer(each_broker) as late:
        late.subscribe(TOPIC)
        assert heard_before_mark(late) == [Message(TOPIC, b"kept", True)]


def test_subscription_at_qos_0_hears_what_is_published_at_qos_1(each_broker: Broker) -> None:
    """3.8.4, 4.3: delivery is at the lower of both QoS [MQTT-3.8.4-6]; the whole design subscribes at QoS 0."""
    with Peer(each_broker) as node, Peer(each_broker) as hub:
        node.subscribe(TOPIC)
        hub.publish(TOPIC, "document", retain=True, qos=1)
        wait_until(lambda: node.heard(TOPIC), 5)


def test_messages_of_one_client_on_one_topic_arrive_in_order(each_broker: Broker) -> None:
    """4.6: the broker delivers a client's messages of one topic and QoS in order [MQTT-4.6.0-6]."""
    with Peer(each_broker) as node, Peer(each_broker) as hub:
        node.subscribe(TOPIC)
        for number in range(500):
            hub.publish(TOPIC, str(number), qos=0)
        wait_until(lambda: len(node.heard(TOPIC)) == 500, 10)
        assert node.heard(TOPIC) == [str(number).encode() for number in range(500)]


def test_will_is_published_retained_when_the_connection_is_lost(each_broker: Broker) -> None:
    """3.1.2.5: the will is published when the network connection closes without DISCONNECT [MQTT-3.1.2-8, -17]."""
    with Peer(each_broker) as hub:
        hub.subscribe(PRESENCE)
        RawClient(each_broker, "dying", will=b"dead").close()
        wait_until(lambda: hub.heard(PRESENCE), 3, "the will")
    with Peer(each_broker) as late:
        late.subscribe(PRESENCE)
        assert heard_before_mark(late) == [Message(PRESENCE, b"dead", True)]


def test_will_is_dropped_at_an_orderly_disconnect(each_broker: Broker) -> None:
    """3.14.4: on DISCONNECT the will is discarded [MQTT-3.14.4-3]; a node that leaves says so itself before."""
    with Peer(each_broker) as hub:
        hub.subscribe(PRESENCE)
        leaving = RawClient(each_broker, "leaving", will=b"dead")
        leaving.socket.sendall(b"\xe0\x00")
        assert leaving.receive(1) == b""
        leaving.close()
        # One whose will does come, later than the other's would have.
        RawClient(each_broker, "dying", will=b"dead too").close()
        wait_until(lambda: hub.heard(PRESENCE), 5)
        assert hub.heard(PRESENCE) == [b"dead too"]


def test_will_is_published_when_a_client_says_nothing_for_one_and_a_half_keepalives(each_broker: Broker) -> None:
    """3.1.2.10: the broker disconnects after 1.5 times the keepalive as if the network had failed [MQTT-3.1.2-24]."""
    with Peer(each_broker) as hub:
        hub.subscribe(PRESENCE)
        started_s = time.monotonic()
        hung = RawClient(each_broker, "hung", keepalive_s=1, will=b"dead")
        wait_until(lambda: hub.heard(PRESENCE), 8, "the will")
        assert time.monotonic() - started_s >= 1.0
        hung.close()


def test_second_connection_with_a_client_id_ends_the_first_and_only_that(each_broker: Broker) -> None:
    """3.1.4: the existing client is disconnected [MQTT-3.1.4-2].

    Its will is then due (3.1.2.5). Mosquitto publishes it, after the second has connected; NATS does not. The session
    in the will serves both: no death may be taken for the second's before the second ends.
    """
    with Peer(each_broker) as hub:
        hub.subscribe(PRESENCE)
        first = RawClient(each_broker, "same", will=b"death of the first")
        second = RawClient(each_broker, "same", will=b"death of the second")
        assert first.receive(1) == b""
        first.close()
        second.publish(TOPIC, b"alive", 1)
        assert second.receive(4) == b"\x40\x02\x00\x01"
        assert b"death of the second" not in hub.heard(PRESENCE)
        second.close()
        wait_until(lambda: b"death of the second" in hub.heard(PRESENCE), 5)


def test_publish_at_qos_1_is_acknowledged_each_time_it_is_sent(each_broker: Broker) -> None:
    """4.3.2: the receiver answers PUBLISH with PUBACK of the same id, a repeated one too [MQTT-4.3.2-2]."""
    sender = RawClient(each_broker, "sender")
    for duplicate in (False, True):
        sender.publish(TOPIC, b"document", 7, duplicate=duplicate)
        assert sender.receive(4) == b"\x40\x02\x00\x07"
    sender.close()


@pytest.mark.parametrize("pause", ["restart", "kill"])
def test_broker_that_returns_serves_the_same_credentials(each_broker: Broker, pause: str) -> None:
    """Not of the standard: what a node relies on after an outage. It keeps no session; the hub publishes anew."""
    if pause == "kill":
        each_broker.kill()
    else:
        each_broker.stop()
    each_broker.start()
    with Peer(each_broker) as hub:
        hub.publish(TOPIC, "again", retain=True)
        hub.subscribe(TOPIC)
        assert heard_before_mark(hub) == [Message(TOPIC, b"again", True)]
