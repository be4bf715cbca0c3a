"""A TCP relay between agents and their broker, in a thread of its own; what it does to the bytes is its subclass's."""

import asyncio
import contextlib
import random
import threading
from abc import ABC, abstractmethod
from collections.abc import Sequence
from types import TracebackType
from typing import Self

Way = asyncio.Task[None]


class Relay(ABC):
    """Listens on `port` of loopback from entry to exit. Both ways of a conversation end with the first that does."""

    def __init__(self, broker_port: int, seed: int) -> None:
        self.broker_port = broker_port
        self.port = 0
        self.chance = random.Random(seed)
        self.loop = asyncio.new_event_loop()
        self._conversations: set[asyncio.Task[None]] = set()
        self._thread = threading.Thread(target=self.loop.run_forever, name="relay", daemon=True)

    def __enter__(self) -> Self:
        self._thread.start()
        self._server = asyncio.run_coroutine_threadsafe(
            asyncio.start_server(self._serve, "127.0.0.1", 0), self.loop
        ).result(10)
        self.port = self._server.sockets[0].getsockname()[1]
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        asyncio.run_coroutine_threadsafe(self._end(), self.loop).result(10)
        self.loop.call_soon_threadsafe(self.loop.stop)
        self._thread.join(10)
        self.loop.close()

    @abstractmethod
    def ways(
        self,
        agent: tuple[asyncio.StreamReader, asyncio.StreamWriter],
        broker: tuple[asyncio.StreamReader, asyncio.StreamWriter],
    ) -> Sequence[Way]:
        """The tasks that carry bytes, called on the relay's loop."""

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
                broker, to_broker = await asyncio.open_connection("127.0.0.1", self.broker_port)
                await self._converse(self.ways((agent, to_agent), (broker, to_broker)), to_broker)
        finally:
            to_agent.close()
            self._conversations.discard(task)

    @staticmethod
    async def _converse(ways: Sequence[Way], to_broker: asyncio.StreamWriter) -> None:
        try:
            await asyncio.wait(ways, return_when=asyncio.FIRST_COMPLETED)
        finally:
            for way in ways:
                way.cancel()
            await asyncio.gather(*ways, return_exceptions=True)
            to_broker.close()
