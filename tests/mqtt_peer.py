"""A bare MQTT client for tests: plays the hub, a stranger or a listener against the real broker."""

from dataclasses import dataclass
from types import TracebackType

from paho.mqtt.client import Client, ConnectFlags, MQTTMessage, PayloadType
from paho.mqtt.enums import CallbackAPIVersion
from paho.mqtt.properties import Properties
from paho.mqtt.reasoncodes import ReasonCode

from tests.brokers import HUB_USER, Broker
from tests.processes import wait_until


@dataclass(frozen=True)
class Message:
    topic: str
    payload: bytes
    retained: bool


class Peer:
    """Connected on entry (AssertionError when refused); everything it hears is kept in order in `messages`."""

    def __init__(self, broker: Broker, username: str = HUB_USER, secret: str | None = None) -> None:
        self.messages: list[Message] = []
        self._code: ReasonCode | None = None
        self._acknowledged = 0
        self._broker = broker
        self._client = Client(CallbackAPIVersion.VERSION2, reconnect_on_failure=False)
        self._client.username_pw_set(username, secret or broker.accounts[username].secret)
        self._client.on_connect = self._connected
        self._client.on_message = self._heard
        self._client.on_subscribe = self._subscribed

    def subscribe(self, *filters: str) -> None:
        """Returns once the broker has acknowledged, so that nothing published afterwards is missed."""
        for topic in filters:
            before = self._acknowledged
            self._client.subscribe(topic, 0)
            wait_until(lambda before=before: self._acknowledged > before, 5, f"subscription to {topic}")  # type: ignore[misc]

    def publish(self, topic: str, payload: PayloadType, *, retain: bool = False, qos: int = 1) -> None:
        """Returns once the broker has it (QoS 1)."""
        information = self._client.publish(topic, payload, qos, retain)
        if qos:
            wait_until(information.is_published, 10, f"the broker to take a message on {topic}")

    def heard(self, topic: str) -> list[bytes]:
        return [message.payload for message in list(self.messages) if message.topic == topic]

    def last(self, topic: str) -> bytes | None:
        return next((m.payload for m in reversed(list(self.messages)) if m.topic == topic), None)

    def __enter__(self) -> "Peer":
        self._client.connect(self._broker.host, self._broker.port)
        self._client.loop_start()
        wait_until(lambda: self._code is not None, 5, "the broker's answer")
        if self._code is not None and self._code.is_failure:
            self._close()
            raise AssertionError(f"the broker refused: {self._code}")
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._close()

    def _close(self) -> None:
        self._client.disconnect()
        self._client.loop_stop()
        # Paho closes its sockets when it goes: it must not wait for the garbage collector to find a cycle.
        self._client.on_connect = self._client.on_message = self._client.on_subscribe = None

    def _connected(
        self, _client: Client, _userdata: object, _flags: ConnectFlags, code: ReasonCode, _properties: Properties | None
    ) -> None:
        self._code = code

    def _subscribed(
        self, _client: Client, _userdata: object, _mid: int, _codes: list[ReasonCode], _properties: Properties | None
    ) -> None:
        self._acknowledged += 1

    def _heard(self, _client: Client, _userdata: object, message: MQTTMessage) -> None:
        self.messages.append(Message(message.topic, bytes(message.payload), message.retain))
