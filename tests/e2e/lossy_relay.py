"""A TCP relay between agents and their broker that understands MQTT 3.1.1 as far as to lose PUBLISH packets.

A packet with an acknowledgement due is acknowledged and then lost, as by a broker that dies with it in hand: whoever
sent it believes that it arrived, which is the worst that can happen to it.
"""

import asyncio
import contextlib
import random
import struct
import threading
from types import TracebackType

PUBLISH = 3
PUBACK = b"\x40\x02"


class LossyRelay:
    """Listens on `port` of loopback from entry to exit, in a thread of its own."""

    def __init__(self, broker_port: int, loss: float, seed: int) -> None:
        self.broker_port, self.loss = broker_port, loss
        self.port = 0
        self.passed = {"up": 0, "down": 0}
        self.lost = {"up": 0, "down": 0}
        self._chance = random.Random(seed)
        self._loop = asyncio.new_event_loop()
        self._conversations: set[asyncio.Task[None]] = set()
        self._thread = threading.Thread(target=self._loop.run_forever, name="lossy-relay", daemon=True)

    def __enter__(self) -> "LossyRelay":
        self._thread.start()
        self._server = asyncio.run_coroutine_threadsafe(
            asyncio.start_server(self._serve, "127.0.0.1", 0), self._loop
        ).result(10)
        self.port = self._server.sockets[0].getsockname()[1]
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        asyncio.run_coroutine_threadsafe(self._end(), self._loop).result(10)
        self._loop.call_soon_threadsafe(self._loop.stop)
        self._thread.join(10)
        self._loop.close()

    async def _end(self) -> None:
        self._server.close()
        for conversation in self._conversations:
            conversation.cancel()
        await asyncio.gather(*self._conversations, return_exceptions=True)

    async def _serve(self, agent: asyncio.StreamReader, to_agent: asyncio.StreamWriter) -> None:
        task = asyncio.current_task()
        assert task is not None
        self._conversations.add(task)
        try:
            with contextlib.suppress(OSError, asyncio.IncompleteReadError):
                await self._converse(agent, to_agent)
        finally:
            to_agent.close()
            self._conversations.discard(task)

    async def _converse(self, agent: asyncio.StreamReader, to_agent: asyncio.StreamWriter) -> None:
        broker, to_broker = await asyncio.open_connection("127.0.0.1", self.broker_port)
        ways = [
            asyncio.create_task(self._carry("up", agent, to_broker, to_agent)),
            asyncio.create_task(self._carry("down", broker, to_agent, to_broker)),
        ]
        try:
            await asyncio.wait(ways, return_when=asyncio.FIRST_COMPLETED)
        finally:
            for way in ways:
                way.cancel()
            await asyncio.gather(*ways, return_exceptions=True)
            to_broker.close()

    async def _carry(
        self, way: str, source: asyncio.StreamReader, target: asyncio.StreamWriter, back: asyncio.StreamWriter
    ) -> None:
        while True:
            head, body = await _packet(source)
            if head[0] >> 4 == PUBLISH and self._chance.random() < self.loss:
                self.lost[way] += 1
                if head[0] & 0b110:
                    (topic_bytes,) = struct.unpack_from(">H", body)
                    back.write(PUBACK + body[2 + topic_bytes : 4 + topic_bytes])
                    await back.drain()
                continue
            self.passed[way] += head[0] >> 4 == PUBLISH
            target.write(head + body)
            await target.drain()


async def _packet(source: asyncio.StreamReader) -> tuple[bytes, bytes]:
    """Fixed header (section 2.2) and the rest. Raises IncompleteReadError at the end."""
    head = await source.readexactly(1)
    length, shift = 0, 0
    while True:
        byte = await source.readexactly(1)
        head += byte
        length |= (byte[0] & 0x7F) << shift
        shift += 7
        if not byte[0] & 0x80:
            return head, await source.readexactly(length)
