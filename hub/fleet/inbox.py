"""The bounded queue between the MQTT thread and the fleet loop.

In order while there is room. Beyond that only the newest message of each topic is kept, so that a flood costs history
and never the state; what is dropped is counted. Memory is bounded by bytes and by messages.
"""

import threading
import time
from collections import deque
from collections.abc import Callable
from typing import Final, NamedTuple

MAX_MESSAGES: Final = 50_000
MAX_BYTES: Final = 64 * 1024 * 1024
MAX_OVERFLOW_TOPICS: Final = 50_000
MAX_CALLS: Final = 10_000
GATHER_S: Final = 0.004


class Message(NamedTuple):
    """One MQTT message as received; `received_at_s` is show time."""

    topic: str
    payload: bytes
    retained: bool
    received_at_s: float


Item = Message | Callable[[], None]


class Inbox:
    """Messages, and calls of other threads, for the fleet loop. Thread-safe; putting never blocks."""

    def __init__(self, max_messages: int = MAX_MESSAGES, max_bytes: int = MAX_BYTES) -> None:
        self.dropped = 0
        self._max_messages = max_messages
        self._max_bytes = max_bytes
        self._ready = threading.Condition(threading.Lock())
        self._messages: deque[Message] = deque()
        self._overflow: dict[str, Message] = {}
        self._bytes = 0
        self._calls: deque[Callable[[], None]] = deque()
        self._idle = False

    def put(self, message: Message) -> None:
        with self._ready:
            full = len(self._messages) >= self._max_messages or self._bytes >= self._max_bytes
            if full or self._overflow:
                self._put_overflow(message)
            else:
                self._messages.append(message)
                self._bytes += len(message.payload)
            if self._idle:
                self._idle = False
                self._ready.notify()

    def put_call(self, work: Callable[[], None]) -> bool:
        """False when so many calls wait that the loop must be stuck."""
        with self._ready:
            if len(self._calls) >= MAX_CALLS:
                return False
            self._calls.append(work)
            self._ready.notify()
            return True

    def take(self, timeout_s: float) -> list[Item]:
        """Everything that waits, calls last (they then see the messages before them); waits up to `timeout_s`.

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
            items: list[Item] = [*self._messages, *self._overflow.values(), *self._calls]
            self._messages.clear()
            self._overflow.clear()
            self._calls.clear()
            self._bytes = 0
            return items

    def _put_overflow(self, message: Message) -> None:
        replaced = self._overflow.pop(message.topic, None)
        if replaced is not None:
            self._bytes -= len(replaced.payload)
        if replaced is not None or len(self._overflow) >= MAX_OVERFLOW_TOPICS or self._bytes >= 2 * self._max_bytes:
            self.dropped += 1
        if len(self._overflow) < MAX_OVERFLOW_TOPICS and self._bytes < 2 * self._max_bytes:
            self._overflow[message.topic] = message
            self._bytes += len(message.payload)
