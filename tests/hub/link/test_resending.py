"""What the hub published when its link broke, and what it published since: the newest payload of a topic goes last."""

import socket
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager

from hub.broker.address import BrokerAddress
from hub.fleet.inbox import Inbox
from hub.link.link import Link
from tests.processes import free_port, wait_until

CONNECT, CONNACK, PUBLISH, PUBACK = 0x10, b"\x20\x02\x00\x00", 0x30, b"\x40\x02"


class ForgetfulBroker:
    """Speaks as much MQTT 3.1.1 as a publisher needs. It can keep acknowledgements back and hang up, as one that dies
    with messages in hand; a real broker cannot be made to do so at a chosen moment."""

    def __init__(self) -> None:
        self.port = free_port()
        self.acknowledges = True
        self.published: list[tuple[str, bytes]] = []
        self._listener = socket.create_server(("127.0.0.1", self.port))
        self._connection: socket.socket | None = None
        self._thread = threading.Thread(target=self._serve, name="forgetful-broker", daemon=True)
        self._thread.start()

    def hang_up(self) -> None:
        assert self._connection is not None
        self._connection.shutdown(socket.SHUT_RDWR)

    def close(self) -> None:
        self._listener.shutdown(socket.SHUT_RDWR)
        self._listener.close()
        self._thread.join(5)

    def _serve(self) -> None:
        while True:
            try:
                self._connection, _ = self._listener.accept()
            except OSError:
                return
            with self._connection as connection, connection.makefile("rb") as reader:
                while head := reader.read(1):
                    self._answer(head[0], _rest(reader.read), connection)

    def _answer(self, kind: int, body: bytes, connection: socket.socket) -> None:
        if kind & 0xF0 == CONNECT:
            connection.sendall(CONNACK)
        elif kind & 0xF0 == PUBLISH:
            topic_bytes = int.from_bytes(body[:2])
            self.published.append((body[2 : 2 + topic_bytes].decode(), body[4 + topic_bytes :]))
            if self.acknowledges:
                connection.sendall(PUBACK + body[2 + topic_bytes : 4 + topic_bytes])


def _rest(read: Callable[[int], bytes]) -> bytes:
    length, shift = 0, 0
    while True:
        byte = read(1)[0]
        length |= (byte & 0x7F) << shift
        shift += 7
        if not byte & 0x80:
            return read(length)


@contextmanager
def linked() -> Iterator[tuple[ForgetfulBroker, Link]]:
    broker = ForgetfulBroker()
    link = Link(BrokerAddress("127.0.0.1", broker.port, encrypted=False), Inbox(), lambda _connected: None)
    link.start()
    try:
        wait_until(lambda: link.connected, 10)
        yield broker, link
    finally:
        link.stop()
        broker.close()


def test_what_was_not_acknowledged_does_not_follow_what_is_newer() -> None:
    with linked() as (broker, link):
        broker.acknowledges = False
        link.publish("a", b"older", retain=True)
        link.publish("b", b"only", retain=True)
        wait_until(lambda: len(broker.published) == 2, 5)
        broker.hang_up()
        wait_until(lambda: not link.connected, 5)
        link.publish("a", b"newer", retain=True)
        broker.acknowledges = True
        wait_until(lambda: ("a", b"newer") in broker.published, 15)
        assert [payload for topic, payload in broker.published if topic == "a"] == [b"older", b"older", b"newer"]
        link.publish("a", b"newest", retain=True)
        wait_until(lambda: broker.published[-1] == ("a", b"newest"), 5)


def test_with_everything_acknowledged_what_waited_goes_out_at_once() -> None:
    with linked() as (broker, link):
        link.publish("a", b"older", retain=True)
        wait_until(lambda: broker.published == [("a", b"older")], 5)
        broker.hang_up()
        wait_until(lambda: not link.connected, 5)
        link.publish("a", b"newer", retain=True)
        link.publish("take", b"not kept", retain=False)
        wait_until(lambda: link.connected and len(broker.published) == 2, 15)
        assert broker.published == [("a", b"older"), ("a", b"newer")]
