"""A socket that reads ahead, and the client that reads from it.

Paho asks for a packet's first byte, for each byte of its length and for the rest, and waits for the socket before each
packet: five system calls, each of which gives Python's global lock away. Read ahead, they are one for some eighty
packets of telemetry, which halves what a message costs.
"""

import socket
import ssl
from collections.abc import Callable
from typing import Final

from paho.mqtt.client import Client
from paho.mqtt.enums import MQTTErrorCode

READ_BYTES: Final = 64 * 1024
PACKETS_A_TURN: Final = 500
"""Between two looks at what is to be sent and at the keep-alive."""


class ReadAhead:
    """A connected socket, as paho uses one. One thread receives; any may send."""

    def __init__(self, connection: socket.socket) -> None:
        self._connection = connection
        self._held = b""
        self._at = 0

    def recv(self, buffer_size: int) -> bytes:
        """At most so many bytes; empty at the end of the stream. Raises BlockingIOError as the socket does."""
        at = self._at
        if at >= len(self._held):
            self._held, at = self._connection.recv(READ_BYTES), 0
        self._at = at + buffer_size
        return self._held[at : self._at]

    def pending(self) -> int:
        """Bytes that can be had without waiting for the socket."""
        held = max(0, len(self._held) - self._at)
        return held + self._connection.pending() if isinstance(self._connection, ssl.SSLSocket) else held

    def send(self, buffer: bytes | bytearray) -> int:
        return self._connection.send(buffer)

    def close(self) -> None:
        self._connection.close()

    def fileno(self) -> int:
        return self._connection.fileno()

    def setblocking(self, flag: bool) -> None:
        self._connection.setblocking(flag)


class ReadAheadClient(Client):
    """Paho's client, which has no public way to be given a socket: this one makes its own. `turn_ended` is called after
    the packets that were read at once, on the client's thread."""

    turn_ended: Callable[[], None] | None = None

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
                    break
            return MQTTErrorCode.MQTT_ERR_SUCCESS
        finally:
            if self.turn_ended is not None:
                self.turn_ended()
