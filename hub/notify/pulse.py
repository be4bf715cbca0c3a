"""Whether the fleet loop still turns: what a heartbeat stands for."""

import time
from typing import Final

from hub.fleet.state import NodeState
from schemas import Leaf

LONGEST_PAUSE_S: Final = 10.0


class LoopPulse:
    """A fleet listener that remembers the last tick, by the monotonic clock."""

    def __init__(self) -> None:
        self._ticked_s: float | None = None

    def node_changed(self, node: NodeState, leaf: Leaf, now_s: float) -> None:
        pass

    def link_changed(self, connected: bool, now_s: float) -> None:
        pass

    def tick(self, _now_s: float) -> None:
        self._ticked_s = time.monotonic()

    def beats(self) -> bool:
        """Whether the loop turned lately. From any thread."""
        return self._ticked_s is not None and time.monotonic() - self._ticked_s <= LONGEST_PAUSE_S
