"""The agent's MQTT connection: one client per connection, last will, own topics, reconnect with jittered back-off.

Each connection is a session of its own number, which its will carries, so that the death of an old one cannot pass for
that of a new one. A client is used for one connection only: nothing queued for a dead session can reach the next.
"""

import contextlib
import hashlib
import random
import socket
import threading
import time
from collections.abc import Callable
from typing import Final, Protocol
from urllib.parse import urlsplit

from paho.mqtt.client import Client, ConnectFlags, DisconnectFlags, MQTTMessage
from paho.mqtt.enums import CallbackAPIVersion, MQTTErrorCode, MQTTProtocolVersion
from paho.mqtt.properties import Properties
from paho.mqtt.reasoncodes import ReasonCode

from node_agent.inbox import Connected, Disconnected, Inbox, Oversized, Received, Source
from schemas import Leaf, NodeCredential, Presence, node_topic, take_topic
from schemas.bounds import MAX_DESIRED_BYTES, MAX_MESSAGE_BYTES

SHORTEST_WAIT_S: Final = 0.2
LONGEST_WAIT_S: Final = 10.0
KEEPALIVE_S: Final = 10
CONNECT_TIMEOUT_S: Final = 5.0
_FAREWELL_S: Final = 1.0
_LOOP_S: Final = 0.5  # what is published wakes the loop sooner
_DEFAULT_PORTS: Final = {"mqtt": 1883, "mqtts": 8883}


def back_off_s(failures: int, chance: Callable[[float, float], float] = random.uniform) -> float:
    """Full jitter: anything up to twice as long as after the failure before, so that a fleet does not return as one."""
    return chance(0, min(LONGEST_WAIT_S, SHORTEST_WAIT_S * 2 ** min(failures, 16)))


class MakeLink(Protocol):
    """Makes the node's connection. `next_presence` gives the online presence of a new session at each call."""

    def __call__(
        self,
        credential: NodeCredential,
        inbox: Inbox,
        next_presence: Callable[[], Presence],
        node_ms: Callable[[], float],
    ) -> "Link": ...


