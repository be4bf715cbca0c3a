"""A TCP relay that delays and jitters each way by itself, as a poor radio link does; bytes keep their order.

What goes each way waits a least time, an exponential one on top, and now and then a spike. The two ways draw by
themselves, so exchanges of stamps see asymmetric paths.
"""

import asyncio
import random
import socket
from collections.abc import Coroutine, Sequence
from dataclasses import dataclass
from typing import Any

from tests.e2e.relay import Relay, Way


@dataclass(frozen=True, slots=True)
class Jitter:
    """Seconds each way; `spikes` is the share of bursts of bytes that wait `spike_s` more."""

    least_s: float
    mean_s: float
    spikes: float = 0.0
    spike_s: float = 0.0

    def draw_s(self, chance: random.Random) -> float:
        spike_s = self.spike_s if chance.random() < self.spikes else 0.0
        return self.least_s + chance.expovariate(1 / self.mean_s) + spike_s


class JitteringRelay(Relay):
    """Each way of each conversation draws its own delays."""

    def __init__(self, broker_port: int, jitter: Jitter, seed: int) -> None:
        super().__init__(broker_port, seed)
        self._jitter = jitter

    def ways(
        self,
        agent: tuple[asyncio.StreamReader, asyncio.StreamWriter],
        broker: tuple[asyncio.StreamReader, asyncio.StreamWriter],
    ) -> Sequence[Way]:
        for _, writer in (agent, broker):
            connection = writer.get_extra_info("socket")
            connection.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
        return [
            self.loop.create_task(way)
            for source, target in ((agent[0], broker[1]), (broker[0], agent[1]))
            for way in self._way(source, target)
        ]

    def _way(
        self, source: asyncio.StreamReader, target: asyncio.StreamWriter
    ) -> tuple[Coroutine[Any, Any, None], Coroutine[Any, Any, None]]:
        """One that takes bytes in and says when they are due, one that lets them out then."""
        on_the_way: asyncio.Queue[tuple[float, bytes]] = asyncio.Queue(maxsize=1_000)

        async def take_in() -> None:
            while data := await source.read(65_536):
                await on_the_way.put((self.loop.time() + self._jitter.draw_s(self.chance), data))

        async def let_out() -> None:
            while True:
                due_s, data = await on_the_way.get()
                await asyncio.sleep(due_s - self.loop.time())
                target.write(data)
                await target.drain()

        return take_in(), let_out()
