"""The hub's connection to the broker: paho in its own thread; callbacks only enqueue and publishing never blocks."""

import logging
import threading
import time
from collections.abc import Callable, Iterable
from typing import Final

from paho.mqtt.client import Client, ConnectFlags, DisconnectFlags
from paho.mqtt.enums import MQTTErrorCode
from paho.mqtt.properties import Properties
from paho.mqtt.reasoncodes import ReasonCode

from hub.broker.address import BrokerAddress
from hub.broker.ready import reachable_host
from hub.fleet.inbox import Inbox, Message
from hub.link.client import end, new_client
from hub.link.outbox import Outbox
from hub.link.packets import Heard, Thinned
from hub.link.read_ahead import ReadAheadClient
from schemas import Leaf, venue_subscription
from schemas.bounds import MAX_MESSAGE_BYTES

KEEPALIVE_S: Final = 15
MAX_IN_FLIGHT: Final = 500
MAX_QUEUED: Final = 50_000
MAX_GATHERED: Final = 256
MAX_KNOWN_TOPICS: Final = 50_000
# Presence first, so that what follows is measured against the session that it names.
HEARD: Final = (Leaf.PRESENCE, Leaf.REPORTED, Leaf.TELEMETRY, Leaf.ANSWER)

log = logging.getLogger(__name__)


