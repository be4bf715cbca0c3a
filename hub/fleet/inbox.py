"""The bounded queue between the MQTT thread and the fleet loop.

In order while there is room. Beyond that only the newest message of each topic is kept, so that a flood costs history
and never the state; what is dropped is counted. Memory is bounded by bytes and by messages.
"""

import threading
import time
from collections import deque
from collections.abc import Callable, Iterable
from typing import Final, NamedTuple

MAX_MESSAGES: Final = 50_000
MAX_BYTES: Final = 64 * 1024 * 1024
MAX_OVERFLOW_TOPICS: Final = 50_000
MAX_CALLS: Final = 10_000
GATHER_S: Final = 0.004


class Message(NamedTuple):
    """One MQTT message as received; `received_at_s` is show time. `skipped` messages of its topic, just before it, were
    dropped here."""

    topic: str
    payload: bytes
    retained: bool
    received_at_s: float
    skipped: int = 0


class Inbox:
    """Messages, and calls of other threads, for the fleet loop. Thread-safe; putting never blocks."""

    def __init__(self, max_messages: int = MAX_MESSAGES, max_bytes: int = MAX_BYTES) -> None:
        self.dropped = 0
        self._max_messages = max_messages
        self._max_bytes = max_bytes
        self._lock = threading.Lock()
        self._ready = threading.Condition(self._lock)
        self._messages: deque[Message] = deque()
        self._overflow: dict[str, Message] = {}
        self._skipped: dict[str, int] = {}
        self._bytes = 0
        self._calls: deque[Callable[[], None]] = deque()
        self._idle = False

    def put(self, message: Message) -> None:
        self.put_all((message,))

    def put_all(self, messages: Iterable[Message]) -> None:
        """In the order given."""
        with self._lock:
            for message in messages:
                if self._overflow or len(self._messages) >= self._max_messages or self._bytes >= self._max_bytes:
                    self._put_overflow(message)
                else:
                    self._messages.append(message)
                    self._bytes += len(message.payload)
            if self._idle:
                self._idle = False
                self._ready.notify()

    def count_dropped(self, messages: int) -> None:
        """Messages that were dropped before they came here."""
        with self._lock:
            self.dropped += messages

    def put_call(self, work: Callable[[], None]) -> bool:
        """False when so many calls wait that the loop must be stuck."""
        with self._lock:
            if len(self._calls) >= MAX_CALLS:
                return False
            self._calls.append(work)
            self._ready.notify()
            return True

    def take(self, timeout_s: float) -> tuple[list[Message], list[Callable[[], None]]]:
        """Everything that waits, messages and then calls (which see the messages before them); waits up to `timeout_s`.

        After the first message it lets more gather for a moment: a switch of threads for each would cost more than
        the messages do.
        """
        with self._ready:
            if not (self._messages or self._calls):
                self._idle = True
                self._ready.wait(max(0.0, timeout_s))
                self._idle = False
            gathers = bool(self._messages) and not self._calls
        if gathers:
            time.sleep(GATHER_S)
        with self._ready:
            newest = [
                message._replace(skipped=message.skipped + self._skipped.get(message.topic, 0))
                for message in self._overflow.values()
            ]
            messages, calls = [*self._messages, *newest], list(self._calls)
            for taken in (self._messages, self._overflow, self._skipped, self._calls):
                taken.clear()
            self._bytes = 0
            return messages, calls

    def _put_overflow(self, message: Message) -> None:
        topic = message.topic
        older = self._overflow.pop(topic, None)
        grows = len(message.payload) - (len(older.payload) if older else 0)
        full = (older is None and len(self._overflow) >= MAX_OVERFLOW_TOPICS) or (
            grows > 0 and self._bytes + grows > 2 * self._max_bytes
        )
        if full:
            self.dropped += 1
            if older is not None:
                self._overflow[topic] = older
            return
        if older is not None:
            self.dropped += 1
            self._skipped[topic] = self._skipped.get(topic, 0) + older.skipped + 1
        self._overflow[topic] = message
        self._bytes += grows
