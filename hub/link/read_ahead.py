"""A socket that reads ahead of whoever parses its packets, and the client that reads from it.

Paho asks for a packet's first byte, for each byte of its length and for the rest, and waits for the socket before each
packet: five system calls, each of which gives Python's global lock away. Read ahead, they are one for tens of packets
of telemetry. And what lies here does not lie in the broker, which cuts off whoever is slow to read.

Messages at QoS 0, nearly all that comes, need nothing of paho's either: who asks for them gets them out of the stream,
and paho keeps the connection, its life, what is subscribed, sent and acknowledged.
"""

import contextlib
import socket
import ssl
import time
from collections import deque
from collections.abc import Callable
from io import BytesIO
from typing import Final

from paho.mqtt.client import Client
from paho.mqtt.enums import MQTTErrorCode

from hub.link.packets import Heard, Thinned, dealt_out, thinned, whole_packets

READ_BYTES: Final = 64 * 1024
CATCH_UP_BYTES: Final = 4 * 1024 * 1024
"""When much comes, few reads must do, since each gives the lock away: about what the system holds."""

MAX_AHEAD_BYTES: Final = 64 * 1024 * 1024
READS_A_TURN: Final = 64
"""Between two looks at what is to be sent and at the keep-alive."""


class ReadAhead:
    """A connected socket, as paho uses one. One thread receives; any may send.

    Messages at QoS 0 are `heard` and not received, if anybody hears them. Of more than `max_ahead_bytes` the newest
    message of each topic is kept, and `thinned_out` is told.
    """

    def __init__(
        self,
        connection: socket.socket,
        thinned_out: Callable[[Thinned], None],
        max_ahead_bytes: int = MAX_AHEAD_BYTES,
        heard: Callable[[list[Heard]], None] | None = None,
    ) -> None:
        self._connection = connection
        self._thinned_out = thinned_out
        self._heard = heard
        self._max_ahead_bytes = max_ahead_bytes
        self._beneath = connection.pending if isinstance(connection, ssl.SSLSocket) else None
        self._held = BytesIO()  # whole packets
        self._held_bytes = 0
        # In order: the rest of what was cut last, from where a packet begins, and what was received since.
        self._cut, self._cut_at = b"", 0
        self._ahead: deque[bytes] = deque()
        self._ahead_bytes = 0
        self._may_be_more = False
        self._thin_from_bytes = max_ahead_bytes

    def recv(self, buffer_size: int) -> bytes:
        """At most so many bytes; empty at the end of the stream. Raises BlockingIOError until a packet is whole."""
        return self._held.read(buffer_size) or self._receive(buffer_size)

    def pending(self) -> int:
        """Bytes that can be had without waiting for the socket."""
        held = self._held_bytes - self._held.tell() + (self._waiting_bytes() if self._may_be_more else 0)
        return held + self._beneath() if self._beneath else held

    def send(self, buffer: bytes | bytearray) -> int:
        return self._connection.send(buffer)

    def close(self) -> None:
        self._connection.close()

    def fileno(self) -> int:
        return self._connection.fileno()

    def setblocking(self, flag: bool) -> None:
        self._connection.setblocking(flag)

    def _receive(self, buffer_size: int) -> bytes:
        """Between two packets: only whole ones are handed out."""
        if not self._may_be_more:
            received = self._connection.recv(CATCH_UP_BYTES if self._waiting_bytes() else READ_BYTES)
            if not received:
                return b""
            self._keep(received)
        elif self._waiting_bytes() < self._thin_from_bytes:
            # Nothing is there, or the connection broke: what came before counts first.
            with contextlib.suppress(OSError):
                self._keep(self._connection.recv(CATCH_UP_BYTES))
        if self._waiting_bytes() >= self._thin_from_bytes:
            self._thin_out()
        whole = whole_packets(self._cut, self._cut_at, READ_BYTES)
        while whole == self._cut_at and self._ahead:
            received = self._ahead.popleft()
            self._ahead_bytes -= len(received)
            self._cut, self._cut_at = self._cut[self._cut_at :] + received, 0
            whole = whole_packets(self._cut, 0, READ_BYTES)
        packets, self._cut_at = self._cut[self._cut_at : whole], whole
        if whole == len(self._cut):
            self._cut, self._cut_at = b"", 0
        self._may_be_more = len(packets) >= READ_BYTES or bool(self._ahead)
        if self._heard is not None and packets:
            heard, packets = dealt_out(packets)
            self._heard(heard)
        if not packets:
            raise BlockingIOError
        self._held, self._held_bytes = BytesIO(packets), len(packets)
        return self._held.read(buffer_size)

    def _keep(self, received: bytes) -> None:
        if received:
            self._ahead.append(received)
            self._ahead_bytes += len(received)

    def _waiting_bytes(self) -> int:
        return len(self._cut) - self._cut_at + self._ahead_bytes

    def _thin_out(self) -> None:
        rest = thinned(b"".join((self._cut[self._cut_at :], *self._ahead)))
        self._cut, self._cut_at = rest.data, 0
        self._ahead.clear()
        self._ahead_bytes = 0
        self._thin_from_bytes = max(self._max_ahead_bytes, 2 * len(rest.data))
        self._thinned_out(rest)


class ReadAheadClient(Client):
    """Paho's client, which has no public way to be given a socket: this one makes its own.

    `heard` gets the messages at QoS 0, in place of `on_message`; `turn_ended` is called after what was read at once,
    `thinned_out` when so much was read ahead that only the newest message of each topic was kept. All are called on
    the client's thread.
    """

    heard: Callable[[list[Heard]], None] | None = None
    turn_ended: Callable[[], None] | None = None
    thinned_out: Callable[[Thinned], None] | None = None

    def _create_socket(self) -> ReadAhead:
        connection = super()._create_socket()
        assert isinstance(connection, socket.socket)  # noqa: S101 (of the transports only websockets wraps it)
        # The stamps of a clock exchange would otherwise wait for Nagle's algorithm.
        connection.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
        return ReadAhead(connection, self._thinned_out, heard=None if self.heard is None else self._hear)

    def loop_read(self, max_packets: int = 1) -> MQTTErrorCode:
        """What was read ahead, up to a turn's packets; paho makes them more while answers to its own are awaited."""
        try:
            for _ in range(READS_A_TURN):
                code = super().loop_read(max_packets)
                connection = self.socket()
                if code != MQTTErrorCode.MQTT_ERR_SUCCESS or not isinstance(connection, ReadAhead):
                    return code
                if not connection.pending():
                    break
            return MQTTErrorCode.MQTT_ERR_SUCCESS
        finally:
            if self.turn_ended is not None:
                self.turn_ended()

    def _hear(self, messages: list[Heard]) -> None:
        with self._msgtime_mutex:  # as paho notes of every packet: the connection lives
            self._last_msg_in = time.monotonic()
        if self.heard is not None:
            self.heard(messages)

    def _thinned_out(self, rest: Thinned) -> None:
        if self.thinned_out is not None:
            self.thinned_out(rest)
