"""The access lines that a broker of the user's own gets hold on a real Mosquitto."""

from pathlib import Path
from typing import Any

import pytest

import tests.brokers
from hub.broker.address import parse_broker_url
from hub.broker.external import access_lines
from hub.errors import InvalidError
from schemas import Leaf, node_topic, take_topic
from schemas.topics import FROM_NODE, TO_NODE
from tests.brokers import HUB_USER, hub_account, make_mosquitto, node_account
from tests.conftest import NODES, VENUE
from tests.mqtt_peer import Peer
from tests.processes import wait_until


def test_access_lines_open_a_nodes_own_topics_and_nothing_else(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    original = tests.brokers.write_mosquitto_configuration

    def with_our_lines(folder: Path, *rest: Any) -> None:  # noqa: ANN401 (passed on)
        original(folder, *rest)
        (folder / "access").write_text(access_lines(HUB_USER, [(VENUE, node) for node in NODES]))

    monkeypatch.setattr(tests.brokers, "write_mosquitto_configuration", with_our_lines)
    broker = make_mosquitto(tmp_path / "broker", [hub_account(), *(node_account(VENUE, node) for node in NODES)])
    mine, other = NODES
    try:
        with Peer(broker) as hub, Peer(broker, f"{VENUE}.{mine}") as node:
            hub.subscribe("stringcourse/#")
            for leaf in Leaf:
                node.publish(node_topic(VENUE, other, leaf), "hostile", retain=True)
            for leaf in TO_NODE:
                node.publish(node_topic(VENUE, mine, leaf), "hostile", retain=True)
            node.publish(take_topic(VENUE), "hostile")
            for leaf in FROM_NODE:
                node.publish(node_topic(VENUE, mine, leaf), "mine")
            wait_until(lambda: len(hub.messages) >= len(FROM_NODE), 5)
            assert {message.payload for message in hub.messages} == {b"mine"}

            node.subscribe("#")
            heard_before = len(node.messages)
            hub.publish(node_topic(VENUE, other, Leaf.DESIRED), "secret", retain=True)
            for topic in (*(node_topic(VENUE, mine, leaf) for leaf in TO_NODE), take_topic(VENUE)):
                hub.publish(topic, "for me")
            wait_until(lambda: len(node.messages) >= heard_before + 3, 5)
            assert {message.payload for message in node.messages} == {b"for me"}
    finally:
        broker.stop()


@pytest.mark.parametrize(
    ("url", "host", "port", "encrypted", "user", "secret"),
    [
        ("mqtt://192.0.2.1", "192.0.2.1", 1883, False, None, None),
        ("mqtts://broker.example:8884", "broker.example", 8884, True, None, None),
        ("mqtt://hub:p%40ss%3A@[2001:db8::1]:1884/", "2001:db8::1", 1884, False, "hub", "p@ss:"),
    ],
)
def test_broker_url_is_taken_apart(
    url: str, host: str, port: int, encrypted: bool, user: str | None, secret: str | None
) -> None:
    address = parse_broker_url(url)
    assert (address.host, address.port, address.encrypted, address.user, address.secret) == (
        host,
        port,
        encrypted,
        user,
        secret,
    )
    assert "p@ss" not in repr(address) + address.public_url


@pytest.mark.parametrize(
    "url", ["http://a", "mqtt://", "a:1883", "mqtt://a:99999", "mqtt://u:hush@a/topic", "mqtt://u:hush@a:1883?x=1", ""]
)
def test_wrong_broker_url_is_refused_without_repeating_its_secret(url: str) -> None:
    with pytest.raises(InvalidError) as caught:
        parse_broker_url(url)
    (mistake,) = caught.value.mistakes
    assert mistake.field == "broker"
    assert "hush" not in caught.value.detail + mistake.reason + mistake.remedy
