"""Events to whoever listens: published from any thread, read on the event loop, bounded for each subscriber."""

import asyncio
import contextlib
import threading
from collections import deque
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from hub.errors import UnavailableError

MAX_WAITING: Final = 1_024
MAX_SUBSCRIBERS: Final = 64
RESYNC: Final = "resync"


@dataclass(frozen=True, slots=True)
class Event:
    """Something that changed in a venue. `kind` is node, finding, rollout, venue or resync."""

    kind: str
    venue: str
    data: Mapping[str, object]


class Subscription:
    """One reader's queue. When the reader falls behind, what waits is replaced by one `resync`: read anew."""

    def __init__(self, venue: str, loop: asyncio.AbstractEventLoop) -> None:
        self.venue = venue
        self._loop = loop
        self._wake = asyncio.Event()
        self._lock = threading.Lock()
        self._waiting: deque[Event] = deque()
        self._closed = False

    def put(self, event: Event) -> None:
        with self._lock:
            was_empty = not self._waiting
            if len(self._waiting) >= MAX_WAITING:
                self._waiting.clear()
                self._waiting.append(Event(RESYNC, self.venue, {}))
            else:
                self._waiting.append(event)
        if was_empty:
            self._wake_reader()

    def close(self) -> None:
        """The reader gets what waits, then the end."""
        with self._lock:
            self._closed = True
        self._wake_reader()

    def __aiter__(self) -> "Subscription":
        return self

    async def __anext__(self) -> Event:
        """The next event, in order."""
        while True:
            self._wake.clear()
            with self._lock:
                if self._waiting:
                    return self._waiting.popleft()
                if self._closed:
                    raise StopAsyncIteration
            await self._wake.wait()

    def _wake_reader(self) -> None:
        with contextlib.suppress(RuntimeError):  # its event loop is closed: there is no reader any more
            self._loop.call_soon_threadsafe(self._wake.set)


class EventBus:
    """Publishing never blocks, whatever the subscribers do."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._subscriptions: set[Subscription] = set()
        self._closed = False

    def publish(self, kind: str, venue: str, data: Mapping[str, object]) -> None:
        """Tell every subscriber of the venue. `data` must be JSON-serialisable."""
        event = Event(kind, venue, data)
        with self._lock:
            subscriptions = [item for item in self._subscriptions if item.venue == venue]
        for subscription in subscriptions:
            subscription.put(event)

    def has_subscribers(self, venue: str) -> bool:
        with self._lock:
            return any(item.venue == venue for item in self._subscriptions)

    def subscribe(self, venue: str) -> Subscription:
        """On the event loop that will read. Raises UnavailableError beyond `MAX_SUBSCRIBERS` readers."""
        subscription = Subscription(venue, asyncio.get_running_loop())
        with self._lock:
            if self._closed:
                raise UnavailableError("the hub is stopping")
            if len(self._subscriptions) >= MAX_SUBSCRIBERS:
                raise UnavailableError(f"{MAX_SUBSCRIBERS} pages already follow the events; close one and try again")
            self._subscriptions.add(subscription)
        return subscription

    def unsubscribe(self, subscription: Subscription) -> None:
        with self._lock:
            self._subscriptions.discard(subscription)

    def close(self) -> None:
        """End every reader's stream: the hub is stopping."""
        with self._lock:
            self._closed = True
            subscriptions = list(self._subscriptions)
        for subscription in subscriptions:
            subscription.close()
