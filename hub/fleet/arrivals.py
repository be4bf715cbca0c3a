"""How much of a node's telemetry came and how much was lost on the way, over the last minutes. Pure."""

from collections import deque
from typing import Final, NamedTuple

STEP_S: Final = 60.0
WINDOW_S: Final = 600.0


class Arrived(NamedTuple):
    """Telemetry messages by their sequence numbers."""

    received: int
    lost: int


class Arrivals:
    """Counts of one node, kept by the minute. The window slides by minutes, too."""

    __slots__ = ("_lost", "_marks", "_received", "_step_ends_s")

    def __init__(self) -> None:
        self._received = 0
        self._lost = 0
        self._step_ends_s = -STEP_S
        self._marks: deque[tuple[float, int, int]] = deque(maxlen=int(WINDOW_S / STEP_S))

    def add(self, now_s: float, lost: int) -> None:
        """A message came, and `lost` before it did not."""
        if not self._step_ends_s - STEP_S <= now_s < self._step_ends_s:
            self._turn(now_s)
        self._received += 1
        self._lost += lost

    def recent(self, now_s: float) -> Arrived:
        """Counts of the last ten minutes, or of what is known of them."""
        for at_s, received, lost in self._marks:
            if at_s > now_s - WINDOW_S:
                return Arrived(self._received - received, self._lost - lost)
        return Arrived(0, 0)

    def _turn(self, now_s: float) -> None:
        if now_s < self._step_ends_s - STEP_S:
            self._marks.clear()  # the clock was set back: the marks lie in the future
        self._marks.append((now_s, self._received, self._lost))
        self._step_ends_s = now_s + STEP_S
