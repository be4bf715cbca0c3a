"""A socket that reads ahead, and the client that reads from it.

Paho asks for a packet's first byte, for each byte of its length and for the rest, and waits for the socket before each
packet: five system calls, each of which gives Python's global lock away. Read ahead, they are one for hundreds of
packets of telemetry. And what lies here does not lie in the broker, which cuts off whoever is slow to read.
"""

import socket
import ssl
from collections import deque
from collections.abc import Callable
from io import BytesIO
from typing import Final

from paho.mqtt.client import Client
from paho.mqtt.enums import MQTTErrorCode

from hub.link.thinning import Thinned, thinned

READ_BYTES: Final = 256 * 1024
MAX_AHEAD_BYTES: Final = 64 * 1024 * 1024
PACKETS_A_TURN: Final = 500
"""Between two looks at what is to be sent and at the keep-alive."""


class ReadAhead:
    """A connected socket, as paho uses one. One thread receives; any may send."""

    def __init__(self, connection: socket.socket, max_ahead_bytes: int = MAX_AHEAD_BYTES) -> None:
        self._connection = connection
        self._max_ahead_bytes = max_ahead_bytes
        self._beneath = connection.pending if isinstance(connection, ssl.SSLSocket) else None
        self._held = BytesIO()
        self._held_bytes = 0
        self._ahead: deque[bytes] = deque()
        self._ahead_bytes = 0
        self._thin_from_bytes = max_ahead_bytes

    @property
    def is_behind(self) -> bool:
        """Whether so much was read ahead that it should be thinned out, and thinning can be expected to help."""
        return self._ahead_bytes >= self._thin_from_bytes

    def recv(self, buffer_size: int) -> bytes:
        """At most so many bytes; empty at the end of the stream. Raises BlockingIOError as the socket does."""
        return self._held.read(buffer_size) or self._receive(buffer_size)

    def pending(self) -> int:
        """Bytes that can be had without waiting for the socket."""
        held = self._held_bytes - self._held.tell() + self._ahead_bytes
        return held + self._beneath() if self._beneath else held

    def thin_out(self) -> Thinned:
        """Leave only the newest message of each topic in what was read ahead. Only between two packets."""
        rest = thinned(b"".join((self._held.read(), *self._ahead)))
        self._hold(rest.data)
        self._ahead.clear()
        self._ahead_bytes = 0
        self._thin_from_bytes = max(self._max_ahead_bytes, 2 * len(rest.data))
        return rest

    def send(self, buffer: bytes | bytearray) -> int:
        return self._connection.send(buffer)

    def close(self) -> None:
        self._connection.close()

    def fileno(self) -> int:
        return self._connection.fileno()

    def setblocking(self, flag: bool) -> None:
        self._connection.setblocking(flag)

    def _receive(self, buffer_size: int) -> bytes:
        while self._ahead_bytes < self._thin_from_bytes:
            try:
                received = self._connection.recv(READ_BYTES)
            except OSError:  # nothing is there, or the connection broke: what came before counts first
                if not self._ahead:
                    raise
                break
            if not received:
                break
            self._ahead.append(received)
            self._ahead_bytes += len(received)
        if not self._ahead:
            return b""
        received = self._ahead.popleft()
        self._ahead_bytes -= len(received)
        self._hold(received)
        return self._held.read(buffer_size)

    def _hold(self, data: bytes) -> None:
        self._held, self._held_bytes = BytesIO(data), len(data)


class ReadAheadClient(Client):
    """Paho's client, which has no public way to be given a socket: this one makes its own.

    `turn_ended` is called after the packets that were read at once, `thinned_out` when the hub is so far behind that
    only the newest message of each topic was kept; both on the client's thread.
    """

    turn_ended: Callable[[], None] | None = None
    thinned_out: Callable[[Thinned], None] | None = None

    def _create_socket(self) -> ReadAhead:
        connection = super()._create_socket()
        assert isinstance(connection, socket.socket)  # noqa: S101 (of the transports only websockets wraps it)
        # The stamps of a clock exchange would otherwise wait for Nagle's algorithm.
        connection.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
        return ReadAhead(connection)

    def loop_read(self, max_packets: int = 1) -> MQTTErrorCode:
        """All packets that were read ahead, up to a turn's."""
        try:
            for _ in range(PACKETS_A_TURN):
                code = super().loop_read(max_packets)
                connection = self.socket()
                if code != MQTTErrorCode.MQTT_ERR_SUCCESS or not isinstance(connection, ReadAhead):
                    return code
                if not connection.pending():
                    return code
                # Between two packets: paho stops within one only where nothing is pending.
                if connection.is_behind:
                    rest = connection.thin_out()
                    if self.thinned_out is not None:
                        self.thinned_out(rest)
            return MQTTErrorCode.MQTT_ERR_SUCCESS
        finally:
            if self.turn_ended is not None:
                self.turn_ended()
