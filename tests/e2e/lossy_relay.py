"""A TCP relay between agents and their broker that understands MQTT 3.1.1 as far as to lose PUBLISH packets.

A packet with an acknowledgement due is acknowledged and then lost, as by a broker that dies with it in hand: whoever
sent it believes that it arrived, which is the worst that can happen to it.
"""

import asyncio
import struct
from collections.abc import Sequence

from tests.e2e.relay import Relay, Way

PUBLISH = 3
PUBACK = b"\x40\x02"


class LossyRelay(Relay):
    """`passed` and `lost` count the PUBLISH packets up to the broker and down to agents."""

    def __init__(self, broker_port: int, loss: float, seed: int) -> None:
        super().__init__(broker_port, seed)
        self.loss = loss
        self.passed = {"up": 0, "down": 0}
        self.lost = {"up": 0, "down": 0}

    def ways(
        self,
        agent: tuple[asyncio.StreamReader, asyncio.StreamWriter],
        broker: tuple[asyncio.StreamReader, asyncio.StreamWriter],
    ) -> Sequence[Way]:
        return [
            self.loop.create_task(self._carry("up", agent[0], broker[1], agent[1])),
            self.loop.create_task(self._carry("down", broker[0], agent[1], broker[1])),
        ]

    async def _carry(
        self, way: str, source: asyncio.StreamReader, target: asyncio.StreamWriter, back: asyncio.StreamWriter
    ) -> None:
        while True:
            head, body = await _packet(source)
            if head[0] >> 4 == PUBLISH and self.chance.random() < self.loss:
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