class Link:
    """Connects until stopped. What arrives goes to `inbox`; `link_changed(connected)` is told from paho's thread.

    Paho sends again what was not acknowledged before the link broke, after whatever is published as the link comes up:
    on a topic whose newest payload stays, the older would follow the newer. So nothing retained is published until
    all of the older has been acknowledged; it waits in the outbox meanwhile.
    """

    def __init__(self, address: BrokerAddress, inbox: Inbox, link_changed: Callable[[bool], None]) -> None:
        self.unsent = 0
        self._address = address
        self._inbox = inbox
        self._link_changed = link_changed
        self._outbox = Outbox()
        self._lock = threading.Lock()
        self._venues: set[str] = set()
        self._connected = False
        self._outbox_open = False
        self._unacknowledged: set[int] = set()
        self._acknowledged_early: set[int] = set()
        self._older: set[int] = set()
        self._refusal_logged = ""
        self._gathered: list[Message] = []
        self._topics: dict[bytes, str] = {}
        self._taken_out: dict[str, int] = {}
        self._stopping = threading.Event()
        self._client = self._make_client()

    @property
    def connected(self) -> bool:
        return self._connected

    def start(self) -> None:
        """Returns at once; the connection is made, and made again, by paho's thread."""
        self._client.connect_async(reachable_host(self._address.host), self._address.port, KEEPALIVE_S)
        self._client.loop_start()

    def stop(self) -> None:
        """Leave the broker properly and end the thread."""
        self._stopping.set()
        end(self._client)

    def publish(self, topic: str, payload: bytes, *, retain: bool) -> None:
        """At QoS 1. While the link is down, the newest retained payload of each topic waits; others are dropped."""
        with self._lock:
            if retain and not self._outbox_open:
                self._outbox.put(topic, payload)
                return
            if not self._connected:
                return
        self._send(topic, payload, retain=retain)

    def watch(self, venues: Iterable[str]) -> None:
        """Hear the nodes of exactly these venues."""
        with self._lock:
            wanted = set(venues)
            added, removed = wanted - self._venues, self._venues - wanted
            self._venues = wanted
            connected = self._connected
        if connected:
            self._subscribe(sorted(added))
            for venue in removed:
                self._client.unsubscribe([venue_subscription(venue, leaf) for leaf in HEARD])

    def _make_client(self) -> ReadAheadClient:
        client = new_client(self._address, "hub")
        client.max_inflight_messages_set(MAX_IN_FLIGHT)
        client.max_queued_messages_set(MAX_QUEUED)
        client.on_connect_fail = self._on_connect_fail
        client.on_connect = self._on_connect
        client.on_disconnect = self._on_disconnect
        client.heard = self._heard
        client.turn_ended = self._hand_over
        client.thinned_out = self._thinned_out
        client.on_publish = self._on_acknowledged
        return client

    def _send(self, topic: str, payload: bytes, *, retain: bool) -> None:
        sent = self._client.publish(topic, payload, qos=1, retain=retain)
        if sent.rc == MQTTErrorCode.MQTT_ERR_QUEUE_SIZE:
            self.unsent += 1
            if self.unsent == 1:
                log.warning("broker does not keep up: messages dropped, the reconciler repeats (counted from now on)")
            return
        with self._lock:
            if sent.mid in self._acknowledged_early:
                self._acknowledged_early.discard(sent.mid)
            else:
                self._unacknowledged.add(sent.mid)

    def _open_outbox(self) -> None:
        """What is published meanwhile queues up behind."""
        while True:
            with self._lock:
                waiting = self._outbox.take()
                if not waiting:
                    self._outbox_open = True
                    return
            for topic, payload in waiting:
                self._send(topic, payload, retain=True)

    def _subscribe(self, venues: Iterable[str]) -> None:
        for venue in venues:
            self._client.subscribe([(venue_subscription(venue, leaf), 0) for leaf in HEARD])

    def _on_connect(
        self, _client: Client, _userdata: object, _flags: ConnectFlags, code: ReasonCode, _properties: Properties | None
    ) -> None:
        if code.is_failure:
            self._log_once(f"the broker at {self._address.public_url} refuses the hub: {code}")
            return
        self._refusal_logged = ""
        log.info("link up broker=%s", self._address.public_url)
        with self._lock:
            self._connected = True
            venues = sorted(self._venues)
            self._older = set(self._unacknowledged)
        self._taken_out.clear()
        self._subscribe(venues)
        if not self._older:
            self._open_outbox()
        self._link_changed(True)

    def _on_acknowledged(
        self, _client: Client, _userdata: object, mid: int, _code: ReasonCode, _properties: Properties | None
    ) -> None:
        # Paho's thread may be here before `_send` has noted the number.
        with self._lock:
            if mid in self._unacknowledged:
                self._unacknowledged.discard(mid)
            else:
                self._acknowledged_early.add(mid)
            last_of_older = mid in self._older and len(self._older) == 1
            self._older.discard(mid)
        if last_of_older:
            self._open_outbox()

    def _on_connect_fail(self, _client: Client, _userdata: object) -> None:
        self._log_once(f"no broker answers at {self._address.public_url}")

    def _on_disconnect(
        self,
        _client: Client,
        _userdata: object,
        _flags: DisconnectFlags,
        code: ReasonCode,
        _properties: Properties | None,
    ) -> None:
        with self._lock:
            was_connected, self._connected = self._connected, False
            self._outbox_open = False
        if was_connected:
            level = logging.INFO if self._stopping.is_set() else logging.WARNING
            log.log(level, "link down broker=%s reason=%s", self._address.public_url, code)
            self._link_changed(False)

    def _heard(self, messages: list[Heard]) -> None:
        now_s = time.time()
        for topic_bytes, payload, retained in messages:
            topic = self._topics.get(topic_bytes) or self._read_topic(topic_bytes)
            if topic is None:
                continue
            # One byte past the bound is enough for the intake to see, and to count, that it was passed.
            bounded = payload if len(payload) <= MAX_MESSAGE_BYTES else payload[: MAX_MESSAGE_BYTES + 1]
            skipped = self._taken_out.pop(topic, 0) if self._taken_out else 0
            self._gathered.append(Message(topic, bounded, retained, now_s, skipped))
        if len(self._gathered) >= MAX_GATHERED:
            self._hand_over()

    def _read_topic(self, topic_bytes: bytes) -> str | None:
        """None where it is not UTF-8."""
        try:
            topic = topic_bytes.decode()
        except UnicodeDecodeError:
            return None
        if len(self._topics) >= MAX_KNOWN_TOPICS:
            self._topics.clear()
        self._topics[topic_bytes] = topic
        return topic

    def _hand_over(self) -> None:
        gathered, self._gathered = self._gathered, []
        if gathered:
            self._inbox.put_all(gathered)

    def _thinned_out(self, thinned: Thinned) -> None:
        for topic, messages in thinned.taken_out.items():
            self._taken_out[topic] = self._taken_out.get(topic, 0) + messages
        taken_out = sum(thinned.taken_out.values())
        if not self._inbox.dropped:
            log.warning("the hub does not keep up: messages=%d dropped, newest kept (counted from now on)", taken_out)
        self._inbox.count_dropped(taken_out)

    def _log_once(self, text: str) -> None:
        if text != self._refusal_logged:
            self._refusal_logged = text
            log.warning("link waiting: %s; trying on", text)
