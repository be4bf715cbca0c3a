"""A node played by a bare MQTT client against the real broker: births, will, telemetry, answers, sudden death."""

import json
import secrets
import socket
from types import TracebackType
from typing import Any

from paho.mqtt.client import Client, ConnectFlags, MQTTMessage
from paho.mqtt.enums import CallbackAPIVersion
from paho.mqtt.properties import Properties
from paho.mqtt.reasoncodes import ReasonCode

from schemas import Ask, Leaf, Presence, Reported, Telemetry, node_topic
from tests.brokers import Broker
from tests.conftest import VENUE
from tests.processes import wait_until

VALID_TELEMETRY: dict[str, Any] = {
    "boot_id": "0123456789abcdef",
    "session": 1,
    "sequence": 0,
    "uptime_s": 12.5,
    "revision": 1,
    "frame_rate_hz": 60.0,
    "frame_rate_target_hz": 60.0,
    "late_frames": 0,
    "frames": 600,
    "render_ms": 0.4,
    "supplies": [
        {"supply": "psu-1", "amps": 1.5, "highest_a": 2.0, "limiter_scale": 1.0, "wanted_a": 2.0, "charge_ah": 0.25}
    ],
    "temperature_c": 41.5,
    "clock_offset_ms": 0.1,
    "clock_dispersion_ms": 0.2,
    "clock_drift_ppm": 12.5,
    "clock_source": "hub",
}


def telemetry(**changes: Any) -> Telemetry:  # noqa: ANN401 (any field)
    """A valid message with some fields changed."""
    return Telemetry.model_validate_json(json.dumps(VALID_TELEMETRY | changes))


class PlayedNode:
    """Connected on entry with its will left behind; answers asks for rebirth by a birth when `answers_rebirth`."""

    def __init__(self, broker: Broker, node: str, *, session: int = 1, boot_id: str | None = None) -> None:
        self.boot_id = boot_id or secrets.token_hex(8)
        self.session = session
        self.node = node
        self.asks: list[Ask] = []
        self.answers_rebirth = True
        self._sequence = 0
        self._broker = broker
        self._ready = False
        self._client = Client(CallbackAPIVersion.VERSION2, reconnect_on_failure=False)
        account = broker.accounts[f"{VENUE}.{node}"]
        self._client.username_pw_set(account.username, account.secret)
        self._client.will_set(self._topic(Leaf.PRESENCE), self.presence("offline"), 1, retain=True)
        self._client.on_connect = self._connected
        self._client.on_subscribe = self._subscribed
        self._client.on_message = self._heard

    def presence(self, state: str) -> str:
        words = {"state": state, "boot_id": self.boot_id, "session": self.session, "agent_version": "0.1.0"}
        return Presence.model_validate_json(json.dumps(words)).model_dump_json()

    def birth(self) -> None:
        self.publish(Leaf.PRESENCE, self.presence("online"), retain=True)

    def report(self, **fields: Any) -> None:  # noqa: ANN401 (any field)
        words = json.dumps({"boot_id": self.boot_id, "session": self.session, **fields})
        self.publish(Leaf.REPORTED, Reported.model_validate_json(words).model_dump_json(), retain=True)

    def measure(self, **changes: Any) -> None:  # noqa: ANN401 (any field)
        own = {"boot_id": self.boot_id, "session": self.session, "sequence": self._sequence}
        self._sequence = (self._sequence + 1) % 256
        self.publish(Leaf.TELEMETRY, telemetry(**own | changes).model_dump_json(), qos=0)

    def publish(self, leaf: Leaf, payload: str | bytes, *, retain: bool = False, qos: int = 1) -> None:
        """Returns once the broker has it (QoS 1)."""
        information = self._client.publish(self._topic(leaf), payload, qos, retain)
        if qos:
            wait_until(information.is_published, 10, f"the broker to take {leaf}")

    def die(self) -> None:
        """Lose the connection without a word, as a killed process does: the broker publishes the will."""
        sock = self._client.socket()
        assert sock is not None
        socket.socket.shutdown(sock, socket.SHUT_RDWR)  # type: ignore[arg-type]  # paho types it too narrowly
        self._client.loop_stop()

    def __enter__(self) -> "PlayedNode":
        self._client.connect(self._broker.host, self._broker.port)
        self._client.loop_start()
        wait_until(lambda: self._ready, 5, "the node's subscription")
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._client.disconnect()
        self._client.loop_stop()
        # Paho closes its sockets when it goes: it must not wait for the garbage collector to find a cycle.
        self._client.on_connect = self._client.on_message = self._client.on_subscribe = None

    def _topic(self, leaf: Leaf) -> str:
        return node_topic(VENUE, self.node, leaf)

    def _connected(
        self, client: Client, _userdata: object, _flags: ConnectFlags, code: ReasonCode, _properties: Properties | None
    ) -> None:
        if not code.is_failure:
            client.subscribe(self._topic(Leaf.ASK), 0)

    def _subscribed(
        self, _client: Client, _userdata: object, _mid: int, _codes: list[ReasonCode], _properties: Properties | None
    ) -> None:
        self._ready = True

    def _heard(self, client: Client, _userdata: object, message: MQTTMessage) -> None:
        ask = Ask.model_validate_json(bytes(message.payload))
        self.asks.append(ask)
        if ask.question.kind == "rebirth" and self.answers_rebirth:
            client.publish(self._topic(Leaf.PRESENCE), self.presence("online"), 1, retain=True)
        elif ask.question.kind == "clock":
            answer = {"kind": "clock", "t1_ms": ask.question.t1_ms, "t2_ms": 5.0, "t3_ms": 6.0}
            words = json.dumps({"correlation": ask.correlation, "answer": answer})
            client.publish(self._topic(Leaf.ANSWER), words, 1)
