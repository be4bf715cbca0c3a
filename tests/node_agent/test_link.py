"""The link on a real broker: sessions, wills, back-off and bounds."""

import itertools
import json
from collections.abc import Iterator

import pytest

from node_agent.inbox import Connected, Disconnected, Event, Inbox, Oversized, Received
from node_agent.link import LONGEST_WAIT_S, SHORTEST_WAIT_S, Link, back_off_s
from schemas import Leaf, NodeCredential, Presence, take_topic
from schemas.bounds import MAX_DESIRED_BYTES, MAX_MESSAGE_BYTES
from schemas.topics import ROOT
from tests.brokers import Broker, node_credential
from tests.conftest import NODES, VENUE
from tests.mqtt_peer import Peer
from tests.node_agent.running_agent import topic
from tests.processes import wait_until

BOOT = "0123456789abcdef"


class Linked:
    """A link and all that it put into its inbox."""

    def __init__(self, credential: NodeCredential) -> None:
        self.events: list[Event] = []
        self.inbox = Inbox()
        sessions = itertools.count()
        self.link = Link(credential, self.inbox, lambda: self._presence(next(sessions)), lambda: 5.0)

    def heard(self, kind: type[Event]) -> list[Event]:
        while event := self.inbox.take(0):
            self.events.append(event)
        return [event for event in self.events if isinstance(event, kind)]

    def _presence(self, session: int) -> Presence:
        return Presence(state="online", boot_id=BOOT, session=session, agent_version="0")


@pytest.fixture
def linked(broker: Broker) -> Iterator[Linked]:
    made = Linked(node_credential(broker, VENUE, NODES[0]))
    made.link.start()
    wait_until(lambda: made.heard(Connected), 10)
    yield made
    made.link.stop()


def test_back_off_is_jittered_fully_and_doubles_up_to_its_limit() -> None:
    highest = [back_off_s(failures, lambda _low, high: high) for failures in range(10)]
    assert highest[0] == SHORTEST_WAIT_S
    assert highest == sorted(highest)
    assert highest[-1] == LONGEST_WAIT_S
    assert back_off_s(9, lambda low, _high: low) == 0
    assert back_off_s(10**9) <= LONGEST_WAIT_S


def test_messages_arrive_by_their_source_stamped_by_the_nodes_clock(broker: Broker, linked: Linked) -> None:
    with Peer(broker) as hub:
        for name, payload in ((topic(Leaf.DESIRED), b"d"), (topic(Leaf.ASK), b"a"), (take_topic(VENUE), b"t")):
            hub.publish(name, payload)
        wait_until(lambda: len(linked.heard(Received)) == 3, 5)
    assert linked.heard(Received) == [
        Received("desired", b"d", 5.0),
        Received("ask", b"a", 5.0),
        Received("take", b"t", 5.0),
    ]


def test_message_over_its_bound_is_dropped_and_told(broker: Broker, linked: Linked) -> None:
    with Peer(broker) as hub:
        hub.publish(topic(Leaf.DESIRED), bytes(MAX_DESIRED_BYTES + 1))
        hub.publish(take_topic(VENUE), bytes(MAX_MESSAGE_BYTES + 1))
        hub.publish(topic(Leaf.DESIRED), bytes(MAX_DESIRED_BYTES))
        wait_until(lambda: len(linked.heard(Received)) == 1, 5)
    assert linked.heard(Oversized) == [Oversized("desired"), Oversized("take")]


def test_message_for_a_session_that_is_gone_is_not_published_by_the_next(broker: Broker, linked: Linked) -> None:
    with Peer(broker) as hub:
        hub.subscribe(f"{ROOT}/{VENUE}/#")
        linked.link.publish(7, Leaf.REPORTED, "stale")
        linked.link.publish(0, Leaf.REPORTED, "fresh", retain=True)
        wait_until(lambda: hub.heard(topic(Leaf.REPORTED)), 5)
        assert hub.heard(topic(Leaf.REPORTED)) == [b"fresh"]


def test_stopping_publishes_the_death_of_the_session_before_it_disconnects(broker: Broker) -> None:
    made = Linked(node_credential(broker, VENUE, NODES[0]))
    made.link.start()
    wait_until(lambda: made.heard(Connected), 10)
    with Peer(broker) as hub:
        hub.subscribe(f"{ROOT}/{VENUE}/#")
        made.link.stop()
        deaths = wait_until(lambda: hub.heard(topic(Leaf.PRESENCE)), 5)
    assert [json.loads(death)["state"] for death in deaths] == ["offline"]
    assert made.heard(Disconnected) == []


def test_each_connection_has_a_session_of_its_own_and_failed_attempts_use_none_up(
    broker: Broker, linked: Linked
) -> None:
    broker.kill()
    wait_until(lambda: len(linked.heard(Disconnected)) >= 3, 20, "some attempts without a broker")
    broker.start()
    wait_until(lambda: len(linked.heard(Connected)) == 2, 20)
    assert linked.heard(Connected) == [Connected(0), Connected(1)]


def test_wrong_secret_is_told_and_tried_again(broker: Broker) -> None:
    credential = node_credential(broker, VENUE, NODES[0]).model_copy(update={"secret": "x" * 43})
    made = Linked(credential)
    made.link.start()
    refusals = wait_until(lambda: [e for e in made.heard(Disconnected) if "refused" in str(e)], 10)
    assert "refused" in str(refusals[0])
    wait_until(lambda: len([e for e in made.heard(Disconnected) if "refused" in str(e)]) > 1, 10)
    made.link.stop()
