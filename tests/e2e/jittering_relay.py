"""A TCP relay that delays and jitters each way by itself, as a poor radio link does; bytes keep their order.

What goes each way waits a least time, an exponential one on top, and now and then a spike. The two ways draw by
themselves, so exchanges of stamps see asymmetric paths.
"""

import asyncio
import contextlib
import random
import socket
import threading
from collections.abc import Coroutine
from dataclasses import dataclass
from types import TracebackType
from typing import Any


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


class JitteringRelay:
    """Listens on `port` of loopback from entry to exit, in a thread of its own."""

    def __init__(self, broker_port: int, jitter: Jitter, seed: int) -> None:
        self.port = 0
        self._broker_port, self._jitter = broker_port, jitter
        self._chance = random.Random(seed)
        self._loop = asyncio.new_event_loop()
        self._conversations: set[asyncio.Task[None]] = set()
        self._thread = threading.Thread(target=self._loop.run_forever, name="jittering-relay", daemon=True)

    def __enter__(self) -> "JitteringRelay":
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
            with contextlib.suppress(OSError):
                broker, to_broker = await asyncio.open_connection("127.0.0.1", self._broker_port)
                await self._converse((agent, to_agent), (broker, to_broker))
        finally:
            to_agent.close()
            self._conversations.discard(task)

    async def _converse(
        self,
        agent: tuple[asyncio.StreamReader, asyncio.StreamWriter],
        broker: tuple[asyncio.StreamReader, asyncio.StreamWriter],
    ) -> None:
        for _, writer in (agent, broker):
            connection = writer.get_extra_info("socket")
            connection.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
        ways = [
            asyncio.create_task(way)
            for source, target in ((agent[0], broker[1]), (broker[0], agent[1]))
            for way in self._way(source, target)
        ]
        try:
            await asyncio.wait(ways, return_when=asyncio.FIRST_COMPLETED)
        finally:
            for way in ways:
                way.cancel()
            await asyncio.gather(*ways, return_exceptions=True)
            broker[1].close()

    def _way(
        self, source: asyncio.StreamReader, target: asyncio.StreamWriter
    ) -> tuple[Coroutine[Any, Any, None], Coroutine[Any, Any, None]]:
        """One that takes bytes in and says when they are due, one that lets them out then."""
        on_the_way: asyncio.Queue[tuple[float, bytes]] = asyncio.Queue(maxsize=1_000)

        async def take_in() -> None:
            while data := await source.read(65_536):
                await on_the_way.put((self._loop.time() + self._jitter.draw_s(self._chance), data))

        async def let_out() -> None:
            while True:
                due_s, data = await on_the_way.get()
                await asyncio.sleep(due_s - self._loop.time())
                target.write(data)
                await target.drain()

        return take_in(), let_out()
