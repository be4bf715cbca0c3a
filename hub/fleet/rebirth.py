"""Asking nodes for rebirth: all of them when the link comes up, one whose state is in doubt; paced.

The hub does not depend on the broker's retained flood after a restart: what it holds of a node it has from the node.
"""

from dataclasses import dataclass
from typing import Final

from hub.fleet.loop import FleetLoop
from hub.fleet.sending import send_question
from hub.fleet.state import NodeState
from schemas import AskRebirth, Leaf

ASKS_PER_TICK: Final = 25
FIRST_WAIT_S: Final = 2.0
LONGEST_WAIT_S: Final = 60.0
# A node that goes on speaking under a session that the hub does not know is there: only its birth, or the question
# for it, was lost.
SPEAKING_WAIT_S: Final = 4.0


@dataclass(slots=True)
class _Asked:
    at_s: float
    next_at_s: float
    wait_s: float


class Rebirth:
    """A fleet listener."""

    def __init__(self, loop: FleetLoop) -> None:
        self.asked = 0
        self._loop = loop
        self._connected = False
        self._due: dict[tuple[str, str], None] = {}
        self._asked: dict[tuple[str, str], _Asked] = {}

    def node_changed(self, node: NodeState, leaf: Leaf, _now_s: float) -> None:
        if leaf is Leaf.PRESENCE and not node.needs_rebirth:
            self._due.pop(node.key, None)
            self._asked.pop(node.key, None)

    def link_changed(self, connected: bool, _now_s: float) -> None:
        self._connected = connected
        self._asked.clear()
        self._due = dict.fromkeys(self._loop.state.nodes) if connected else {}

    def tick(self, now_s: float) -> None:
        for key in self._loop.state.doubtful:
            self._due.setdefault(key)
            if (earlier := self._asked.get(key)) is not None:
                earlier.next_at_s = min(earlier.next_at_s, earlier.at_s + SPEAKING_WAIT_S)
        self._loop.state.doubtful.clear()
        if not self._connected or not self._due:
            return
        ready = [key for key in self._due if key not in self._asked or self._asked[key].next_at_s <= now_s]
        for key in ready[:ASKS_PER_TICK]:
            node = self._loop.state.nodes.get(key)
            asked = self._asked.get(key)
            if node is None or (asked is not None and not node.needs_rebirth):
                del self._due[key]
                self._asked.pop(key, None)
                continue
            wait_s = FIRST_WAIT_S if asked is None else min(LONGEST_WAIT_S, asked.wait_s * 2)
            self._asked[key] = _Asked(now_s, now_s + wait_s, wait_s)
            send_question(self._loop, key, AskRebirth(kind="rebirth"), now_s)
            self.asked += 1