class Link:
    """Keeps the node connected; what happens and what arrives goes to the inbox. Its callbacks never block."""

    def __init__(
        self,
        credential: NodeCredential,
        inbox: Inbox,
        next_presence: Callable[[], Presence],
        node_ms: Callable[[], float],
    ) -> None:
        self._credential = credential
        self._inbox = inbox
        self._next_presence = next_presence
        self._node_ms = node_ms
        self._sources: dict[str, Source] = {
            node_topic(credential.venue, credential.node, Leaf.DESIRED): "desired",
            node_topic(credential.venue, credential.node, Leaf.GRANT): "grant",
            node_topic(credential.venue, credential.node, Leaf.ASK): "ask",
            take_topic(credential.venue): "take",
        }
        self._connection: tuple[Client, Presence] | None = None
        self._lock = threading.Lock()
        self._stopping = threading.Event()
        self._thread = threading.Thread(target=self._keep_connected, name="link", daemon=True)

    def start(self) -> None:
        self._thread.start()

    def publish(self, session: int, leaf: Leaf, payload: str, *, retain: bool = False, qos: int = 1) -> None:
        """Hands a message to the connection of that session; when it is gone so is the message."""
        with self._lock:
            connection = self._connection
        if connection and connection[1].session == session:
            connection[0].publish(self._topic(leaf), payload, qos, retain)

    def stop(self) -> None:
        """Publishes the death of the session, then disconnects."""
        self._stopping.set()
        self._thread.join(CONNECT_TIMEOUT_S + 2 * _FAREWELL_S)

    def _topic(self, leaf: Leaf) -> str:
        return node_topic(self._credential.venue, self._credential.node, leaf)

    def _keep_connected(self) -> None:
        failures = 0
        presence: Presence | None = None
        url = urlsplit(self._credential.broker_url)
        while not self._stopping.is_set():
            presence = presence or self._next_presence()
            began_s = time.monotonic()
            client = self._client(presence)
            try:
                client.connect(url.hostname or "", url.port or _DEFAULT_PORTS[url.scheme], KEEPALIVE_S)
                self._converse(client, presence)
                presence = None  # used up: the broker may hold its will
            except Exception as error:  # a broken packet from the network must not end the link
                self._tell_lost(str(error) or type(error).__name__)
            finally:
                with self._lock:
                    self._connection = None
            # Only a connection that lasted starts the back-off anew: two agents under one credential throw each
            # other out as soon as they are in.
            failures = 0 if time.monotonic() - began_s > LONGEST_WAIT_S else failures + 1
            self._stopping.wait(back_off_s(failures))

    def _converse(self, client: Client, presence: Presence) -> None:
        """Runs the network loop until the connection is lost or the agent stops."""
        while not self._stopping.is_set():
            if client.loop(_LOOP_S) != MQTTErrorCode.MQTT_ERR_SUCCESS:
                return
        if client.is_connected():
            farewell = client.publish(self._topic(Leaf.PRESENCE), _offline(presence), 1, retain=True)
            end_s = time.monotonic() + _FAREWELL_S
            while not farewell.is_published() and time.monotonic() < end_s:
                if client.loop(0.1) != MQTTErrorCode.MQTT_ERR_SUCCESS:
                    return
        client.disconnect()
        client.loop(0.1)

    def _client(self, presence: Presence) -> Client:
        credential = self._credential
        client = Client(
            CallbackAPIVersion.VERSION2,
            client_id=_client_id(credential),
            clean_session=True,
            protocol=MQTTProtocolVersion.MQTTv311,
            userdata=presence,
            reconnect_on_failure=False,
        )
        client.connect_timeout = CONNECT_TIMEOUT_S
        client.max_queued_messages_set(256)
        client.username_pw_set(credential.username, credential.secret)
        if credential.broker_url.startswith("mqtts://"):
            client.tls_set()
        client.will_set(self._topic(Leaf.PRESENCE), _offline(presence), qos=1, retain=True)
        client.on_socket_open = send_at_once
        # With this set, paho leaves all writing to the loop's thread, whoever publishes.
        client.on_socket_register_write = _loop_writes
        client.on_connect = self._on_connect
        client.on_disconnect = self._on_disconnect
        client.on_message = self._on_message
        return client

    def _on_connect(
        self, client: Client, presence: Presence, _flags: ConnectFlags, code: ReasonCode, _properties: Properties | None
    ) -> None:
        if code.is_failure:
            self._tell_lost(f"the broker refused: {code}")
            return
        client.subscribe([(topic, 0) for topic in self._sources])
        with self._lock:
            self._connection = (client, presence)
        self._inbox.put(Connected(presence.session, _broker_address(client)))

    def _on_disconnect(
        self,
        _client: Client,
        _presence: Presence,
        _flags: DisconnectFlags,
        code: ReasonCode,
        _properties: Properties | None,
    ) -> None:
        with self._lock:
            connected, self._connection = self._connection is not None, None
        if connected:
            self._tell_lost(str(code))

    def _on_message(self, _client: Client, _presence: Presence, message: MQTTMessage) -> None:
        node_ms = self._node_ms()
        source = self._sources.get(message.topic)
        if source is None:
            return
        if len(message.payload) > (MAX_DESIRED_BYTES if source == "desired" else MAX_MESSAGE_BYTES):
            self._inbox.put(Oversized(source))
        else:
            self._inbox.put(Received(source, bytes(message.payload), node_ms))

    def _tell_lost(self, reason: str) -> None:
        if not self._stopping.is_set():
            self._inbox.put(Disconnected(reason))


def _broker_address(client: Client) -> str | None:
    connection = client.socket()
    if not isinstance(connection, socket.socket):
        return None
    with contextlib.suppress(OSError):
        return str(connection.getpeername()[0])
    return None


def _offline(presence: Presence) -> str:
    return presence.model_copy(update={"state": "offline"}).model_dump_json()


def _loop_writes(_client: Client, _presence: Presence, _connection: object) -> None:
    return None


def send_at_once(_client: Client, _presence: Presence, connection: object) -> None:
    """Nothing waits to be sent together with more."""
    # The stamps of a clock exchange would otherwise wait for Nagle's algorithm.
    if isinstance(connection, socket.socket):
        with contextlib.suppress(OSError):
            connection.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)


def _client_id(credential: NodeCredential) -> str:
    """The same at each connection, so that a new one ends the old; nobody without the secret can guess it.

    A broker cuts a client off when another connects under its id, whoever that is: an id made of names alone would let
    one node cut off every other. No full stop: the embedded broker refuses one in a client id.
    """
    proof = hashlib.sha256(b"client id " + credential.secret.encode()).hexdigest()[:16]
    return f"{credential.venue}_{credential.node}_{proof}"
