"""A bare MQTT 3.1.1 client on asyncio, as little as the exchange of a benchmark needs; thousands fit in one process."""

import asyncio
from collections.abc import Callable

CONNECT, CONNACK, PUBLISH, PUBACK, SUBSCRIBE, SUBACK = 0x10, 0x20, 0x30, 0x40, 0x82, 0x90
KEEPALIVE_OFF = b"\x00\x00"
RETAIN, QOS_1 = 0x01, 0x02


class BareClient(asyncio.Protocol):
    """Connected and subscribed (QoS 0) once `ready` is done. `heard(topic, payload)` is called for each message."""

    def __init__(self, client_id: str, user: str, secret: str, filters: list[str]) -> None:
        self.heard: Callable[[str, bytes], None] = lambda _topic, _payload: None
        self.ready: asyncio.Future[None] = asyncio.get_running_loop().create_future()
        self._unacknowledged = 0
        self._none_unacknowledged = asyncio.Event()
        self._hello = _packet(
            CONNECT, _text("MQTT") + b"\x04\xc2" + KEEPALIVE_OFF + _text(client_id) + _text(user) + _text(secret)
        )
        self._subscribe = _packet(SUBSCRIBE, b"\x00\x01" + b"".join(_text(one) + b"\x00" for one in filters))
        self._buffer = bytearray()
        self._last_id = 1

    def connection_made(self, transport: asyncio.BaseTransport) -> None:
        assert isinstance(transport, asyncio.Transport)
        self._transport = transport
        transport.write(self._hello)

    def connection_lost(self, exc: Exception | None) -> None:
        if not self.ready.done():
            self.ready.set_exception(exc or ConnectionError("the broker closed the connection"))

    def publish(self, topic: str, payload: bytes, *, retain: bool) -> None:
        """At QoS 1."""
        self._last_id = self._last_id % 65_535 + 1
        self._unacknowledged += 1
        self._none_unacknowledged.clear()
        body = _text(topic) + self._last_id.to_bytes(2, "big") + payload
        self._transport.write(_packet(PUBLISH | QOS_1 | (RETAIN if retain else 0), body))

    async def all_acknowledged(self) -> None:
        """Once the broker has everything that was published."""
        await self._none_unacknowledged.wait()

    def close(self) -> None:
        self._transport.write(b"\xe0\x00")
        self._transport.close()

    def data_received(self, data: bytes) -> None:
        buffer = self._buffer
        buffer += data
        while (framed := _frame(buffer)) is not None:
            start, end = framed
            self._packet_received(buffer[0], bytes(buffer[start:end]))
            del buffer[:end]

    def _packet_received(self, head: int, body: bytes) -> None:
        kind = head & 0xF0
        if kind == PUBLISH:
            topic_end = 2 + int.from_bytes(body[:2], "big")
            payload_start = topic_end + (2 if head & 0x06 else 0)
            if head & 0x06:
                self._transport.write(_packet(PUBACK, body[topic_end:payload_start]))
            self.heard(body[2:topic_end].decode(), body[payload_start:])
        elif kind == PUBACK:
            self._unacknowledged -= 1
            if self._unacknowledged == 0:
                self._none_unacknowledged.set()
        elif kind == CONNACK:
            if body[1]:
                self.ready.set_exception(ConnectionError(f"the broker refused: {body[1]}"))
            else:
                self._transport.write(self._subscribe)
        elif kind == SUBACK:
            self.ready.set_result(None)


def _text(text: str) -> bytes:
    encoded = text.encode()
    return len(encoded).to_bytes(2, "big") + encoded


def _packet(head: int, body: bytes) -> bytes:
    length, left = bytearray(), len(body)
    while True:
        left, digit = left >> 7, left & 0x7F
        length.append(digit | (0x80 if left else 0))
        if not left:
            return bytes([head]) + bytes(length) + body


def _frame(buffer: bytearray) -> tuple[int, int] | None:
    """Where the body of the first packet starts and ends; None until it is whole."""
    length = 0
    for place in range(1, min(5, len(buffer))):
        length |= (buffer[place] & 0x7F) << 7 * (place - 1)
        if not buffer[place] & 0x80:
            end = place + 1 + length
            return (place + 1, end) if end <= len(buffer) else None
    return None
