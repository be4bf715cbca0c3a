"""Looks at what the broker keeps under single topics, on a connection of its own.

The link does not hear the hub's own documents: a rollout would come back to it whole. Here a topic is subscribed for as
long as it takes the broker to hand out what it keeps.
"""

import threading
import time
from collections.abc import Callable, Iterable
from typing import Final

from paho.mqtt.client import Client, ConnectFlags, DisconnectFlags, MQTTMessage
from paho.mqtt.properties import Properties
from paho.mqtt.reasoncodes import ReasonCode

from hub.broker.address import BrokerAddress
from hub.broker.ready import reachable_host
from hub.link.client import end, new_client
from schemas.bounds import MAX_DESIRED_BYTES

KEEPALIVE_S: Final = 15
LOOK_S: Final = 3.0
"""A topic that brought nothing for so long holds nothing."""


Found = Callable[[str, bytes | None], None]
"""`found(topic, payload)`: None where nothing is kept."""


class RetainedLooks:
    """Connects until stopped. A look that is under way when the connection breaks finds nothing out, not even None."""

    def __init__(self, address: BrokerAddress, look_s: float = LOOK_S) -> None:
        self._address = address
        self._look_s = look_s
        self._lock = threading.Lock()
        self._connected = False
        self._looking: dict[str, tuple[float, Found]] = {}
        self._seen: list[str] = []
        self._client = new_client(address, "hub-retained")
        self._client.on_connect = self._on_connect
        self._client.on_disconnect = self._on_disconnect
        self._client.on_message = self._on_message

    def start(self) -> None:
        """Returns at once; the connection is made, and made again, by paho's thread."""
        self._client.connect_async(reachable_host(self._address.host), self._address.port, KEEPALIVE_S)
        self._client.loop_start()

    def stop(self) -> None:
        end(self._client)

    def look(self, topics: Iterable[str], found: Found) -> None:
        """Tell `found` of each, from paho's thread or from `expire`. Never blocks; not connected, it tells nothing."""
        until_s = time.monotonic() + self._look_s
        with self._lock:
            if not self._connected:
                return
            new = [topic for topic in topics if topic not in self._looking]
            self._looking.update(dict.fromkeys(new, (until_s, found)))
            self._seen = [topic for topic in self._seen if topic not in self._looking]
        if new:
            self._client.subscribe([(topic, 0) for topic in new])

    def expire(self) -> None:
        """End looks that are over; call it some times a second."""
        now_s = time.monotonic()
        with self._lock:
            empty = [(topic, found) for topic, (until_s, found) in self._looking.items() if now_s >= until_s]
            for topic, _ in empty:
                del self._looking[topic]
            over, self._seen = [*self._seen, *(topic for topic, _ in empty)], []
        if over:
            self._client.unsubscribe(over)
        for topic, found in empty:
            found(topic, None)

    def _on_connect(
        self, _client: Client, _userdata: object, _flags: ConnectFlags, code: ReasonCode, _properties: Properties | None
    ) -> None:
        if code.is_failure:
            return  # the link says why
        with self._lock:
            self._connected = True

    def _on_disconnect(
        self,
        _client: Client,
        _userdata: object,
        _flags: DisconnectFlags,
        _code: ReasonCode,
        _properties: Properties | None,
    ) -> None:
        with self._lock:
            self._connected = False
            self._looking.clear()
            self._seen.clear()

    def _on_message(self, _client: Client, _userdata: object, message: MQTTMessage) -> None:
        try:
            topic = message.topic
        except UnicodeDecodeError:
            return
        with self._lock:
            looked = self._looking.pop(topic, None)
            if looked is None:
                return
            self._seen.append(topic)
        # One byte past the bound is enough to see that this is none of ours.
        looked[1](topic, bytes(message.payload[: MAX_DESIRED_BYTES + 1]))
