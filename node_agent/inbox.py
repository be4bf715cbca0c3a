"""The agent's inbox: network, frame loop and signals put events in, one thread takes them out, and nobody blocks."""

import logging
import threading
from collections import deque
from dataclasses import dataclass, field
from typing import Final, Literal

from schemas import Shown
from schemas.bounds import MAX_DESIRED_BYTES

MAX_EVENTS: Final = 512
MAX_PAYLOAD_BYTES: Final = 4 * MAX_DESIRED_BYTES

_log = logging.getLogger(__name__)

Source = Literal["desired", "grant", "ask", "take"]


@dataclass(frozen=True, slots=True)
class Connected:
    """The link is up under this session; `broker_address` is the broker's network address."""

    session: int
    broker_address: str | None = field(default=None, compare=False)


@dataclass(frozen=True, slots=True)
class Disconnected:
    """The link is down; it tries again by itself."""

    reason: str


@dataclass(frozen=True, slots=True)
class Received:
    """A message, bounded in size and otherwise unchecked; `node_ms` is the node's clock when it came."""

    source: Source
    payload: bytes
    node_ms: float


@dataclass(frozen=True, slots=True)
class Oversized:
    """A message that was dropped for its size."""

    source: Source


@dataclass(frozen=True, slots=True)
class Taken:
    """The first frame of a take was written at this show time: a revision's, or a timed one in the same revision."""

    revision: int
    shown: Shown
    show_s: float


@dataclass(frozen=True, slots=True)
class ReachedWires:
    """Every data line has sent a frame that this grant limits."""

    grant: int


@dataclass(frozen=True, slots=True)
class Stopping:
    """The process was told to end."""

    reason: str


Event = Connected | Disconnected | Received | Oversized | Taken | ReachedWires | Stopping


class Inbox:
    """A queue bounded in events and bytes. When it is full the oldest message goes: what matters is repeated.

    `dropped` counts the messages that went so.
    """

    def __init__(self) -> None:
        self._events: deque[Event] = deque()
        self._payload_bytes = 0
        self._ready = threading.Condition()
        self.dropped = 0

    def put(self, event: Event) -> None:
        with self._ready:
            self._events.append(event)
            self._payload_bytes += _payload_bytes(event)
            while len(self._events) > MAX_EVENTS or self._payload_bytes > MAX_PAYLOAD_BYTES:
                oldest = next((e for e in self._events if isinstance(e, Received | Oversized)), None)
                if oldest is None:
                    break
                self._events.remove(oldest)
                self._payload_bytes -= _payload_bytes(oldest)
                if not self.dropped:
                    _log.warning("messages come faster than they are read: the oldest go unread and are counted")
                self.dropped += 1
            self._ready.notify()

    @property
    def empty(self) -> bool:
        return not self._events

    def take(self, timeout_s: float) -> Event | None:
        """The oldest event, or None when none came in time."""
        with self._ready:
            if not self._events:
                self._ready.wait(max(0.0, timeout_s))
            if not self._events:
                return None
            event = self._events.popleft()
            self._payload_bytes -= _payload_bytes(event)
            return event


def _payload_bytes(event: Event) -> int:
    return len(event.payload) if isinstance(event, Received) else 0
