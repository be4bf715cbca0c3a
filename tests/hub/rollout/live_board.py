"""A board on the real broker: stages, takes and reports over MQTT as an agent does, without pixels."""

import threading
from types import TracebackType

from paho.mqtt.client import Client, ConnectFlags, MQTTMessage
from paho.mqtt.enums import CallbackAPIVersion, MQTTErrorCode
from paho.mqtt.properties import Properties
from paho.mqtt.reasoncodes import ReasonCode

from schemas import (
    Answer,
    Ask,
    AskTestPattern,
    Declined,
    Done,
    Leaf,
    NodeCredential,
    Presence,
    Take,
    node_topic,
    take_topic,
)
from schemas.topics import TO_NODE
from tests.hub.rollout.boards import BOOT, Board
from tests.processes import wait_until


class LiveBoard:
    """Connected on entry, off on exit; what it holds outlives both, as a board's disk does."""

    def __init__(self, credential: NodeCredential) -> None:
        self.board = Board(credential.venue, credential.node)
        self.shown: list[AskTestPattern] = []
        """Test patterns that it was asked for and said to show; none while it `declines`."""
        self.declines: str | None = None
        self._credential = credential
        self._ready = threading.Event()

    @property
    def connected(self) -> bool:
        return self._client.is_connected()

    def __enter__(self) -> "LiveBoard":
        self._ready.clear()
        self._client = Client(CallbackAPIVersion.VERSION2)
        self._client.reconnect_delay_set(1, 1)
        self._client.username_pw_set(self._credential.username, self._credential.secret)
        self._client.will_set(self._topic(Leaf.PRESENCE), self._presence("offline"), 1, retain=True)
        self._client.on_connect = self._connected
        self._client.on_message = self._heard
        host, port = self._credential.broker_url.removeprefix("mqtt://").rsplit(":", 1)
        self._client.connect(host, int(port))
        self._client.loop_start()
        wait_until(self._ready.is_set, 10, "the board's connection")
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self._client.is_connected():  # not where the test killed the broker
            told = self._client.publish(self._topic(Leaf.PRESENCE), self._presence("offline"), 1, retain=True)
            wait_until(lambda: told.rc != MQTTErrorCode.MQTT_ERR_SUCCESS or told.is_published(), 5, "a proper death")
        self._client.disconnect()
        self._client.loop_stop()

    def _topic(self, leaf: Leaf) -> str:
        return node_topic(self.board.venue, self.board.node, leaf)

    def _presence(self, state: str) -> str:
        words = f'{{"state": "{state}", "boot_id": "{BOOT}", "session": 1, "agent_version": "1"}}'
        return Presence.model_validate_json(words).model_dump_json()

    def _connected(
        self, client: Client, _userdata: object, _flags: ConnectFlags, code: ReasonCode, _properties: Properties | None
    ) -> None:
        if not code.is_failure:
            client.subscribe([*((self._topic(leaf), 0) for leaf in TO_NODE), (take_topic(self.board.venue), 0)])
            self._say()
            self._ready.set()

    def _heard(self, _client: Client, _userdata: object, message: MQTTMessage) -> None:
        if message.topic == self._topic(Leaf.DESIRED):
            self.board.desired(bytes(message.payload))
        elif message.topic == self._topic(Leaf.GRANT):
            self.board.granted(bytes(message.payload))
        elif message.topic == self._topic(Leaf.ASK):
            self._answer(Ask.model_validate_json(message.payload))
        elif message.topic == take_topic(self.board.venue):
            self.board.take(Take.model_validate_json(message.payload).revision)
        self._say()

    def _answer(self, ask: Ask) -> None:
        if not isinstance(ask.question, AskTestPattern):
            return
        if self.declines is None:
            self.shown.append(ask.question)
            answer = Answer(correlation=ask.correlation, answer=Done(kind="done"))
        else:
            answer = Answer(correlation=ask.correlation, answer=Declined(kind="declined", reason=self.declines))
        self._client.publish(self._topic(Leaf.ANSWER), answer.model_dump_json(), 1)

    def _say(self) -> None:
        self._client.publish(self._topic(Leaf.PRESENCE), self._presence("online"), 1, retain=True)
        self._client.publish(self._topic(Leaf.REPORTED), self.board.reported().model_dump_json(), 1, retain=True)
