"""What waits while the broker is away: the newest retained payload of each topic, bounded."""

from typing import Final

MAX_TOPICS: Final = 20_000
MAX_BYTES: Final = 256 * 1024 * 1024


class Outbox:
    """Newest wins. Beyond the bounds new topics are dropped, counted, and left to the reconciler. Not thread-safe."""

    def __init__(self, max_topics: int = MAX_TOPICS, max_bytes: int = MAX_BYTES) -> None:
        self.dropped = 0
        self._max_topics = max_topics
        self._max_bytes = max_bytes
        self._waiting: dict[str, bytes] = {}
        self._bytes = 0

    def put(self, topic: str, payload: bytes) -> None:
        self._bytes -= len(self._waiting.pop(topic, b""))
        if len(self._waiting) >= self._max_topics or self._bytes + len(payload) > self._max_bytes:
            self.dropped += 1
            return
        self._waiting[topic] = payload
        self._bytes += len(payload)

    def take(self) -> list[tuple[str, bytes]]:
        """All that waits, which then waits no more."""
        items = list(self._waiting.items())
        self._waiting.clear()
        self._bytes = 0
        return items
